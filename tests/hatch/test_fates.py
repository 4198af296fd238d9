from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.fates import nest_fate


@pytest.fixture
def fate(nest):
    """Fate of an invented nest, found and laid 1 June 2024, from visits written as (day, outcome)."""

    def make(*visits, as_of=date(2024, 11, 1), counts=None, **changes):
        table = pd.DataFrame(
            [{"nest_id": "N1", "checked_at": day, "outcome": outcome, **(counts or {})} for day, outcome in visits],
            columns=["nest_id", "checked_at", "outcome", *(counts or {})],
        )
        return nest_fate(nest(**changes), table, as_of=as_of, spring_to="05-31")

    return make


@pytest.mark.parametrize(
    ("outcome", "expected", "is_loss"),
    [
        ("depredated_full", "lost", True),
        ("crushed_or_mown", "lost", True),
        ("relocated_by_permit", "moved", False),
        ("emerging", "emerged", False),
        ("emerged", "emerged", False),
        ("hatched_overwintering", "hatched_waiting", False),
        ("flooded", "in_ground", False),
        ("depredated_partial", "in_ground", False),
        ("intact", "in_ground", False),
        ("lost_marker", "in_ground", False),
    ],
)
def test_each_outcome_has_its_fate(fate, outcome, expected, is_loss):
    found = fate(("2024-08-10", outcome))
    assert (found.fate, found.is_loss) == (expected, is_loss)


@pytest.mark.parametrize("outcome", ["failed_undeveloped", "failed_other"])
@pytest.mark.parametrize("as_of", [date(2024, 9, 30), date(2025, 2, 1), date(2025, 5, 31)])
def test_no_nest_is_called_failed_before_its_spring_window_ends(fate, outcome, as_of):
    found = fate(("2024-09-20", outcome), as_of=as_of)
    assert found.fate == "in_ground"
    assert not found.is_loss
    assert "not counted as failed until its spring window ends on 2025-05-31" in found.note


def test_after_the_spring_window_a_reported_failure_counts(fate):
    found = fate(("2024-09-20", "failed_undeveloped"), as_of=date(2025, 6, 1))
    assert (found.fate, found.is_loss) == ("failed", True)


def test_a_nest_without_an_end_is_in_the_ground_until_spring_and_unknown_after(fate):
    assert fate(("2024-09-20", "intact"), as_of=date(2025, 5, 31)).fate == "in_ground"
    found = fate(("2024-09-20", "intact"), as_of=date(2025, 6, 1))
    assert (found.fate, found.is_loss) == ("not_known", False)


def test_hatchlings_in_spring_outweigh_an_autumn_verdict(fate):
    found = fate(("2024-10-01", "failed_other"), ("2025-04-12", "emerged"), as_of=date(2025, 6, 30))
    assert (found.fate, found.seen_on) == ("emerged", "2025-04-12")


def test_days_at_risk_end_between_the_last_visit_alive_and_the_first_after_the_loss(fate):
    # By hand: laid and found 1 June; alive on day 20, lost by day 30: half way, day 25
    found = fate(("2024-06-21", "intact"), ("2024-07-01", "depredated_full"))
    assert (found.entered, found.left) == (0.0, 25.0)


def test_days_at_risk_of_a_nest_still_there_end_at_its_last_visit(fate):
    found = fate(("2024-06-21", "intact"), ("2024-07-01", "flooded"), found_at="2024-06-11")
    assert (found.entered, found.left) == (10.0, 30.0)


def test_a_marker_not_found_says_nothing_about_the_nest(fate):
    assert fate(("2024-06-21", "intact"), ("2024-07-01", "lost_marker")).left == 20.0


def test_a_nest_never_visited_adds_no_days(fate):
    found = fate()
    assert found.entered == found.left == 0.0


def test_a_nest_found_lost_adds_no_days(fate):
    found = fate(("2024-06-01", "depredated_full"))
    assert found.entered == found.left


def test_later_visits_are_not_used(fate):
    assert fate(("2024-08-10", "emerged"), as_of=date(2024, 8, 9)).fate == "in_ground"


def test_a_cage_left_on_lasts(fate):
    found = fate(("2024-08-10", "intact"), protected_on="2024-06-05", protected_off=None)
    assert (found.caged_from, found.caged_until) == (4.0, np.inf)
    bare = fate(("2024-08-10", "intact"))
    assert np.isnan(bare.caged_from)


def test_counts_are_the_greatest_of_one_visit_and_never_added(fate):
    found = fate(("2024-08-10", "emerging"), ("2024-08-11", "emerged"), counts={"hatchlings_live": 6})
    assert found.hatchlings_live == 6
    assert np.isnan(found.hatchlings_dead)


def test_a_span_of_laying_counts_from_its_middle(fate):
    found = fate(("2024-07-01", "intact"), laid_on=None, laid_from="2024-05-20", laid_to="2024-05-30")
    assert found.left == (date(2024, 7, 1) - date(2024, 5, 25)).days


def test_dates_that_contradict_give_no_days_and_say_so(fate):
    found = fate(("2024-07-01", "depredated_full"), laid_on=None, laid_from="2024-06-30", laid_to="2024-05-30")
    assert np.isnan(found.left)
    assert "correct the dates" in found.note
