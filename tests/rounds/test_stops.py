"""What each nest asks of a plan, or why it is left out."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.chances import HatchDraws
from roadwatch.hatch.visits import Visited
from roadwatch.rounds.stops import (
    LeftOut,
    Span,
    Stop,
    last_seen_shut,
    opening_days,
    outcome_words,
    stop_of,
    trapped_days,
)

FIRST, LAST = date(2025, 7, 15), date(2025, 9, 12)
SPAN = Span(FIRST, LAST, 1, "emergence")


@pytest.fixture
def read():
    """Read a nest that may hatch around 10 August, with anything changed."""

    def make(*, nest=None, window=None, draws=True, span=SPAN, **seen):
        row = {"nest_id": "n1", "landowner_ok": True, "protected_on": None, "protected_off": None} | (nest or {})
        days = {
            "hatch_early": "2025-08-01",
            "hatch_late": "2025-08-20",
            "autumn_early": "2025-08-02",
            "autumn_late": "2025-09-05",
            "spring_late": "2026-05-31",
            "note": "",
        }
        middle = np.linspace(212, 231, 50)
        drawn = HatchDraws(date(2025, 1, 1), middle, np.full(50, 0.02)) if draws else None
        return stop_of(row, days | (window or {}), drawn, span=span, **seen)

    return make


CAGED = {"protected_on": "2025-06-01"}


def test_a_nest_with_a_window_is_a_stop_whose_chances_add_to_one(read):
    stop = read()
    assert isinstance(stop, Stop)
    assert stop.chances.by_day.sum() == pytest.approx(1 - stop.chances.after - stop.chances.before, abs=1e-9)
    assert stop.window == (date(2025, 8, 1), date(2025, 9, 5))
    assert not stop.is_caged


def test_a_nest_without_the_landowners_consent_is_left_out(read):
    left = read(nest={"landowner_ok": False})
    assert isinstance(left, LeftOut)
    assert "landowner has not agreed" in left.reason
    assert "ask the landowner" in left.fallback


def test_a_blank_consent_is_planned_and_told(read):
    assert "ask first" in "; ".join(read(nest={"landowner_ok": None}).remarks)


def test_a_nest_without_a_window_is_left_out_with_the_rooms_own_reason(read):
    left = read(draws=False, window={"note": "no projection: eggs of this taxon pause"})
    assert left.reason == "no projection: eggs of this taxon pause"
    assert "do not call it failed until its spring window ends on 2026-05-31" in left.fallback


@pytest.mark.parametrize("outcome", ["depredated_full", "emerged", "crushed_or_mown", "relocated_by_permit"])
def test_a_nest_that_is_over_needs_nobody(read, outcome):
    left = read(draws=False, window={"note": "no window: over"}, visited=Visited(outcome, "2025-07-01"))
    assert left.fallback.startswith("nothing more to look for")


@pytest.mark.parametrize("outcome", ["failed_undeveloped", "failed_other", "hatched_overwintering", "emerging"])
def test_a_nest_reported_failed_or_waiting_is_not_given_up_before_spring_ends(read, outcome):
    left = read(draws=False, window={"note": "no window: seen"}, visited=Visited(outcome, "2025-07-01"))
    assert "do not call it failed until its spring window ends" in left.fallback


def test_a_caged_nest_without_a_window_is_told_to_be_opened(read):
    left = read(nest=CAGED, draws=False)
    assert left.is_caged
    assert "open the cage's exit" in left.fallback


@pytest.mark.parametrize(
    ("protected_off", "caged"), [(None, True), ("2025-07-14", False), ("2025-07-15", False), ("2025-08-20", True)]
)
def test_a_cage_stands_until_it_is_taken_off(read, protected_off, caged):
    assert read(nest=CAGED | {"protected_off": protected_off}).is_caged is caged


def test_a_cage_placed_later_does_not_stand_yet(read):
    assert not read(nest={"protected_on": "2025-08-01"}).is_caged


def test_a_cage_is_opened_in_the_week_before_the_early_date(read):
    stop = read(nest=CAGED)
    assert stop.open_by == date(2025, 8, 1)
    assert opening_days(stop, SPAN) == (11, 17)  # by hand: 26 July to 1 August, from 15 July


def test_a_planned_removal_is_the_deadline(read):
    stop = read(nest=CAGED | {"protected_off": "2025-07-18"})
    assert stop.open_by == date(2025, 7, 18)
    assert opening_days(stop, SPAN) == (0, 3)


def test_a_deadline_gone_by_leaves_the_plans_first_week(read):
    stop = read(nest=CAGED, window={"hatch_early": "2025-07-01"})
    assert opening_days(stop, SPAN) == (0, 6)


def test_a_deadline_after_the_plan_asks_nothing_yet(read):
    early = Span(FIRST, date(2025, 7, 20), 1, "emergence")
    stop = read(nest=CAGED)
    assert opening_days(stop, early) is None


def test_a_cage_traps_through_its_whole_window(read):
    days = trapped_days(read(nest=CAGED), SPAN)
    # by hand: 1 August is day 17, 5 September day 52
    assert (days[0], days[-1], len(days)) == (17, 52, 36)


def test_no_cage_traps_nobody(read):
    assert not len(trapped_days(read(), SPAN))


def test_a_cage_taken_off_in_the_window_traps_until_the_day_before(read):
    days = trapped_days(read(nest=CAGED | {"protected_off": "2025-08-11"}), SPAN)
    assert (days[0], days[-1]) == (17, 26)  # 1 to 10 August


def test_an_outcome_is_due_from_the_day_after_the_window(read):
    assert read().outcome_from == date(2025, 9, 6)


def test_an_outcome_after_the_plan_is_not_asked(read):
    assert read(window={"autumn_late": "2025-09-20"}).outcome_from is None


def test_an_outcome_visit_in_spring_comes_after_the_spring_window(read):
    spring = Span(date(2026, 5, 1), date(2026, 6, 15), 1, "emergence")
    stop = read(span=spring)
    assert stop.outcome_from == date(2026, 6, 1)
    assert "not failed before its spring window ends on 2026-05-31" in outcome_words(stop)
    assert "do not dig" in outcome_words(stop)


def test_a_window_that_begins_after_the_plan_is_left_out_and_says_when(read):
    left = read(span=Span(date(2025, 6, 1), date(2025, 6, 20), 1, "emergence"))
    assert left.reason == "its window begins after this plan, on 2025-08-01"


def test_a_window_that_is_over_is_left_out_until_spring_ends(read):
    left = read(span=Span(date(2025, 11, 1), date(2025, 11, 20), 1, "emergence"))
    assert "lies before this plan" in left.reason
    assert "2026-05-31" in left.fallback


def test_a_spring_window_that_is_over_says_so(read):
    left = read(span=Span(date(2026, 7, 1), date(2026, 7, 20), 1, "emergence"))
    assert "its spring window ended on 2026-05-31" in left.fallback


def test_a_nest_that_leaves_only_in_spring_waits(read):
    assert "wait for spring" in read(window={"autumn_early": None}).reason


def test_a_late_end_beyond_the_year_is_its_last_day(read):
    assert read(window={"autumn_late": None}).window[1] == date(2025, 12, 31)


def test_a_visit_that_saw_nothing_moves_chances_and_is_told(read):
    before, after = read(), read(shut_on=date(2025, 8, 15))
    assert after.chances.by_day[: (date(2025, 8, 15) - FIRST).days + 2].sum() == 0
    assert before.chances.by_day.sum() > 0
    assert "nothing had come up by 2025-08-15" in after.remarks


def test_the_last_look_counts_only_where_nothing_came_up_and_by_the_day():
    checks = pd.DataFrame(
        [
            ("a", "2025-07-01T08:00:00-04:00", "intact"),
            ("a", "2025-07-10T08:00:00-04:00", "intact"),
            ("a", "2025-07-20T08:00:00-04:00", "intact"),
            ("b", "2025-07-05", "lost_marker"),
            ("c", "2025-07-06", "depredated_partial"),
        ],
        columns=["nest_id", "checked_at", "outcome"],
    )
    assert last_seen_shut(checks, as_of=FIRST) == {"a": date(2025, 7, 10), "c": date(2025, 7, 6)}
    assert last_seen_shut(checks.iloc[:0], as_of=FIRST) == {}
