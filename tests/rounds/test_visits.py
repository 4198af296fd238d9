"""The tables of a plan made by hand; every number worked out beside it."""

from datetime import date

import pytest
from round_drawn import CHANCE, drawn_by_hand, stop_by_hand

from roadwatch.rounds.problem import Need
from roadwatch.rounds.visits import ROUND_COLUMNS, SHORT_COLUMNS, VISIT_COLUMNS, round_table, short_table, visit_table

BOTH_THEN_FIRST = [[0, -1, 0], [0, -1, -1]]
"""Ada goes to both on the first day, and to n1 again on the third."""
NOBODY = [[-1] * 3, [-1] * 3]


@pytest.fixture
def visits():
    return visit_table(drawn_by_hand(BOTH_THEN_FIRST))


def test_there_is_a_row_a_visit_by_date_and_order(visits):
    assert list(visits.columns) == VISIT_COLUMNS
    assert visits["date"].tolist() == ["2025-08-01", "2025-08-01", "2025-08-03"]
    assert visits["nest_id"].tolist() == ["n1", "n2", "n1"]
    assert visits["order"].tolist() == [1, 2, 1]
    assert set(visits["observer"]) == {"Ada"}


def test_each_visit_has_the_chance_of_being_the_first_to_meet_them(visits):
    # n1: 31 July and 1 August, 0.1 + 0.2; then 2 and 3 August, 0.3 + 0.1. n2: 0.0 + 0.5.
    assert visits["p_met"].tolist() == [0.3, 0.5, 0.4]


def test_each_visit_has_the_chance_of_a_coming_up_before_the_next(visits):
    # n1 on 1 August: of what has not come up by then, 0.4 in the plan + 0.2 after + 0.1 never, 0.4 comes up by the
    # 3rd; n2: nothing more in the plan; n1 on the 3rd: the plan is over.
    assert visits["p_emergence_by_next_visit"].tolist() == [round(0.4 / 0.7, 4), 0.0, 0.0]


def test_ways_are_told_leg_by_leg(visits):
    assert visits["drive_minutes"].tolist() == [10.0, 5.0, 10.0]
    assert visits["km"].tolist() == [5.0, 2.0, 5.0]
    assert visits["minutes"].tolist() == [15.0, 15.0, 15.0]


def test_a_round_has_its_minutes_and_kilometres_there_and_back():
    table = round_table(drawn_by_hand(BOTH_THEN_FIRST))
    assert list(table.columns) == ROUND_COLUMNS
    # first day: 10 + 5 + 20 minutes of road and 30 at nests, 5 + 2 + 12 km; third: 20 and 15, 10 km
    assert table["minutes"].tolist() == [65, 35]
    assert table["km"].tolist() == [19.0, 10.0]
    assert table["nests"].tolist() == [2, 1]


def test_the_reason_names_chance_and_window(visits):
    assert visits["reason"].iloc[0] == "30.0% chance of hatchlings, window 2025-07-30 to 2025-08-20"


def test_a_visit_without_a_chance_or_a_duty_is_for_company():
    idle = visit_table(drawn_by_hand([[-1] * 3, [-1, -1, 0]]))
    assert idle["reason"].tolist() == ["visited with the nests that are opened with it"]


def test_an_empty_plan_has_empty_tables_with_their_columns():
    drawn = drawn_by_hand(NOBODY)
    assert list(visit_table(drawn).columns) == VISIT_COLUMNS
    assert list(round_table(drawn).columns) == ROUND_COLUMNS
    assert list(short_table(drawn).columns) == SHORT_COLUMNS
    assert all(table.empty for table in (visit_table(drawn), round_table(drawn), short_table(drawn)))


def caged(**changes):
    stop = stop_by_hand("n1", CHANCE[0], is_caged=True, open_by=date(2025, 8, 2), caged_until=date(2025, 8, 3))
    for name, value in changes.items():
        setattr(stop, name, value)
    return [stop, stop_by_hand("n2", CHANCE[1])]


OPEN = Need(0, 0, 1, 1.0, "open", by_opener=True)


def test_an_opening_is_asked_of_the_first_visit_by_somebody_who_may():
    table = visit_table(drawn_by_hand([[0, 0, 0], [-1] * 3], needs=(OPEN,), stops=caged()))
    asked = table["reason"].str.startswith("open the cage's exit by 2025-08-02, mark it and leave it through spring")
    assert asked.tolist() == [True, False, False]


def test_an_opening_that_was_due_before_the_plan_is_asked_at_once():
    stops = caged(open_by=date(2025, 7, 20))
    table = visit_table(drawn_by_hand([[0, -1, -1], [-1] * 3], needs=(OPEN,), stops=stops))
    assert table["reason"].iloc[0].startswith("open the cage's exit now, it was due by 2025-07-20")


def test_an_opening_is_not_asked_of_somebody_who_may_not():
    table = visit_table(drawn_by_hand([[0, -1, -1], [-1] * 3], needs=(OPEN,), stops=caged(), may_open=(False,)))
    assert "open the cage" not in table["reason"].iloc[0]


def test_a_cage_says_that_nobody_waits_longer_than_a_day_and_when_it_stands():
    need = Need(0, 0, 1, 0.3, "cage")
    stops = caged(caged_until=date(2025, 8, 1))
    table = visit_table(drawn_by_hand([[0, -1, 0], [-1] * 3], needs=(need,), stops=stops))
    assert "hatchlings wait no longer than one day" in table["reason"].iloc[0]
    assert table["caged"].tolist() == [True, False]


def test_an_outcome_is_looked_for_once_and_nothing_is_dug():
    need = Need(1, 1, 2, 0.01, "outcome")
    table = visit_table(drawn_by_hand([[-1] * 3, [-1, 0, 0]], needs=(need,)))
    assert table["reason"].str.contains("look for an exit hole and tracks, do not dig").tolist() == [True, False]
    assert "not failed before its spring window ends on 2026-05-31" in table["reason"].iloc[0]


@pytest.mark.parametrize(
    ("duty", "proof", "people", "reason"),
    [
        ("cage", {}, {}, "the one-day limit of a cage cannot be kept with these people"),
        ("cage", {"is_optimal": False}, {}, "no plan was found that does"),
        ("outcome", {}, {}, "nobody has time left for the outcome visit"),
        ("open", {}, {}, "those who may open nests have no time left then"),
        ("open", {}, {"may_open": (False,)}, "nobody on file may open nests: ask a permit holder"),
        ("cage", {}, {"available": [[False] * 3]}, "nobody has a day then"),
        (
            "open",
            {},
            {"may_open": (True, False), "available": [[False] * 3, [True] * 3]},
            "nobody who may open nests has a day then",
        ),
    ],
)
def test_what_cannot_be_kept_says_why(duty, proof, people, reason):
    need = Need(1, 1, 5, 0.5, duty, by_opener=duty == "open")
    row = short_table(drawn_by_hand(NOBODY, needs=(need,), **proof, **people)).iloc[0]
    assert (row["nest_id"], row["date"], row["until"], row["duty"]) == ("n2", "2025-08-02", "2025-08-03", duty)
    assert reason in row["reason"]
