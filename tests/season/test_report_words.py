"""Numbers in sentences, against hand-made ones and against tables of the literature."""

import numpy as np
import pytest
from scipy import stats

from roadwatch.season.report_words import (
    counted,
    day_words,
    figure,
    listed,
    poisson_interval,
    rate_ratio,
    span,
    week_starts,
)


@pytest.mark.parametrize(
    ("n", "told"), [(0, "0 nests"), (1, "1 nest"), (2, "2 nests"), (1234, "1,234 nests"), (1.5, "1.5 nests")]
)
def test_a_number_agrees_with_its_noun(n, told):
    assert counted(n, "nest") == told


def test_a_noun_with_its_own_plural_gets_it():
    assert [counted(n, "loss", "losses") for n in (0, 1, 2)] == ["0 losses", "1 loss", "2 losses"]


@pytest.mark.parametrize(
    ("value", "told"), [(0.0, "0"), (0.0312, "0.031"), (3.449, "3.4"), (31.4, "31"), (12345.0, "12,345")]
)
def test_numbers_have_no_needless_digits(value, told):
    assert figure(value) == told


def test_an_interval_says_how_sure_it_is():
    assert span(0.25, 1.5) == "(0.25 to 1.5, 95 %)"
    assert span(1, 2, level="90 %") == "(1 to 2, 90 %)"


def test_parts_are_joined_as_people_do():
    assert listed(["a", "b"]) == "a and b"


@pytest.mark.parametrize("events", [0, 1, 3, 10, 57])
def test_the_interval_of_a_count_is_the_exact_one(events):
    # Chi-squared form of Garwood 1936, through scipy.stats.
    low = stats.chi2.ppf(0.025, 2 * events) / 2 if events else 0.0
    assert poisson_interval(events) == pytest.approx((low, stats.chi2.ppf(0.975, 2 * events + 2) / 2), rel=1e-9)


def test_the_ratio_of_rates_is_that_of_the_exact_binomial_test():
    # Given their sum, the first count is binomial; its exact interval is that of scipy.stats.binomtest.
    ratio, low, high = rate_ratio((12.0, 30.0), (100.0, 400.0))
    share = stats.binomtest(12, 42).proportion_ci(0.95, method="exact")
    assert ratio == pytest.approx(12 / 100 / (30 / 400))
    assert [low, high] == pytest.approx([p / (1 - p) * 4 for p in (share.low, share.high)], rel=1e-9)


def test_a_ratio_to_nothing_has_no_upper_end():
    ratio, low, high = rate_ratio((4.0, 0.0), (10.0, 10.0))
    assert np.isinf(ratio)
    assert np.isinf(high)
    assert low > 0


def test_a_ratio_of_nothing_starts_at_nothing():
    ratio, low, high = rate_ratio((0.0, 5.0), (10.0, 10.0))
    assert (ratio, low) == (0.0, 0.0)
    assert 0 < high < 2


def test_days_are_said_in_words():
    assert [day_words(day) for day in ("02-29", "12-01")] == ["29 February", "1 December"]


def test_weeks_start_on_the_first_of_january():
    starts = week_starts()
    assert starts[0] == (1, "01-01")
    assert starts[1] == (8, "01-08")
    assert len(starts) == 53
