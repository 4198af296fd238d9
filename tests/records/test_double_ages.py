"""Carcasses fade, and classes of age fit one death or do not."""

import numpy as np
import pytest

from roadwatch.records.double_ages import age_log_odds, class_given_age, lag_density, share_left
from roadwatch.records.double_values import carcass_ages

FRESH, RECENT, OLD, DRY, REMAINS, BLANK = 0, 1, 2, 3, 4, -1
EVEN = np.full(5, 0.2)


def odds(earlier, later, days, share=EVEN):
    return float(np.exp(age_log_odds(np.array([earlier]), np.array([later]), np.array([days]), share))[0])


def test_half_of_the_carcasses_are_gone_in_days_and_few_stay_a_month():
    # Santos et al. 2011 (abstract): most carcasses lasted one day; shells last longer (from memory)
    left = share_left([0, 1.5, 8, 30])
    assert left[0] == 1
    assert left[1] == pytest.approx(0.5 * np.exp(-1) + 0.5 * np.exp(-1.5 / 8))  # by hand
    assert left[3] < 0.02
    assert (np.diff(left) < 0).all()


def test_the_lag_between_two_records_is_a_probability():
    lags = np.arange(-60, 61)
    density = lag_density(lags)
    assert density.sum() == pytest.approx(1)
    assert density[np.abs(lags) > 30].sum() == 0
    assert np.array_equal(density, density[::-1])


def test_classes_are_probabilities_at_every_age():
    by_age = class_given_age()
    assert by_age.sum(axis=1) == pytest.approx(np.ones(len(by_age)))


@pytest.mark.parametrize(
    ("days", "name"), [(0.25, "fresh"), (1.5, "recent"), (4.5, "old"), (12.0, "dry"), (45.0, "remains")]
)
def test_each_class_is_likeliest_within_its_own_interval(days, name):
    # common practice, no source: the intervals of the table, 0-1, 0.5-3, 2-7, 5-30 and more than 20 days
    by_age = class_given_age()
    assert list(carcass_ages())[int(by_age[round(days * 4)].argmax())] == name


@pytest.mark.parametrize(
    ("earlier", "later", "days"),
    [(FRESH, RECENT, 2), (FRESH, OLD, 5), (RECENT, OLD, 4), (OLD, DRY, 8), (DRY, DRY, 6), (FRESH, FRESH, 0)],
)
def test_ages_that_grow_with_the_days_speak_for_one_carcass(earlier, later, days):
    assert odds(earlier, later, days) > 1.5


@pytest.mark.parametrize(
    ("earlier", "later", "days"),
    [(DRY, FRESH, 1), (OLD, FRESH, 3), (FRESH, FRESH, 6), (FRESH, REMAINS, 2), (BLANK, FRESH, 8), (REMAINS, RECENT, 0)],
)
def test_a_carcass_that_grows_younger_speaks_against(earlier, later, days):
    assert odds(earlier, later, days) < 0.3


@pytest.mark.parametrize("earlier", [FRESH, DRY, BLANK])
def test_a_blank_class_says_nothing(earlier):
    assert odds(earlier, BLANK, 3) == 1


def test_the_later_class_is_weighed_by_how_common_it_is():
    mostly_old = np.array([0.02, 0.02, 0.92, 0.02, 0.02])
    assert odds(FRESH, OLD, 5, mostly_old) < odds(FRESH, OLD, 5, np.array([0.4, 0.4, 0.05, 0.1, 0.05]))
