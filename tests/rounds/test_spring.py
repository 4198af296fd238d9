"""Hatchlings that wait for spring: even chances, and no nest called failed before its spring window ends."""

from datetime import date

import numpy as np
import pytest

from roadwatch.hatch.chances import HatchDraws
from roadwatch.hatch.visits import Visited
from roadwatch.rounds.notes import CAGES
from roadwatch.rounds.spring import EVENLY, hatched_share, spring_chances, spring_days
from roadwatch.rounds.stops import LeftOut, Span, Stop, outcome_words, stop_of, trapped_days

SPRING = (date(2026, 3, 1), date(2026, 3, 10))  # ten days
IN_SPRING = Span(date(2026, 2, 20), date(2026, 3, 31), 1, "emergence")
WAITING = Visited("hatched_overwintering", "2025-10-02")


@pytest.fixture
def read():
    """Read a nest of last year whose autumn is over, with anything changed."""

    def make(*, nest=None, window=None, draws=True, span=IN_SPRING, **seen):
        row = {"nest_id": "n1", "landowner_ok": True, "protected_on": None, "protected_off": None} | (nest or {})
        days = {
            "hatch_early": "2025-08-01",
            "autumn_early": "2025-08-02",
            "autumn_late": "2025-09-05",
            "spring_early": "2026-03-01",
            "spring_late": "2026-03-10",
            "note": "hatched by 2025-10-02",
        }
        drawn = HatchDraws(date(2025, 1, 1), np.array([220.0, np.inf]), np.array([0.8, 0.2])) if draws else None
        return stop_of(row, days | (window or {}), drawn, span=span, **seen)

    return make


def test_ten_days_share_the_chance_alike_and_all_adds_to_one():
    found = spring_chances(SPRING, share=0.8, first_day=date(2026, 3, 4), n_days=3)
    np.testing.assert_allclose(found.by_day, [0.08, 0.08, 0.08])  # a tenth of 0.8 a day
    assert found.before == pytest.approx(0.24)  # 1 to 3 March
    assert found.after == pytest.approx(0.32)  # 7 to 10 March
    assert found.never == pytest.approx(0.2)


def test_a_nest_seen_shut_in_spring_leaves_the_days_after():
    found = spring_chances(SPRING, share=1.0, first_day=date(2026, 3, 1), n_days=10, shut_on=date(2026, 3, 8))
    np.testing.assert_allclose(found.by_day, [0] * 8 + [0.5, 0.5])


def test_a_nest_seen_shut_in_autumn_tells_nothing_of_spring():
    found = spring_chances(SPRING, share=1.0, first_day=date(2026, 3, 1), n_days=10, shut_on=date(2025, 9, 8))
    np.testing.assert_allclose(found.by_day, 0.1)


def test_a_nest_seen_shut_at_the_end_of_spring_leaves_nothing():
    found = spring_chances(SPRING, share=1.0, first_day=date(2026, 3, 1), n_days=10, shut_on=date(2026, 3, 10))
    assert (found.by_day.sum(), found.never) == (0.0, 1.0)


def test_before_the_window_all_is_still_to_come():
    found = spring_chances(SPRING, share=1.0, first_day=date(2026, 1, 1), n_days=5)
    assert (found.before, found.by_day.sum(), found.after) == (0.0, 0.0, 1.0)


@pytest.mark.parametrize(("missing", "expected"), [(None, SPRING), ("spring_early", None), ("spring_late", None)])
def test_a_spring_window_needs_both_its_ends(missing, expected):
    window = {"spring_early": "2026-03-01", "spring_late": "2026-03-10"} | ({missing: None} if missing else {})
    assert spring_days(window) == expected


def test_a_nest_that_may_not_hatch_this_year_has_so_much_less_to_wait():
    assert hatched_share(HatchDraws(date(2025, 1, 1), np.array([200.0, np.inf]), np.array([0.7, 0.3]))) == 0.7
    assert hatched_share(None) == 1.0


def test_a_nest_whose_autumn_is_over_is_visited_in_its_spring_window_and_says_what_that_rests_on(read):
    stop = read()
    assert isinstance(stop, Stop)
    assert stop.window == SPRING
    assert stop.chances.by_day.sum() == pytest.approx(0.8)
    assert EVENLY in stop.remarks


def test_a_nest_that_leaves_only_in_spring_is_visited_then(read):
    stop = read(window={"autumn_early": None})
    assert (stop.window, stop.in_spring) == (SPRING, True)


def test_hatchlings_seen_waiting_are_certain_to_be_there(read):
    stop = read(draws=False, visited=WAITING)
    assert stop.chances.by_day.sum() == pytest.approx(1.0)


def test_hatchlings_seen_waiting_have_no_visit_before_spring(read):
    left = read(draws=False, visited=WAITING, span=Span(date(2025, 10, 5), date(2025, 11, 5), 1, "emergence"))
    assert isinstance(left, LeftOut)
    assert left.reason == "hatched by 2025-10-02"
    assert "do not call it failed until its spring window ends on 2026-03-10" in left.fallback


def test_a_caged_nest_is_looked_at_within_a_day_all_through_its_spring_window(read):
    stop = read(nest={"protected_on": "2025-06-01"})
    first = IN_SPRING.place(SPRING[0])
    assert trapped_days(stop, IN_SPRING).tolist() == list(range(first, first + 10))
    assert stop.open_by == SPRING[0]


def test_no_outcome_is_asked_before_the_spring_window_ends(read):
    stop = read()
    assert stop.outcome_from == date(2026, 3, 11)
    assert "not failed before its spring window ends on 2026-03-10" in outcome_words(stop)
    assert "No nest is called failed before its spring window ends" in " ".join(CAGES.split())


@pytest.mark.parametrize("outcome", ["failed_undeveloped", "failed_other"])
def test_a_nest_reported_failed_in_its_spring_window_is_still_not_called_so(read, outcome):
    left = read(draws=False, visited=Visited(outcome, "2026-03-02"))
    assert "do not call it failed until its spring window ends on 2026-03-10" in left.fallback


def test_a_plan_in_autumn_keeps_to_the_autumn_window(read):
    stop = read(span=Span(date(2025, 8, 1), date(2026, 3, 31), 1, "emergence"))
    assert not stop.in_spring
    assert stop.window == (date(2025, 8, 1), date(2025, 9, 5))


def test_hatching_inside_the_nest_is_not_waited_for_in_spring(read):
    stop = read(span=Span(date(2026, 2, 20), date(2026, 3, 31), 1, "hatching"))
    assert isinstance(stop, Stop)
    assert not stop.in_spring
