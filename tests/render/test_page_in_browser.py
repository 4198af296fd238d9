"""The map in a real browser: what runs, what is asked for, what a reader sees and can reach."""

import re
import uuid

import pytest
from render.map_pages import Opened, card_of, choose, click_at, open_everything, painted
from render.season_maps import full_map

from roadwatch.render.page import season_map
from roadwatch.render.safe_text import plain

# Openings of script known from OWASP's XSS filter evasion cheat sheet (from memory) and of the sinks of map makers.
RUN = "window.attacked=1"
ATTACKS = [
    f"<script>{RUN}</script>",
    f"</script><script>{RUN}</script>",
    f"</SCRIPT ><ScRiPt>{RUN}//",
    f"<img src=x onerror={RUN}>",
    f'"><img src=x onerror="{RUN}">',
    f"'><img src=x onerror='{RUN}'>",
    f"<svg onload={RUN}>",
    f"<svg><script>{RUN}</script></svg>",
    f"<svg><animate onbegin={RUN} attributeName=x dur=1s>",
    f"<iframe srcdoc='<script>parent.{RUN}</script>'></iframe>",
    f"<iframe src=javascript:parent.{RUN}></iframe>",
    f"<body onload={RUN}>",
    f"<details open ontoggle={RUN}>",
    f"<input autofocus onfocus={RUN}>",
    f"<a href='javascript:{RUN}'>click</a>",
    f'" onmouseover="{RUN}" autofocus onfocus="{RUN}',
    f"${{{RUN}}}",
    f"`+({RUN})+`",
    f"'+({RUN})+'",
    f'"+({RUN})+"',
    f'\\";{RUN};//',
    f"\\u003cimg src=x onerror={RUN}\\u003e",
    f"&lt;img src=x onerror={RUN}&gt;",
    f"{{{{constructor.constructor('{RUN}')()}}}}",
    "{% raw %}{{ 7*7 }}{0.__class__}%s%(x)s",
    f"<!--<script>{RUN}//-->",
    f"]]><script>{RUN}</script>",
    "<link rel=stylesheet href=http://127.0.0.1:9/x.css><style>@import 'http://127.0.0.1:9/y.css'</style>",
    "<img src=http://127.0.0.1:9/x.png><base href=http://127.0.0.1:9/><meta http-equiv=refresh content=0;url=http://127.0.0.1:9/>",
    f"\u2028{RUN}\u2029\x00\ud83d\u202e__proto__ constructor 🐢",
]


@pytest.mark.parametrize("attack", ATTACKS)
def test_no_text_of_a_stranger_runs_or_fetches_anything(season, open_page, attack):
    with open_page(season_map(full_map(season, "team", text=attack))) as seen:
        assert seen.page.text_content("h1") == plain(f"Invented county, season 2025{attack}")
        cards = open_everything(seen.page)
        assert len(cards) == 9 + 2 + 8  # hotspots and nests, measures, saved results
        seen.page.select_option("#choose-year", "2025")
        seen.page.click("#crossing-list summary")
        seen.page.wait_for_selector("#crossing-list table")
        assert len(open_everything(seen.page)) == 1 + 6 + 2 + 8 + 20
        assert seen.page.evaluate("window.attacked") is None
        assert seen.page.evaluate("document.querySelectorAll('iframe, base, link, object').length") == 0


def test_attacks_are_shown_as_they_were_written(season, open_page):
    attack = ATTACKS[4]
    with open_page(season_map(full_map(season, "team", text=attack))) as seen:
        cards = open_everything(seen.page)
        assert all("County Road 12" in card and attack in card for card in cards[:3])
        assert all(attack in card for card in cards[3:9] + cards[11:])
        seen.page.select_option("#choose-taxon", f"Trachemys scripta{attack}")
        assert attack in seen.page.inner_text("#answer")
        assert f"signs{attack}.geojson" in seen.page.inner_text(".layers")


