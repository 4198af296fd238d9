import base64
import hashlib
import re

import folium
import pytest
from folium.plugins import MarkerCluster
from markupsafe import Markup

from roadwatch.errors import RoadwatchError
from roadwatch.render.offline_figure import CARRIED, NOT_NEEDED, OfflineFigure, PageParts


@pytest.fixture
def figure():
    return OfflineFigure(PageParts("A <title>", Markup("<p>before</p>"), Markup("<p>after</p>"), Markup("")))


def bare_map():
    return folium.Map(location=[0, 0], tiles=None)


def test_every_link_of_a_bare_folium_map_is_known_by_name():
    names = {name for name, _ in [*folium.Map.default_js, *folium.Map.default_css]}
    assert names <= CARRIED | NOT_NEEDED


def test_the_page_holds_no_element_that_fetches(figure):
    figure.add_child(bare_map())
    page = re.sub(r"<(script|style)>.*?</\1>", "", figure.render(), flags=re.DOTALL)
    assert not re.search(r"<(link|img|iframe|object|embed|base)\b|\bsrc=|\bhref=", page)


def test_a_plugin_that_brings_its_own_link_stops_the_page(figure):
    season = bare_map()
    MarkerCluster().add_to(season)
    figure.add_child(season)
    with pytest.raises(RoadwatchError, match="the page would fetch 'markerclusterjs' from https://"):
        figure.render()


def test_the_policy_names_each_script_and_style_by_its_hash(figure):
    # CSP Level 3, 6.7.2.4: the hash is that of the element's text content, in base64.
    figure.add_child(bare_map())
    page = figure.render()
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)[1].replace("&#39;", "'")
    for tag in ("script", "style"):
        found = re.findall(rf"<{tag}>(.*?)</{tag}>", page, flags=re.DOTALL)
        assert len(found) >= 2
        wanted = {f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'" for text in found}
        allowed = set(re.search(rf"{tag}-src ([^;]*);", policy)[1].split())
        assert wanted == allowed
    assert policy.startswith("default-src 'none';")
    assert "unsafe" not in policy
    assert "http" not in policy


def test_the_page_says_its_language_and_lets_readers_enlarge_it(figure):
    figure.add_child(bare_map())
    page = figure.render()
    assert page.startswith('<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">')
    assert '<meta name="viewport" content="width=device-width, initial-scale=1">' in page
    assert "user-scalable" not in page
    assert "maximum-scale" not in page
    assert "<title>A &lt;title&gt;</title>" in page


def test_a_script_that_would_end_itself_is_refused(figure):
    season = bare_map()
    season.add_child(folium.FeatureGroup(name="</script><script>alert(1)", control=False))
    season.get_root().script.add_child(folium.Element("var a = '</SCRIPT>';"))
    figure.add_child(season)
    figure.script.add_child(folium.Element("var a = '</SCRIPT>';"))
    with pytest.raises(RoadwatchError, match="a script of the page holds its own end tag"):
        figure.render()


def test_folium_s_shared_lists_are_left_as_they_were(figure):
    before = (list(folium.Map.default_js), list(folium.Map.default_css))
    figure.add_child(bare_map())
    figure.render()
    assert (folium.Map.default_js, folium.Map.default_css) == before
