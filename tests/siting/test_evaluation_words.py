"""What may be said of a measure."""

import numpy as np
import pytest

from roadwatch.siting.evaluation_words import NOTES, verdict_of


@pytest.fixture
def verdict():
    """verdict(low, high): the words for a corrected interval, with anything else changed."""

    def make(low, high, **changes) -> str:
        row = {
            "ratio_low": low,
            "ratio_high": high,
            "corrected_low": low,
            "corrected_high": high,
            "with_ends_low": low,
            "with_ends_high": high,
            "ends_low": np.nan,
            "smallest_fall_seen": 0.6,
        }
        return verdict_of(row | changes)

    return make


def test_a_fall_is_told_as_its_interval(verdict):
    assert verdict(0.1, 0.7) == "fewer deaths than expected without it: between 30 % and 90 % fewer"


def test_a_wide_interval_is_never_a_success(verdict):
    told = verdict(0.1, 1.4)
    assert told.startswith("not shown: these records fit anything from 90 % fewer deaths to 1.4 times as many")
    assert told.endswith("with this much search you could have seen a fall of 60 %")


def test_where_nothing_could_be_seen_that_is_said(verdict):
    assert "not even the end of all deaths" in verdict(0.1, 9.0, smallest_fall_seen=np.nan)


def test_a_rise_is_told(verdict):
    assert verdict(1.5, 4.0) == "more deaths than expected without it: 1.5 to 4.0 times as many"


def test_a_rise_that_only_the_correction_shows_is_not_told(verdict):
    told = verdict(1.1, 4.0, ratio_low=0.8, ratio_high=3.0)
    assert told.startswith("not shown: these records fit anything from 20 % fewer deaths to 3.0 times as many")


def test_a_fall_that_only_the_correction_shows_is_not_told(verdict):
    told = verdict(0.1, 0.7, ratio_low=0.05, ratio_high=1.1)
    assert told.startswith("not shown: these records fit anything from 95 % fewer deaths to 1.1 times as many")


def test_a_fall_that_only_the_counts_show_is_not_told(verdict):
    assert verdict(0.3, 1.3, ratio_low=0.2, ratio_high=0.9).startswith(
        "not shown: these records fit anything from 70 %"
    )


def test_an_open_end_is_put_into_words(verdict):
    assert "to any number of times as many" in verdict(1.2, 9.0, ratio_low=0.9, ratio_high=np.inf)


def test_a_fall_inside_that_goes_with_the_ends_counted_in_is_told_so(verdict):
    assert "with the road at its ends counted in a fall is not shown" in verdict(0.2, 0.8, with_ends_high=1.1)


def test_more_deaths_at_the_ends_are_told(verdict):
    assert "they may have moved there" in verdict(0.2, 0.8, ends_low=1.3)


@pytest.mark.parametrize("interval", [(0.0, 0.01), (0.5, 0.99), (0.2, 3.0), (1.2, 2.0)])
def test_it_works_is_never_said(verdict, interval):
    assert "works" not in verdict(*interval)


def test_the_notes_name_regression_to_the_mean_chance_finds_and_cautions():
    text = " ".join(NOTES)
    for phrase in ("Regression to the mean", "chance finds are not used", "unknown", "licensed engineers", "passages"):
        assert phrase in text


def test_a_limit_just_above_1_does_not_read_as_no_change(verdict):
    assert "to 1.04 times as many" in verdict(0.1, 1.04)
