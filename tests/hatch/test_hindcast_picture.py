from __future__ import annotations

import re

import numpy as np
import pandas as pd
import pytest
from defusedxml import ElementTree

from roadwatch.hatch.hindcast_picture import hindcast_picture

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def drawn():
    """Draw 20 invented summers, of which the last 4 lie outside their windows."""

    def make(*, title="Station <A> & B", lead=30, late=220.0) -> str:
        years = np.arange(2000, 2020)
        cases = pd.DataFrame(
            {
                "year": years,
                "lead_days": 30,
                "truth": np.where(years < 2016, 212.0, 230.0),
                "widened_early_80": 205.0,
                "widened_late_80": late,
            }
        )
        row = {"widened_50": 0.5, "widened_50_se": 0.05, "widened_80": 0.8, "widened_80_se": 0.04}
        scores = pd.DataFrame([{"lead_days": name, **row} for name in ("60", "30", "all")])
        return hindcast_picture(cases, scores, title=title, lead_days=lead)

    return make


def test_the_picture_is_well_formed_and_holds_no_script(drawn):
    root = ElementTree.fromstring(drawn())
    assert root.tag == f"{SVG}svg"
    names = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert names <= {"svg", "title", "rect", "text", "line", "circle"}
    assert "http" not in drawn().replace("http://www.w3.org/2000/svg", "")


def test_a_strangers_title_is_text_and_nothing_else(drawn):
    root = ElementTree.fromstring(drawn(title="<script>alert(1)</script>"))
    assert root.find(f"{SVG}title").text == "<script>alert(1)</script>"
    assert root.find(f".//{SVG}script") is None


def test_days_inside_are_dots_and_days_outside_are_crosses(drawn):
    marks = re.findall(r'r="2\.6"', drawn())
    crosses = re.findall(r'stroke-width="1\.8"', drawn())
    assert (len(marks), len(crosses)) == (16, 8)


def test_an_inside_day_is_drawn_on_its_bar(drawn):
    root = ElementTree.fromstring(drawn())
    dot = next(element for element in root.iter(f"{SVG}circle") if element.get("r") == "2.6")
    bar = next(
        line for line in root.iter(f"{SVG}line") if line.get("x1") == dot.get("cx") and line.get("stroke") != "#222222"
    )
    ends = sorted(float(bar.get(name)) for name in ("y1", "y2"))
    assert ends[0] <= float(dot.get("cy")) <= ends[1]


def test_windows_beyond_december_end_at_the_edge(drawn):
    assert "inf" not in drawn(late=np.inf)
    assert "nan" not in drawn(late=np.inf)


def test_a_lead_without_years_says_so(drawn):
    assert "no year to draw" in drawn(lead=45)
