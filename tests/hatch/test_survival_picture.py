from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from defusedxml import ElementTree

from roadwatch.hatch.survival import survival_curve
from roadwatch.hatch.survival_picture import survival_picture

if TYPE_CHECKING:
    import pandas as pd

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def curve() -> pd.DataFrame:
    return survival_curve(np.zeros(4), np.array([10.0, 20, 30, 30]), np.array([True, True, False, False]))


def test_the_picture_is_well_formed_and_holds_no_script(curve):
    root = ElementTree.fromstring(survival_picture({"<all>": curve}, title="A & B <script>", last_day=30))
    names = {element.tag.removeprefix(SVG) for element in root.iter()}
    assert names <= {"svg", "title", "rect", "text", "line", "polyline", "polygon"}
    assert "<all>: 2 lost" in {element.text for element in root.iter(f"{SVG}text")}


def test_steps_go_down_only_and_end_at_the_last_day(curve):
    root = ElementTree.fromstring(survival_picture({"all": curve}, title="t", last_day=30))
    points = [tuple(map(float, pair.split(","))) for pair in root.find(f"{SVG}polyline").get("points").split()]
    xs, ys = zip(*points, strict=True)
    assert list(xs) == sorted(xs)
    assert list(ys) == sorted(ys)  # downwards on the page
    assert xs[-1] == pytest.approx(70 + 640)
    # By hand: half of four are left after two losses: half way down
    assert ys[-1] == pytest.approx(60 + 290 / 2)


def test_three_curves_at_most_are_told_apart_without_colour(curve):
    text = survival_picture(dict.fromkeys(("a", "b", "c", "d"), curve), title="t", last_day=200)
    root = ElementTree.fromstring(text)
    dashes = [line.get("stroke-dasharray") for line in root.iter(f"{SVG}polyline")]
    assert len(dashes) == len(set(dashes)) == 3
