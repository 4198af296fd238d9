"""The map page for readers who use a keyboard, a screen reader or a phone: what axe-core and WCAG 2.2 ask."""

import pytest
from render.map_pages import choose, faded_in, settle, violations
from render.season_maps import full_map

from roadwatch.render.page import season_map


def states(page):
    """Walk through the states of a page: as opened, with choices made, and with everything unfolded."""
    yield "opened"
    if not page.is_visible("#choose-year"):
        page.click(".controls summary")
    choose(page, year="2025")
    yield "a year chosen"
    page.click("[data-show=hotspots-0]")
    page.click("#panel .wide, #panel p >> nth=0")
    yield "panel open without a curve"
    choose(page, condition="2")
    page.click("#crossing-list summary")
    page.wait_for_selector("#crossing-list table")
    yield "hotspots in grey, list open"
    page.click("#choose-reset")
    settle(page)
    page.click("[data-show=hotspots-0]")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    yield "panel open"
    page.keyboard.press("Escape")
    page.locator("[data-show]").last.click()
    faded_in(page)
    yield "card open"


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("audience", ["team", "public"])
def test_axe_finds_no_fault_in_any_state_of_the_map(season, open_page, audience, width):
    with open_page(season_map(full_map(season, audience)), width=width, height=844) as seen:
        faults = {name: violations(seen.page) for name in states(seen.page)}
    assert len(faults) == 6
    assert {name: found for name, found in faults.items() if found} == {}


def test_axe_finds_no_fault_where_nothing_was_recorded(season, open_page):
    with open_page(season_map(season("team", n=0, n_hotspots=0))) as seen:
        assert violations(seen.page) == []


def test_every_control_can_be_reached_by_keyboard_in_reading_order(season, open_page):
    with open_page(season_map(full_map(season, "public"))) as seen:
        page, reached = seen.page, []
        for _ in range(20):
            page.keyboard.press("Tab")
            reached.append(page.evaluate("document.activeElement.id || document.activeElement.dataset.layer || ''"))
    order = ["choose-year", "choose-taxon", "choose-sureness", "choose-condition", "choose-from", "choose-to"]
    assert [one for one in reached if one][:7] == [*order, "choose-reset"]
    assert {"saved_0", "saved_1", "hotspots", "crossings", "roads"} <= set(reached)


def test_the_ends_of_the_days_say_their_day_and_move_by_arrow_keys(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        start = page.locator("#choose-from")
        assert start.get_attribute("aria-valuetext") == "10 April"
        start.focus()
        page.keyboard.press("ArrowRight")
        settle(page)
        assert start.get_attribute("aria-valuetext") == "11 April"
        assert page.inner_text("#from-words") == "11 April"


def test_on_a_phone_every_control_is_large_enough_for_a_finger(season, open_page):
    with open_page(season_map(full_map(season, "team")), width=390, height=844) as seen:
        seen.page.click(".controls summary")
        boxes = [one.bounding_box() for one in seen.page.locator(".controls :is(select, button, input, summary)").all()]
        labels = [one.bounding_box() for one in seen.page.locator(".layers label").all()]
    assert min(box["height"] for box in boxes if box["width"] > 30) >= 40
    assert min(box["height"] for box in labels) >= 24  # WCAG 2.2, 2.5.8
