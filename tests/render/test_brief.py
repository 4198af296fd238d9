"""The sheets for a road agency: what they say, what they hide, and that nothing runs."""

import re
from dataclasses import replace

import numpy as np
import pytest
from render.fence_briefs import brief

from roadwatch.render.brief import fence_brief
from roadwatch.siting.fence_brief import CAUTIONS, Alternative


def words(html):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", re.sub(r"<style>.*?</style>", "", html, flags=re.DOTALL)))


def test_each_place_has_two_pages():
    html = fence_brief(brief())
    assert html.count('<section class="page">') == 4
    assert "Fence 1: County Road 12, 700 m" in html
    assert "Fence 2: what else could be done" in html


def test_numbers_stand_in_plain_sentences_with_their_intervals():
    told = words(fence_brief(brief()))
    assert "about 6.4 turtles a year are expected to be recorded dead" in told
    assert "expected to avert 4.1 of these deaths a year; 95 % interval 2.2 to 6" in told
    assert "83% of this run was, on average, in the best plan" in told
    assert "mileposts 3.25 to 3.68 (mile)" in told


def test_without_a_price_no_cost_is_told():
    assert "no price was given; none is assumed" in words(fence_brief(brief()))


def test_with_a_price_the_cost_has_its_interval():
    priced = {
        "cost": 43_800.0,
        "cost_per_averted": 10_683.0,
        "cost_per_averted_low": 7300.0,
        "cost_per_averted_high": 19_909.0,
    }
    told = words(fence_brief(brief(**priced)))
    assert "43,800; 10,683 for each death averted in one year (95 % interval 7,300 to 19,909)" in told
    assert "passages never are" in told


def test_missing_mileposts_and_agency_are_said():
    bare = {"milepost_from": np.nan, "why_no_milepost": "the road layer gives no measures here", "agency": None}
    told = words(fence_brief(brief(route_id=None, **bare)))
    assert "no mileposts: the road layer gives no measures here" in told
    assert "who keeps it is not in the layer" in told


def test_every_caution_and_every_alternative_stands_on_each_sheet():
    html = words(fence_brief(brief()))
    for caution in CAUTIONS:
        assert html.count(caution) == 2
    assert html.count("No fence") == 2


def test_a_sheet_for_the_team_is_marked_and_others_are_not():
    assert "Team only" in fence_brief(brief(team_only=True))
    assert "Team only" not in fence_brief(brief())


def test_passages_within_reach_are_counted_or_missed():
    assert "No passage of the layer lies within reach" in words(fence_brief(brief()))
    assert "within reach: 2." in words(fence_brief(brief(passages=2)))


def test_the_policy_allows_one_style_and_pictures_from_inside():
    html = fence_brief(brief())
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', html)[1]
    assert "unsafe" not in policy
    assert "default-src 'none'" in policy
    assert "img-src data:;" in policy
    assert " style=" not in html
    assert "<script" not in html


def test_equal_plans_give_equal_pages():
    assert fence_brief(brief()) == fence_brief(brief())


def test_words_of_strangers_are_shown_and_never_run():
    html = fence_brief(brief("<img src=x onerror=alert(1)>"))
    assert "<img src=x" not in html
    assert "&lt;img src=x" in html


@pytest.mark.parametrize("width", [1280, 390])
def test_the_page_opens_without_complaint_or_request_and_fits_its_window(browser, tmp_path, width):
    path = tmp_path / "brief.html"
    path.write_text(fence_brief(brief()), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 800})
    complaints, requests = [], []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("request", lambda request: requests.append(request.url))
    page.goto(path.as_uri())
    assert page.evaluate("Array.from(document.images, image => image.naturalWidth > 0)") == [True] * 4
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()
    assert complaints == []
    assert [url for url in requests[1:] if not url.startswith("data:")] == []


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_a_place_prints_on_two_pages(browser, tmp_path, paper):
    path = tmp_path / "brief.html"
    path.write_text(fence_brief(brief(team_only=True)), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    printed = page.pdf(format=paper)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 4


def test_expected_deaths_stand_with_their_interval():
    assert "to be recorded dead; 95 % interval 3.1 to 9.8." in words(fence_brief(brief()))


LONG = "Instead of a fence here: speed measures, by a county trial with a long title that was never printed (own.csv)"


def with_measures(*more):
    made = brief()
    told = [
        replace(place, alternatives=(*place.alternatives[:-1], *more, place.alternatives[-1])) for place in made.places
    ]
    return replace(made, places=tuple(told))


def test_what_has_no_number_reads_not_known_and_never_zero():
    blank = Alternative("Signs: no sourced efficacy: not ranked", np.nan, np.nan, np.nan)
    told = words(fence_brief(with_measures(blank)))
    assert told.count("Signs: no sourced efficacy: not ranked not known") == 2
    assert "nan" not in told


def test_a_measure_with_a_number_stands_in_the_row_of_its_own():
    told = words(fence_brief(with_measures(Alternative(LONG, 2.5, 0.8, 4.2))))
    assert f"{LONG} 2.5 0.8 to 4.2" in told


def test_deaths_of_the_killed_are_called_so():
    made = replace(brief(), counted="killed")
    assert "turtles a year are expected to be killed; 95 % interval" in words(fence_brief(made))
    assert "recorded dead" not in words(fence_brief(made))


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_a_place_with_every_measure_and_long_words_still_prints_on_two_pages(browser, tmp_path, paper):
    made = with_measures(*(Alternative(LONG, 2.5, 0.8, 4.2) for _ in range(4)))
    unknown = (
        "Deaths per year are those of the usual search effort, after luck is drawn towards the usual. " * 2,
        "Deaths are those of animals killed: by your carcass trial 17% of them are recorded (95 % interval 7% to 35%).",
        *(
            f"How well this fence will work is not known; {k} of its parts are taken from elsewhere. " * 2
            for k in range(4)
        ),
    )
    path = tmp_path / "brief.html"
    path.write_text(fence_brief(replace(made, unknown=unknown, team_only=True)), encoding="utf-8")
    page = browser.new_page()
    page.goto(path.as_uri())
    printed = page.pdf(format=paper)
    page.close()
    assert len(re.findall(rb"/Type\s*/Page[^s]", printed)) == 4


def test_headings_keep_their_words_whole_on_a_phone(browser, tmp_path):
    path = tmp_path / "brief.html"
    path.write_text(fence_brief(with_measures(Alternative(LONG, 2.5, 0.8, 4.2))), encoding="utf-8")
    page = browser.new_page(viewport={"width": 390, "height": 800})
    page.goto(path.as_uri())
    # a heading is at least as wide as its longest word set on a line of its own
    narrow = page.evaluate(
        """Array.from(document.querySelectorAll('thead th'), cell => {
            const words = cell.textContent.split(' ').map(word => {
                const probe = document.createElement('span');
                probe.style.cssText = 'position:absolute;white-space:nowrap;font:' + getComputedStyle(cell).font;
                probe.textContent = word; document.body.append(probe);
                const width = probe.getBoundingClientRect().width; probe.remove(); return width;
            });
            const style = getComputedStyle(cell);
            const room = cell.clientWidth - parseFloat(style.paddingLeft) - parseFloat(style.paddingRight);
            return room + 1 < Math.max(...words);
        })"""
    )
    page.close()
    assert narrow == [False] * 6
