"""The report page: opened offline in a browser, printed, on a telephone, and for readers who cannot see pictures."""

import re
import zlib
from base64 import b64decode

import numpy as np
import pandas as pd
import pytest
from render.map_pages import violations

from roadwatch.render.report_figures import picture_of
from roadwatch.render.report_page import report_page
from roadwatch.share.report_parts import CountyReport, Figure, Section, Table

ATTACK = "<img src=x onerror=alert(1)></script>${alert(2)}`{0}"


def figures(text=""):
    x = np.arange(1.0, 6.0)
    bounds = {"value": x, "low": x / 2, "high": 2 * x}
    named = pd.DataFrame({"label": [f"taxon {k}{text}" for k in range(5)], **bounds})
    road = {"road_m": 100 * x, "density": x, "expected": x / 3, "band_low": x / 4, "band_high": x / 2}
    curve = {"length_m": 200 * x, "averted_per_year": x, "low": x / 2, "high": 2 * x}
    tables = {
        "weeks": pd.DataFrame({"day_of_year": [120, 127], "week_from": ["04-29", "05-06"], "records": [3, 5]}),
        "hours": pd.DataFrame({"hour": [7, 8], "records": [3, 5]}),
        "road": pd.DataFrame(road),
        "averted": pd.DataFrame(curve),
        "bars": named,
        "rates": named,
    }
    marks = {"road": (200.0, 300.0), "averted": (400.0, 400.0)}
    return tuple(
        Figure(kind, f"Figure of {kind}{text}", f"How to read it.{text}", kind, table, "turtles", marks.get(kind))
        for kind, table in tables.items()
    )


def invented(audience="public", text=""):
    """A report of invented numbers; ``text`` is hung on every text that a stranger could have written."""
    rows = pd.DataFrame({"Road": [f"=Heron Lane{text}", "-12 Mile Road"], "Dead": [2.0, 1.25], "Note": [None, "x"]})
    sections = (
        Section("seen", "What was seen", (f"2 turtles.{text}",), figures(text), (Table("seen", f"Roads{text}", rows),)),
        Section("nests", "What the nests did", lacking=f"not enough data: no nest.{text}"),
        Section("method", "Method and limits", (f"Invented.{text}", "Seed 1.")),
    )
    return CountyReport(audience, 2025, 2022, sections, ("30 % are masked.",) if audience == "public" else ())


def page(audience="public", text=""):
    return report_page(invented(audience, text), title=f"Invented county{text}", subtitle="The season of 2025")


@pytest.fixture
def opened(browser, tmp_path):
    """Opens a report; told holds every message of the console and every request."""
    made = []

    def make(text, *, width=1280):
        file = tmp_path / "report.html"
        file.write_text(text, "utf-8")
        context = browser.new_context(viewport={"width": width, "height": 844}, offline=True)
        seen, told = context.new_page(), []
        made.append(context)
        seen.on("console", lambda message: told.append(message.text))
        seen.on("pageerror", lambda error: told.append(str(error)))
        seen.on("dialog", lambda dialog: (told.append(dialog.message), dialog.dismiss()))
        seen.on("request", lambda asked: told.append(asked.url) if not asked.url.startswith(("data:", "file:")) else 0)
        seen.goto(file.as_uri())
        return seen, told

    yield make
    for context in made:
        context.close()


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("audience", ["public", "team"])
def test_axe_finds_no_fault_and_nothing_is_asked_of_the_network(opened, audience, width):
    seen, told = opened(page(audience), width=width)
    closed = violations(seen)
    seen.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    assert (closed, violations(seen), told) == ([], [], [])


def test_nothing_that_a_stranger_wrote_runs(opened):
    seen, told = opened(page(text=ATTACK))
    assert told == []
    assert seen.locator("img[src=x]").count() == 0
    assert ATTACK in seen.inner_text("h1")


def test_every_picture_is_drawn(opened):
    seen, _ = opened(page())
    sizes = seen.evaluate("[...document.querySelectorAll('figure img')].map(one => one.naturalWidth)")
    assert len(sizes) == 6
    assert min(sizes) > 100


def test_a_telephone_has_nothing_to_scroll_sideways(opened):
    seen, _ = opened(page(), width=390)
    seen.evaluate("document.querySelectorAll('details').forEach(one => { one.open = true })")
    assert seen.evaluate("document.documentElement.scrollWidth") <= 390


def test_numbers_behind_a_figure_are_closed_on_screen_and_open_in_print(opened):
    seen, _ = opened(page())
    height = "document.querySelector('details table').checkVisibility({contentVisibilityAuto: true})"
    assert not seen.evaluate(height)
    seen.emulate_media(media="print")
    seen.wait_for_function(height, timeout=10_000)  # the medium changes a moment after it was asked for


def test_a_saved_table_cannot_act_in_a_spreadsheet():
    data = re.search(r'download="seen.csv" href="data:text/csv;charset=utf-8;base64,([^"]+)"', page())[1]
    text = b64decode(data).decode("utf-8-sig")
    assert not re.search(r"(?m)(?:^|,)\"?[=+@]", text)
    assert "1.25" in text


def test_each_figure_tells_its_numbers_in_words():
    for figure in figures():
        words = re.search(r'alt="([^"]*)"', picture_of(figure))[1]
        assert len(words) > 30, figure.kind
    assert "taxon 4: 5 (2.5 to 10)" in picture_of(figures()[4])


def test_a_section_without_an_answer_says_what_is_missing():
    assert '<p class="lacking">not enough data: no nest.</p>' in page()


def test_the_team_page_says_so_on_its_face_and_the_public_one_what_is_masked():
    assert "Team only" in page("team").split("<main>")[0].split("</style>")[1]
    assert "30 % are masked." in page("public")


def test_cautions_stand_at_the_end():
    assert page().index("Before you act on this report") > page().index("Method and limits</h2>")


def test_equal_reports_give_equal_bytes_with_one_heading_and_no_code():
    text = page()
    assert text == page()
    assert text.count("<h1") == 1
    assert "<script" not in text
    assert "unsafe-inline" not in text


def drawn_texts(printed):
    """How many texts each page of a PDF of Chromium draws, from its content stream (ISO 32000-1, 7.8.2 and 9.4.3)."""
    objects = dict(re.findall(rb"(?s)(?:^|\n)(\d+) 0 obj\s(.*?)\nendobj", printed))
    pages = [body for body in objects.values() if re.search(rb"/Type\s*/Page\b", body)]
    streams = [objects[re.search(rb"/Contents (\d+) 0 R", body)[1]] for body in pages]
    packed = [(b"/FlateDecode" in one, re.search(rb"(?s)stream\r?\n(.*?)\r?\nendstream", one)[1]) for one in streams]
    content = [zlib.decompress(one) if is_packed else one for is_packed, one in packed]
    return [len(re.findall(rb"\bT[jJ]\b", one)) for one in content]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_no_printed_page_is_blank(opened, paper):
    seen, _ = opened(page())
    texts = drawn_texts(seen.pdf(format=paper))
    assert len(texts) >= 2
    assert min(texts) > 5  # the number of the page alone is one or two


def test_a_blank_page_would_be_seen(opened):
    seen, _ = opened("<!DOCTYPE html><title>x</title><p>text</p><div style='break-before: page; height: 9px'></div>")
    assert [texts > 0 for texts in drawn_texts(seen.pdf())] == [True, False]
