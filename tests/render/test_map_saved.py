"""Saved results on the map, in the legend, in cards and in tables; and background pictures by wish."""

import base64
import json
import re

import pytest
from render.map_pages import Opened, card_of
from render.season_maps import full_map, saved_rounds, saved_signs

from roadwatch.errors import RoadwatchError, UsageError
from roadwatch.render.page import season_map
from roadwatch.render.saved import row_names, saved_data, saved_tables

TILES = "https://tiles.example.org/{z}/{x}/{y}.png"
DOT = base64.b64decode("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAQAAAC1HAwCAAAAC0lEQVR42mNk+A8AAQUBAScY42YAAAAASUVORK5CYII=")


def test_each_saved_file_is_a_layer_of_its_own_in_its_shape(season, open_page):
    marks = {"saved_0": ".leaflet-saved-pane path[stroke='#009e73']", "saved_1": ".plate", "saved_2": ".badge.stop"}
    with open_page(season_map(full_map(season, "team"))) as seen:
        page = seen.page
        assert {key: page.locator(mark).count() for key, mark in marks.items()} == {
            "saved_0": 2,
            "saved_1": 2,
            "saved_2": 4,
        }
        for key, mark in marks.items():
            page.uncheck(f"[data-layer={key}]")
            assert page.locator(mark).count() == 0
        legend = page.inner_text(".legend")
        assert all(words in legend for words in ("Saved fence run", "Saved sign", "Saved round: stops of a day"))
        assert "Saved fence runs: fences.csv" in page.inner_text(".layers")


def test_a_row_s_button_opens_a_card_with_the_file_s_own_columns(season, open_page):
    with open_page(season_map(full_map(season, "team"))) as seen:
        seen.page.click("[data-show=saved_0-1]")
        text = card_of(seen.page).inner_text()
        assert text.startswith("Fence run 2")
        assert all(word in text for word in ("fences.csv", "averted_per_year", "2.7", "County Road 12"))
        seen.page.click("[data-show=saved_2-0]")
        assert card_of(seen.page).locator("h2").inner_text() == "Stop 2 of 2025-08-04"


def test_stops_of_a_day_are_joined_in_their_order_and_days_stay_apart(season):
    rounds = saved_rounds(season("team"))
    data = saved_data([rounds])[0]
    assert data["labels"] == ["2", "1", "3", "1"]
    assert data["joined"] == [[1, 0, 2], [3]]
    assert row_names(rounds) == [
        "Stop 2 of 2025-08-04",
        "Stop 1 of 2025-08-04",
        "Stop 3 of 2025-08-04",
        "Stop 1 of 2025-08-05",
    ]


def test_the_way_between_stops_is_drawn(season, open_page):
    with open_page(season_map(full_map(season, "team"))) as seen:
        assert seen.page.locator(".leaflet-saved-pane path[stroke='#0072b2']").count() == 1  # one day has one stop only


def test_tables_carry_the_file_s_columns_notes_and_blanks(season):
    table = str(saved_tables([saved_signs()]))
    assert re.findall(r'<th scope="col">(.*?)</th>', table) == ["Sign", "sign", "why"]
    assert "before the dip" in table
    assert "None" not in table
    assert "A plan, no permit." in str(saved_tables(full_map(season, "team").drawn))


def test_rounds_are_never_drawn_for_the_public(season):
    with pytest.raises(RoadwatchError, match="rounds tell where nests are"):
        season("public", drawn=(saved_rounds(season("team")),))


def test_a_first_answer_that_is_not_the_page_s_hotspots_is_refused(season):
    answers = full_map(season, "team").answers
    with pytest.raises(RoadwatchError, match="the first answer must be that of the page's hotspots"):
        season("team", answers=answers)


def test_an_answer_made_for_the_team_is_refused_on_a_public_page(season):
    content = season("public")
    team = full_map(season, "team").answers[1]
    first = full_map(season, "public", hotspots=content.hotspots, answers=()).hotspots
    assert first is content.hotspots
    with pytest.raises(RoadwatchError, match="its answer 1 were made for 'team'"):
        season("public", answers=(team,))


def test_without_a_wish_there_is_no_host_on_the_page(season):
    page = season_map(season("public"))
    assert "img-src data:;" in page
    assert "background pictures" not in page


def test_with_background_pictures_one_host_alone_is_asked_and_the_page_says_so(season, browser, tmp_path):
    html = season_map(season("public", tiles=TILES, tiles_attribution="<b>Example</b> maps"))
    assert "img-src data: https://tiles.example.org; base-uri" in html
    path = tmp_path / "map.html"
    path.write_text(html, encoding="utf-8")
    page = browser.new_page()
    seen = Opened(page)
    page.route("https://tiles.example.org/**", lambda route: route.fulfill(body=DOT, content_type="image/png"))
    with page.expect_request("https://tiles.example.org/**"):
        page.goto(path.as_uri())
    page.wait_for_selector(".leaflet-tile-loaded", state="attached")
    assert seen.outside()
    assert all(re.fullmatch(r"https://tiles\.example\.org/\d+/\d+/\d+\.png", url) for url in seen.outside())
    assert "This page asks tiles.example.org for background pictures" in page.inner_text("header")
    assert "<b>Example</b> maps" in page.inner_text(".leaflet-control-attribution")
    assert seen.complaints == []
    page.close()


def test_the_host_stands_for_a_credit_that_was_not_given(season):
    page = season_map(season("public", tiles=TILES))
    data = json.loads(re.search(r'id="season-data">(.*?)</script>', page, flags=re.DOTALL)[1])
    assert data["tiles"] == {"template": TILES, "credit": "tiles.example.org"}


def test_an_address_that_would_open_the_policy_is_refused(season):
    with pytest.raises(UsageError, match="is no address of background pictures"):
        season("public", tiles="https://tiles.example.org/{z}/{x}/{y}.png; script-src *")
