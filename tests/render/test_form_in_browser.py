"""The form in a real browser: nothing runs or is asked for, everything can be reached, seen and understood."""

import json
import re
from itertools import pairwise

import pandas as pd
import pytest
from axe_playwright_python.sync_playwright import Axe
from render.form_pages import form_html, invented_roads, opened
from render.test_page_in_browser import ATTACKS

from roadwatch.render.safe_text import plain

WCAG = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}


def violations(page):
    """Faults that axe-core finds; it is brought in by the debugger, past the page's policy."""
    page.evaluate(Axe().axe_script)
    found = page.evaluate("rules => axe.run(document, {runOnly: rules})", WCAG)
    return [(one["id"], one["nodes"][0]["html"][:120]) for one in found["violations"]]


def screens(phone):
    """Walk through every screen, with the parts that open in it."""
    page = phone.page
    yield "start"
    page.click(".traffic button")
    yield "who"
    page.fill("[data-field=observer] input", "Invented Walker")
    phone.press("Go on")
    yield "home"
    phone.press("Turtle on the road")
    phone.placed()
    phone.press("Mark on the map")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    yield "crossing, with the map"
    phone.press("Paste coordinates")
    phone.press("Use these")
    phone.press("Save")
    yield "crossing, refused"
    phone.choose("condition", "dead")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    yield "crossing, dead"
    page.click(".marks button")
    yield "identify, view"
    phone.press("a carcass, looked at closely")
    phone.press("adult")
    phone.press("yes")
    phone.press("Unsure between several")
    page.click("[data-state] >> nth=0")
    yield "identify, unsure"
    phone.press("Enough, back to the record")
    phone.press("Leave it for now")
    yield "unfinished"
    phone.press("Go on with it")
    phone.press("Save")
    phone.screen("saved")
    yield "saved"
    phone.press("Next")
    phone.press("Nest")
    page.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    phone.placed()
    yield "nest"
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Check a nest")
    yield "check, choice"
    page.click(".visits .visit")
    yield "check"
    phone.choose("outcome", "lost_marker")
    phone.press("Save")
    phone.screen("saved")
    phone.press("Next")
    phone.press("Search a road")
    phone.choose("method", "car")
    yield "search"
    phone.press("Start the search")
    yield "running"
    phone.press("Stop the search")
    yield "stop"
    phone.press("Go on searching")
    phone.press("First screen")
    page.get_by_role("button", name=re.compile("Records on this phone")).click()
    page.click("summary")
    phone.press("Show the records as text")
    yield "records"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_no_fault_on_any_screen(browser, tmp_path, scheme):
    with opened(browser, tmp_path / "form.html", color_scheme=scheme) as phone:
        faults = {name: violations(phone.page) for name in screens(phone)}
    assert len(faults) == 17
    assert {name: found for name, found in faults.items() if found} == {}


@pytest.mark.parametrize("width", [390, 320])
@pytest.mark.parametrize("language", ["English", "Español"])
def test_no_screen_needs_sideways_scrolling_and_every_button_is_large(browser, tmp_path, width, language):
    small = (
        "() => Array.from(document.querySelectorAll('button, select, summary, input, textarea'))"
        ".filter(one => one.checkVisibility())"
        ".map(one => (one.closest('label.choice') || one).getBoundingClientRect())"
        ".filter(box => box.height < 48 || box.width < 44).length"
    )
    with opened(browser, tmp_path / "form.html", viewport={"width": width, "height": 844}) as phone:
        for name in screens(phone):
            phone.page.get_by_role("button", name=language).click()
            assert phone.page.evaluate("document.documentElement.scrollWidth") <= width, name
            assert phone.page.evaluate(small) == 0, name
            phone.page.get_by_role("button", name="English").click()


