"""Pictures of numbers: the same bytes each time, words for all, nothing that runs."""

import re
from base64 import b64decode
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from roadwatch.render.charts import (
    averted_curve,
    hour_profile,
    interval_bars,
    interval_points,
    road_profile,
    season_profile,
)

X = np.arange(5.0)
DRAWN = {
    "curve": lambda: averted_curve(1000 * X, X, 0.5 * X, 2 * X, asked_m=2000.0),
    "road": lambda: road_profile(100 * X, X, 0.5 * X, 2 * X, usual=1.0, marked_m=(100.0, 200.0)),
    "season": lambda: season_profile(np.array([100.0, 101.0, 130.0]), window=(95.0, 160.0)),
    "hour": lambda: hour_profile(np.array([7.5, 7.9, 22.0]), window=(21.0, 8.0)),
}


def svg_of(picture):
    return b64decode(re.search(r'src="data:image/svg\+xml;base64,([^"]+)"', picture)[1]).decode("utf-8")


def words_of(picture):
    return re.search(r'alt="([^"]*)"', picture)[1]


@pytest.mark.parametrize("draw", DRAWN.values(), ids=DRAWN)
def test_a_picture_has_the_same_bytes_each_time(draw):
    assert draw() == draw()


@pytest.mark.parametrize("draw", DRAWN.values(), ids=DRAWN)
def test_a_picture_is_sound_svg_without_date_script_or_link_outside(draw):
    svg = svg_of(draw())
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "<dc:date" not in svg
    assert not re.findall(r'(?:href|src)="(?!#)', svg)


def test_the_curve_tells_each_length_with_its_interval():
    assert "2000 m: 2 (1 to 4)" in words_of(DRAWN["curve"]())


def test_the_road_tells_its_highest_place():
    assert "highest 4 (2 to 8) at 400 m" in words_of(DRAWN["road"]())


def test_months_and_hours_are_counted():
    # Days 100, 101 and 130 of a common year are the 10th and 11th of April and the 10th of May.
    assert words_of(DRAWN["season"]()).endswith("Apr 2, May 1.")
    assert words_of(DRAWN["hour"]()).endswith("7: 2, 22: 1.")


def test_weights_are_counted_as_they_are():
    assert "Apr 0.5" in words_of(season_profile(np.array([100.0]), np.array([0.5])))
    assert "7: 0.25" in words_of(hour_profile(np.array([7.0]), np.array([0.25])))


def test_no_record_is_an_empty_picture_that_says_so():
    assert "none" in words_of(season_profile(np.array([])))
    assert "none" in words_of(hour_profile(np.array([])))


def test_words_are_escaped():
    picture = road_profile(X, X, X, X, quantity='deaths "<b>')
    assert "<b>" not in picture


def test_another_picture_has_other_bytes():
    assert averted_curve(X, X, X, X) != averted_curve(X, 2 * X, X, 2 * X)


@pytest.mark.parametrize("draw", [interval_bars, interval_points])
def test_values_with_intervals_are_told_by_name(draw):
    picture = draw(["2024", "2025"], X[1:3], X[1:3] / 2, X[1:3] * 2, quantity="dead per km")
    assert words_of(picture) == "Dead per km. 2024: 1 (0.5 to 2); 2025: 2 (1 to 4)."
    assert picture == draw(["2024", "2025"], X[1:3], X[1:3] / 2, X[1:3] * 2, quantity="dead per km")
    ET.fromstring(svg_of(picture))


def test_a_name_with_markup_stays_a_name():
    picture = interval_bars(['<b>"x"'], X[1:2], X[:1], X[2:3], quantity="turtles")
    assert "<b>" not in picture
    assert "&lt;b&gt;" in picture
