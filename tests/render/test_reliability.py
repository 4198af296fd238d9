"""The picture of reliability draws each bin where it stands and says it in words."""

import xml.etree.ElementTree as ET

import pandas as pd
import pytest

from roadwatch.render.reliability import EDGE, SIDE, reliability_figure
from roadwatch.render.table_page import table_page

SVG = "{http://www.w3.org/2000/svg}"
TABLE = pd.DataFrame(
    {
        "mean_sure": [0.5, 0.9],
        "n": [4, 20],
        "n_right": [1, 18],
        "share_right": [0.25, 0.9],
        "share_low": [0.05, 0.7],
        "share_high": [0.7, 0.97],
    }
)


def drawn():
    return ET.fromstring(str(reliability_figure(TABLE)))[0]


def test_a_dot_stands_where_sureness_and_share_meet():
    # by hand: halfway along, a quarter up from the foot of the square
    first = drawn().findall("circle")[0]
    assert float(first.get("cx")) == pytest.approx(EDGE + SIDE / 2)
    assert float(first.get("cy")) == pytest.approx(EDGE / 2 + SIDE * 0.75)


def test_each_bin_has_its_limits():
    limits = [line for line in drawn().findall("line") if line.get("stroke") == "#00558b"]
    heights = [float(line.get("y1")) - float(line.get("y2")) for line in limits]
    assert heights == pytest.approx([SIDE * 0.65, SIDE * 0.27], abs=0.11)


def test_a_bin_as_right_as_it_said_lies_on_the_slanted_line():
    slanted = next(line for line in drawn().findall("line") if line.get("stroke-dasharray"))
    x1, y1, x2, y2 = (float(slanted.get(name)) for name in ("x1", "y1", "x2", "y2"))
    dot = drawn().findall("circle")[1]
    along = (float(dot.get("cx")) - x1) / (x2 - x1)
    assert float(dot.get("cy")) == pytest.approx(y1 + along * (y2 - y1), abs=0.11)


def test_it_says_in_words_what_it_shows():
    assert drawn().find("desc").text == "50% sure: 1 of 4 right; 90% sure: 18 of 20 right"


def test_no_record_draws_an_empty_square():
    figure = ET.fromstring(str(reliability_figure(TABLE.iloc[:0])))[0]
    assert figure.findall("circle") == []
    assert figure.find("rect") is not None


def test_a_page_holds_the_picture_above_its_table_and_needs_no_script():
    page = table_page("T", ["n"], [["4"]], notes=["note"], team_only=False, figure=reliability_figure(TABLE))
    assert page.index("<svg") < page.index("<table>")
    assert "<script" not in page
    assert "style=" not in page.split("<style>")[1].split("</style>")[1]


def test_a_page_without_a_picture_has_none():
    assert "<svg" not in table_page("T", ["n"], [["4"]], notes=[], team_only=False)
