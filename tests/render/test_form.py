"""The form's file: whole in itself, the same for the same county, small, and without a record in it."""

import json
import re
from html import unescape

import geopandas as gpd
import numpy as np
import pytest
import shapely
from render.form_pages import CENTRE, form_html, invented_roads, invented_water

from roadwatch.errors import RoadwatchError
from roadwatch.records.fields import fields_of
from roadwatch.render import form
from roadwatch.render.vendored import own_text


def data_of(html):
    return json.loads(re.search(r'<script type="application/json" id="form-data">(.*?)</script>', html, re.DOTALL)[1])


def unfolded(numbers):
    return np.cumsum(np.array(numbers).reshape(-1, 2), axis=0) / 100_000


def test_equal_input_gives_equal_bytes():
    assert form_html() == form_html()


def test_the_order_of_the_roads_in_their_layer_does_not_matter():
    assert form_html(roads=invented_roads().iloc[[1, 2, 0]].reset_index(drop=True)) == form_html()


def test_the_policy_allows_no_request_and_no_code_but_its_own():
    policy = unescape(re.search(r'Content-Security-Policy" content="([^"]+)"', form_html())[1])
    rules = {rule.split()[0]: rule.split()[1:] for rule in policy.split("; ")}
    assert rules["default-src"] == rules["connect-src"] == rules["base-uri"] == rules["form-action"] == ["'none'"]
    assert len(rules["script-src"]) == len(rules["style-src"]) == 1
    assert all(one.startswith("'sha256-") for one in rules["script-src"] + rules["style-src"])
    assert "unsafe" not in policy


def test_nothing_in_the_file_asks_for_another():
    html = form_html()
    assert not re.search(
        r"""(src|href)\s*=|@import|url\(|fetch\(|XMLHttpRequest|sendBeacon|WebSocket|EventSource""", html
    )
    assert not re.search(r"\.(innerHTML|outerHTML|insertAdjacentHTML)|document\.write|\beval\b|new Function", html)


@pytest.mark.parametrize("name", form.SCRIPTS)
def test_each_part_of_the_code_is_small_enough_to_read(name):
    text = own_text(name)
    assert len(text.splitlines()) <= 300
    assert text.startswith(('"use strict";', "/* "))
    assert "(?<" not in text  # looking behind stops the whole page in browsers before 2023


def test_every_part_of_the_code_is_in_the_page_once():
    html = form_html()
    assert len(set(form.SCRIPTS)) == len(form.SCRIPTS)
    for name in form.SCRIPTS:
        assert html.count(own_text(name).strip()) == 1


def test_the_roads_arrive_to_about_two_metres_under_their_names():
    data = data_of(form_html())
    assert [road["name"] for road in data["map"]["roads"]] == ["Invented East Road", "Invented North Road", ""]
    for road, line in zip(data["map"]["roads"], invented_roads().geometry, strict=True):
        (told,) = road["lines"]
        assert shapely.LineString(unfolded(told)).hausdorff_distance(line) < 0.00003


def test_roads_in_another_reference_system_lie_in_the_same_place():
    moved = data_of(form_html(roads=invented_roads().to_crs("EPSG:32617")))["map"]
    here = data_of(form_html())["map"]
    np.testing.assert_allclose(moved["bounds"], here["bounds"], atol=1e-5)


def test_a_county_without_water_has_a_form():
    nothing = gpd.GeoDataFrame({"name": []}, geometry=gpd.GeoSeries([], crs="EPSG:4326"))
    assert data_of(form_html(water=nothing))["map"]["water"] == {"lines": [], "areas": []}
    water = data_of(form_html(water=invented_water()))["map"]["water"]
    assert (len(water["lines"]), len(water["areas"])) == (1, 1)


def test_a_layer_without_a_reference_system_is_taken_to_be_in_degrees():
    bare = invented_roads().set_crs(None, allow_override=True)
    assert data_of(form_html(roads=bare))["map"]["bounds"] == data_of(form_html())["map"]["bounds"]


def test_a_road_in_several_pieces_stands_once():
    x, y = CENTRE
    pieces = shapely.MultiLineString([[(x, y), (x + 0.01, y)], [(x + 0.02, y), (x + 0.03, y)]])
    roads = gpd.GeoDataFrame({"road": ["Invented Lane"]}, geometry=[pieces], crs="EPSG:4326")
    (road,) = data_of(form_html(roads=roads))["map"]["roads"]
    assert (road["name"], len(road["lines"])) == ("Invented Lane", 2)


@pytest.mark.parametrize("kind", form.FORM_KINDS)
def test_the_columns_and_their_words_are_those_of_the_table(kind):
    data = data_of(form_html())
    assert data["columns"][kind] == list(fields_of(kind))
    for name, words in data["choices"][kind].items():
        assert words == list(fields_of(kind)[name].choices)


def test_a_title_cannot_end_the_page_s_own_parts():
    html = form_html(title="</script><script>attack()</script>")
    assert "<script>attack" not in html
    assert html.count("<script") == 2


def test_a_part_that_holds_its_own_end_tag_is_not_written(monkeypatch):
    monkeypatch.setattr(form, "own_text", lambda _: "const x = '</script>';")
    with pytest.raises(RoadwatchError, match=r"a script of the form holds its own end tag"):
        form_html()


def test_a_small_county_s_form_is_small():
    assert len(form_html().encode("utf-8")) < 300_000
