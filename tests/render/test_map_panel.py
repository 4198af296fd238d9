"""The panel about one hotspot: its numbers with their interval, the curve along the road, focus and Escape."""

import json

import numpy as np
import pytest
from render.map_pages import choose, click_at
from render.season_maps import full_map, invented_curve

from roadwatch.render.hotspot_data import curve_data
from roadwatch.render.page import season_map

FIRST = "Hotspot 1: County Road 12, 12540 to 14080 m"


@pytest.fixture
def page(season, open_page):
    with open_page(season_map(full_map(season, "team"))) as seen:
        yield seen.page


def focused(page):
    return page.evaluate(
        "document.activeElement.id || document.activeElement.dataset.show || document.activeElement.title"
    )


def test_the_table_s_button_opens_the_panel_with_numbers_and_their_interval(page):
    page.click("[data-show=hotspots-0]")
    assert page.inner_text("#panel h2") == FIRST
    facts = dict(
        zip(page.locator("#panel dt").all_inner_texts(), page.locator("#panel dd").all_inner_texts(), strict=True)
    )
    assert facts["Times the expected"] == "7.6 (95 % interval 4.9 to 11.2)"
    assert facts["Dead"] == "24.3"
    assert focused(page) == "panel"


def test_escape_closes_the_panel_and_gives_focus_back_to_the_button(page):
    page.click("[data-show=hotspots-1]")
    page.keyboard.press("Escape")
    assert not page.is_visible("#panel")
    assert focused(page) == "hotspots-1"


def test_the_close_button_gives_focus_back_to_the_number_on_the_map(page):
    page.focus(".badge[title^='Hotspot 2']")
    page.keyboard.press("Space")
    assert page.inner_text("#panel h2").startswith("Hotspot 2")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert not page.is_visible("#panel")
    assert focused(page).startswith("Hotspot 2")


def test_a_click_on_the_line_opens_the_panel(season, open_page):
    content = full_map(season, "team")
    with open_page(season_map(content)) as seen:
        for layer in ("crossings", "saved_0"):
            seen.page.uncheck(f"[data-layer={layer}]")
        click_at(seen.page, content.hotspots.table.geometry.iloc[0].interpolate(0.3, normalized=True))
        assert seen.page.inner_text("#panel h2") == FIRST


def test_what_the_panel_tells_of_stays_beside_it_on_a_wide_page(page):
    page.click("[data-show=hotspots-0]")
    badge = page.locator(".badge[title^='Hotspot 1']").bounding_box()
    assert badge["x"] + badge["width"] <= page.locator("#panel").bounding_box()["x"]


def test_the_curve_is_a_picture_with_a_title_and_words_for_those_who_do_not_see_it(page):
    page.click("[data-show=hotspots-0]")
    assert page.locator("#panel svg").get_attribute("role") == "img"
    names = page.locator("#panel svg").get_attribute("aria-labelledby").split()
    assert [page.locator(f"#{name}").evaluate("one => one.tagName") for name in names] == ["title", "desc"]
    words = page.locator("#curve-words").text_content()
    # The bell of 20 over 1 stands at 13,310 m; the nearest stretch's middle, 13,290 or 13,340, is 20 m off.
    assert "the density is highest at 13290 m, 20.9 records per km, with 3 expected" in words
    assert "from 0.9 to 6.6" in words


def test_the_curve_s_numbers_are_a_table_and_unknown_stays_unknown(page):
    page.click("[data-show=hotspots-0]")
    page.click("#panel summary")
    rows = [row.locator("th, td").all_inner_texts() for row in page.locator("#panel tbody tr").all()[:11]]
    assert rows[0][0] == "11040"
    assert [row[2:] for row in rows[:10]] == [["not known"] * 3] * 10
    assert rows[10][2:] == ["3", "0.9", "6.6"]


def test_nothing_is_drawn_where_nobody_searched(page):
    page.click("[data-show=hotspots-0]")
    begins = "one => Number(one.getAttribute('d').slice(1).split(' ')[0])"
    density = page.eval_on_selector("#panel svg path[stroke-width='2.5']", begins)
    band = page.eval_on_selector("#panel svg path[fill-opacity]", begins)
    expected = page.eval_on_selector("#panel svg path[stroke-dasharray]", begins)
    assert band == expected
    assert band > density + 20  # ten stretches of 50 m, of 4,540 m on 292 pixels, are 32 pixels


def test_an_answer_without_a_curve_says_so(page):
    choose(page, year="2025")
    page.click("[data-show=hotspots-0]")
    assert "No curve along the road can be shown" in page.inner_text("#panel")
    assert page.locator("#panel svg").count() == 0
    assert page.inner_text("#panel .remark") == "Found from the records of 2025 alone."


def test_a_hotspot_in_grey_says_in_its_panel_that_it_is_of_all_records(page):
    choose(page, condition="2")
    page.click("[data-show=hotspots-0]")
    assert page.inner_text("#panel h2") == FIRST + " (all records)"
    assert "none was computed beforehand for what you chose" in page.inner_text("#panel .remark")


def test_another_choice_closes_the_panel_of_a_hotspot_that_is_no_longer_there(page):
    page.click("[data-show=hotspots-0]")
    choose(page, year="2025")
    assert not page.is_visible("#panel")


def test_on_a_phone_the_panel_lies_under_the_map(season, open_page):
    with open_page(season_map(full_map(season, "team")), width=390, height=844) as seen:
        seen.page.click("[data-show=hotspots-0]")
        stage = seen.page.locator(".folium-map").bounding_box()
        panel = seen.page.locator("#panel").bounding_box()
        assert panel["y"] >= stage["y"] + stage["height"] - 1
        assert seen.page.evaluate("document.documentElement.scrollWidth") == 390


def test_the_curve_is_told_to_three_digits_and_blank_where_it_is_not_known():
    told = curve_data(invented_curve(12540.0, 14080.0))
    assert told["expected"][:11] == [None] * 10 + [3.0]
    assert told["at"][:2] == [11040, 11090]
    assert (told["from"], told["to"], told["half"], told["draws"]) == (12540, 14080, 300, 199)
    density = invented_curve(12540.0, 14080.0).density
    assert np.allclose(told["density"], density, rtol=0.005)  # half a unit of the third digit
    json.dumps(told, allow_nan=False)