def test_the_language_switch_sets_words_and_the_lang_attribute(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        phone.page.get_by_role("button", name="Español").click()
        assert phone.page.get_attribute("html", "lang") == "es"
        assert phone.page.inner_text("h1") == "Nunca lo use mientras conduce"
        phone.page.reload()
        phone.page.wait_for_selector("main[data-screen=start] h1")
        assert phone.page.get_attribute("html", "lang") == "es"


def test_the_first_screen_and_the_search_say_never_to_use_it_while_driving(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        assert phone.page.inner_text("h1") == "Never use this while driving"
        text = phone.page.inner_text("main")
        for said in (
            "straight across",
            "other water",
            "bite",
            "Wash your hands",
            "permits",
            "licensed",
            "state wildlife agency",
        ):
            assert said in text
        phone.home()
        phone.press("Search a road")
        phone.choose("method", "car")
        assert "the driver drives, a passenger holds the phone" in phone.page.inner_text("main")
        assert "only while this page is open and the screen is lit" in phone.page.inner_text("main")


@pytest.mark.parametrize("attack", [ATTACKS[1], ATTACKS[4], ATTACKS[28]])
def test_no_title_runs_or_fetches_anything(browser, tmp_path, attack):
    with opened(browser, tmp_path / "form.html", form_html(title=f"Form {attack}")) as phone:
        assert phone.page.text_content(".title") == plain(f"Form {attack}")
        phone.home()
        assert phone.page.evaluate("window.attacked") is None


def test_no_text_of_a_stranger_runs_or_fetches_anything(browser, tmp_path):
    roads = pd.concat([invented_roads(attack) for attack in ATTACKS], ignore_index=True)
    visits = [
        {"date": "2026-01-01", "nest_id": f"N {attack}", "observer": attack, "order": k, "reason": attack}
        for k, attack in enumerate(ATTACKS)
    ]
    with opened(browser, tmp_path / "form.html", form_html(roads=roads)) as phone:
        page = phone.page
        phone.home(observer=ATTACKS[4])
        phone.press("Check a nest")
        body = json.dumps(visits).encode()
        page.set_input_files(
            "[data-field=round] input", {"name": "round.json", "mimeType": "application/json", "buffer": body}
        )
        page.wait_for_selector("ol.visits")
        page.select_option("[data-field=who] select", "")
        assert page.locator("ol.visits .visit").count() == len(ATTACKS) >= 30
        for attack in ATTACKS:
            values = {
                "nest_id": f"N {attack}",
                "outcome": "intact",
                "notes": attack,
                "checked_at": "2026-01-01T08:00:00-05:00",
            }
            page.evaluate(
                "async ([values, label]) => { STATE.draft = {kind: 'checks', id: newId(), values, nestLabel: label};"
                "await saveRecord(STATE.draft, {}) }",
                [values, attack],
            )
        phone.press("Next")
        phone.press("Turtle on the road")
        phone.placed()
        phone.press("Mark on the map")
        phone.choose("condition", "dead")
        phone.press("Save")
        phone.screen("saved")
        phone.press("Next")
        page.get_by_role("button", name=re.compile("Records on this phone")).click()
        assert page.locator(".records li").count() == len(ATTACKS) + 1
        page.click("summary")
        phone.press("Show the records as text")
        shown = page.locator(".records strong").all_inner_texts()
        assert any("onerror" in text for text in shown)
        phone.press("Back")
        phone.press("Search a road")
        phone.press("Start the search")
        phone.press("Stop the search")
        assert page.locator("[data-field=road] option").count() > 2 * len(ATTACKS)
        assert page.evaluate("window.attacked") is None
        assert page.evaluate("document.querySelectorAll('iframe, base, link, object, img').length") == 0


def test_the_policy_stops_code_that_was_not_written_with_the_page(browser, tmp_path):
    path = tmp_path / "form.html"
    bad = '<main id="screen" tabindex="-1"><img src=x onerror=\'window.attacked=1\'><script>window.attacked=2</script>'
    html = form_html()
    assert html.count('<main id="screen" tabindex="-1">') == 1
    path.write_text(html.replace('<main id="screen" tabindex="-1">', bad), encoding="utf-8")
    page = browser.new_page()
    told = []
    page.on("console", lambda message: told.append(message.text))
    page.goto(path.as_uri())
    page.wait_for_selector("main[data-screen=start]")
    assert page.evaluate("window.attacked") is None
    assert [text for text in told if "Content Security Policy" in text]
    page.close()


def test_everything_up_to_a_saved_record_can_be_done_by_keyboard(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        page = phone.page

        def tab_to(wanted):
            for _ in range(60):
                page.keyboard.press("Tab")
                if page.evaluate(f"document.activeElement.matches({wanted!r})"):
                    return
            pytest.fail(f"{wanted} is not reached")

        tab_to(".traffic button")
        page.keyboard.press("Enter")
        tab_to("[data-field=observer] input")
        page.keyboard.type("K")
        tab_to("button.primary")
        page.keyboard.press("Enter")
        tab_to(".tile")
        page.keyboard.press("Enter")
        phone.placed()
        tab_to("[data-field=condition] input")
        page.keyboard.press("Space")
        tab_to(".actions .primary")
        page.keyboard.press("Enter")
        phone.screen("saved")
        assert page.evaluate("STATE.records[0].values.condition") == "alive"


def test_headings_go_down_step_by_step(browser, tmp_path):
    with opened(browser, tmp_path / "form.html") as phone:
        for name in screens(phone):
            levels = phone.page.evaluate(
                "Array.from(document.querySelectorAll('h1, h2, h3'), one => Number(one.tagName[1]))"
            )
            assert levels.count(1) == 1, name
            assert all(after - before <= 1 for before, after in pairwise(levels)), name