@pytest.mark.parametrize("attack", [ATTACKS[1], ATTACKS[3], ATTACKS[16]])
def test_the_public_page_withstands_attacks_too(season, open_page, attack):
    with open_page(season_map(full_map(season, "public", text=attack))) as seen:
        assert open_everything(seen.page)
        assert seen.page.evaluate("window.attacked") is None


def test_the_policy_stops_code_that_was_not_written_with_the_page(season, browser, tmp_path):
    page_text = season_map(season("team")).replace("<main>", "<main><img src=x onerror='window.attacked=1'>")
    path = tmp_path / "map.html"
    path.write_text(page_text.replace("<main>", "<main><script>window.attacked=2</script>"), encoding="utf-8")
    page = browser.new_page()
    seen = Opened(page)
    page.goto(path.as_uri())
    page.wait_for_selector(".leaflet-control-scale-line")
    assert page.evaluate("window.attacked") is None
    assert [text for text in seen.complaints if "Content Security Policy" in text]
    page.close()


def test_all_layers_are_drawn_and_can_be_switched_off_and_on(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        counts = {
            "Roads": ".leaflet-roads-pane path",
            "Water and wetland": ".leaflet-water-pane path",
            "Protected land": ".leaflet-protected-pane path",
            "Hotspots": ".leaflet-hotspots-pane path",
            "Nests": ".leaflet-numbers-pane .nest",
        }
        before = {name: page.locator(where).count() for name, where in counts.items()}
        assert before == {"Roads": 3, "Water and wetland": 2, "Protected land": 1, "Hotspots": 6, "Nests": 6}
        assert painted(page) > 500
        switches = page.locator(".layers label")
        for label in switches.all():
            label.click()
        assert {name: page.locator(where).count() for name, where in counts.items()} == dict.fromkeys(counts, 0)
        assert page.locator("canvas.records").count() == 0
        for label in switches.all():
            label.click()
        assert {name: page.locator(where).count() for name, where in counts.items()} == before
        assert painted(page) > 500


def test_a_click_on_a_record_opens_its_card_before_the_hotspot_below(season, open_page):
    content = season("team")
    place = content.places.crossings.geometry.iloc[0]
    with open_page(season_map(content)) as seen:
        click_at(seen.page, place)
        assert "R00000" in card_of(seen.page).inner_text()
    with open_page(season_map(content)) as seen:
        seen.page.uncheck("[data-layer=crossings]")
        click_at(seen.page, place)
        assert seen.page.inner_text("#panel h2").startswith("Hotspot 1: County Road 12")


def test_records_in_one_place_are_leafed_through(season, open_page):
    content = season("team", n=30)
    same = content.places.crossings.geometry.iloc[0]
    content.places.crossings["geometry"] = [same] * 30
    with open_page(season_map(content)) as seen:
        page = seen.page
        click_at(page, same)
        assert card_of(page).locator("h2").inner_text() == "Crossing 1 of 30 here"
        card_of(page).locator("button").click()
        assert card_of(page).locator("h2").inner_text() == "Crossing 2 of 30 here"


def test_the_table_s_button_shows_a_nest_even_when_its_layer_is_off(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        page.uncheck("[data-layer=nests]")
        page.click("[data-show=nests-2]")
        assert card_of(page).locator("h2").inner_text() == "Nest N2"
        assert "four days of weather are missing" in card_of(page).inner_text()
        assert page.inner_text("#said") == "The map shows Nest N2."


def test_hotspots_and_nests_can_be_reached_by_keyboard(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        page.keyboard.press("Tab")
        assert page.evaluate("document.activeElement.className") == "skip"
        page.focus(".badge[title^='Hotspot 1']")
        page.keyboard.press("Enter")
        assert page.inner_text("#panel h2") == "Hotspot 1: County Road 12, 12540 to 14080 m"
        page.focus(".nest[title='Nest N2']")
        page.keyboard.press("Enter")
        assert card_of(page).locator("h2").inner_text() == "Nest N2"


def test_the_scale_is_in_kilometres_and_miles(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        lines = seen.page.locator(".leaflet-control-scale-line").all_inner_texts()
        assert [line.split()[1] for line in lines] == ["km", "mi"]


def test_a_card_on_a_phone_can_be_closed_by_its_button(season, open_page):
    with open_page(season_map(season("team")), width=390, height=844) as seen:
        seen.page.click("[data-show=nests-2]")
        seen.page.click(".leaflet-popup-close-button")
        seen.page.wait_for_selector(".leaflet-popup", state="detached")


@pytest.mark.parametrize("audience", ["team", "public"])
def test_a_phone_needs_no_sideways_scrolling_and_its_controls_are_folded(season, open_page, audience):
    long_text = " " + "W" * 300
    with open_page(season_map(full_map(season, audience, text=long_text)), width=390, height=844) as seen:
        assert seen.page.evaluate("document.documentElement.scrollWidth") == 390
        assert not seen.page.is_visible("#choose-year")
        seen.page.click(".controls summary")
        assert seen.page.is_visible("#choose-year")
        assert seen.page.evaluate("document.documentElement.scrollWidth") == 390
        open_everything(seen.page)
        assert card_of(seen.page).evaluate("card => card.scrollWidth <= card.clientWidth")
        assert seen.page.evaluate("document.documentElement.scrollWidth") == 390
        boxes = [button.bounding_box() for button in seen.page.locator("[data-show]").all()]
        assert min(min(box["width"], box["height"]) for box in boxes) >= 24  # WCAG 2.2, 2.5.8


def test_print_shows_the_still_map_and_readable_tables(season, open_page):
    with open_page(season_map(season("team"))) as seen:
        page = seen.page
        assert not page.is_visible(".printed")
        page.emulate_media(media="print")
        assert page.is_visible(".printed svg")
        assert not page.is_visible(".folium-map")
        assert page.is_visible("#hotspots table")
        assert not page.is_visible("[data-show=nests-0]")
        assert len(page.pdf(format="Letter")) > 10_000


@pytest.mark.parametrize(("paper", "width_px"), [("A4", 717), ("Letter", 739)])  # 210 mm and 8.5 in, less 0.4 in a side
def test_nothing_is_cut_off_on_paper(season, open_page, paper, width_px):
    with open_page(season_map(full_map(season, "team")), width=width_px) as seen:
        page = seen.page
        page.emulate_media(media="print")
        assert page.evaluate("document.documentElement.scrollWidth") <= width_px
        boxes = page.evaluate(
            "Array.from(document.querySelectorAll('table, svg, h1, h2, p, li'), one => one.getBoundingClientRect())"
            ".filter(box => box.width && box.x >= 0).map(box => box.right)"
        )
        assert max(boxes) <= width_px
        pages = len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=paper)))
        assert 2 <= pages <= 5


def test_paper_says_what_was_chosen_and_that_the_picture_shows_all(season, open_page):
    with open_page(season_map(full_map(season, "team"))) as seen:
        page = seen.page
        choose(page, year="2025", taxon="Chelydra serpentina")
        page.emulate_media(media="print")
        assert page.inner_text("#chosen") == (
            "Shown in the tables: 2025, Chelydra serpentina. The picture shows all records."
        )
        assert not page.is_visible("#choose-year")


def test_without_scripts_the_still_map_and_the_tables_remain(season, browser, tmp_path):
    path = tmp_path / "map.html"
    path.write_text(season_map(season("team")), encoding="utf-8")
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(path.as_uri())
    assert page.is_visible(".printed svg")
    assert page.is_visible("#nests table")
    context.close()


def test_ten_thousand_records_are_drawn(season, open_page):
    with open_page(season_map(season("team", n=10_000))) as seen:
        assert painted(seen.page) > 2_000


def test_a_record_named_by_a_uuid_shows_it(season, open_page):
    content = season("team", n=30)
    names = [str(uuid.UUID(int=number + 2**100)) for number in range(30)]
    content.places.crossings["record_id"] = names
    with open_page(season_map(content)) as seen:
        click_at(seen.page, content.places.crossings.geometry.iloc[0])
        assert names[0] in card_of(seen.page).inner_text()
