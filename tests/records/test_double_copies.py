"""A record exported again is told from two animals that one person met on one visit."""

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import quad

from roadwatch.records.double_copies import copy_density, copy_log_odds
from roadwatch.records.double_evidence import NEVER
from roadwatch.records.sightings import Sightings

FIRST = {
    "observed_at": "2025-05-12T08:14:00-04:00",
    "condition": "dead",
    "taxon": "Trachemys scripta",
    "observer": "Ann",
    "carapace_mm": 203.0,
    "notes": "by the culvert",
}


def odds(change, *, apart_m=0.4, first=FIRST):
    """Logarithm of the odds of copy for the first two records of a season with others in it."""
    others = [first | {"notes": f"other {k}", "taxon": "Emydidae", "carapace_mm": 100.0 + k} for k in range(20)]
    table = pd.DataFrame([first, first | change, *others])
    seen = Sightings.of(table, np.r_[0.0, apart_m, np.full(20, 9e3)], np.zeros(22))
    return float(copy_log_odds(seen, np.array([0]), np.array([1]), np.array([1e-5]))[0])


def test_the_density_of_a_rounded_place_adds_to_one_along_the_road():
    total, _ = quad(lambda d: float(copy_density(np.array([d]))[0]), -60, 60, points=[0])
    assert total == pytest.approx(1, abs=1e-6)


def test_a_whole_copy_is_as_good_as_certain():
    assert odds({}) > np.log(1e6)


@pytest.mark.parametrize(
    "change",
    [
        {"taxon": "Chelydra serpentina"},
        {"carapace_mm": 204.0},
        {"notes": "in the ditch"},
        {"observer": "Bea"},
        {"observed_at": "2025-05-12"},
        {"notes": None},
        {"sex": "female"},
    ],
    ids=lambda change: "; ".join(f"{name} {word}" for name, word in change.items()),
)
def test_every_changed_or_dropped_word_makes_a_copy_less_likely(change):
    assert odds(change) < odds({})


@pytest.mark.parametrize(
    "change",
    [{"observed_at": "2025-05-12T08:16:00-04:00"}, {"observed_at": "2025-05-13"}, {"condition": "alive"}],
    ids=["two minutes later", "the next day", "alive"],
)
def test_another_time_or_state_is_no_copy(change):
    assert odds(change) == NEVER


def test_a_number_changes_hardly_ever_and_a_word_rarely():
    assert odds({"carapace_mm": 204.0}) < odds({"notes": "in the ditch"}) - 3


def test_a_length_written_with_a_decimal_is_the_same_length():
    assert odds({"carapace_mm": 203.04}) == odds({})


def test_a_count_left_blank_is_one():
    assert odds({"count": None}, first=FIRST | {"count": 1.0}) == odds({}, first=FIRST | {"count": 1.0})


def test_ten_metres_apart_is_no_rounding():
    assert odds({}, apart_m=0.4) > odds({}, apart_m=4.0) > odds({}, apart_m=15.0)


def test_two_alike_animals_of_one_visit_without_hours_are_not_certain():
    day = FIRST | {"observed_at": "2025-05-12", "notes": None, "carapace_mm": np.nan}
    assert odds({}, apart_m=1.5, first=day) + np.log(0.01) < np.log(0.95 / 0.05)
