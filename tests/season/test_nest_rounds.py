"""From a season file to a plan, and again from a later day with what was found."""

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from round_seasons import nest_row, person_row, round_county

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.season.nest_rounds import season_rounds

FIRST, LAST = date(2025, 7, 15), date(2025, 9, 30)


def plan(county, *, first=FIRST, last=LAST, per_day=3, seed=1, **options):
    return season_rounds(
        county.season, first=first, last=last, per_day=per_day, rng=np.random.default_rng(seed), **options
    )


@pytest.fixture
def found(county):
    return plan(round_county(county))


def test_visits_keep_to_the_span_to_peoples_days_and_to_so_many_a_day(found):
    visits = found.visits
    assert visits["date"].between(FIRST.isoformat(), LAST.isoformat()).all()
    weekday = pd.to_datetime(visits["date"]).dt.day_of_week
    assert set(weekday[visits["observer"] == "Ada"]) <= {0, 2, 4}
    assert set(weekday[visits["observer"] == "Bo"]) <= {1, 3, 5, 6}
    assert visits.groupby(["date", "observer"]).size().max() <= 3


def test_each_nest_is_visited_once_a_day_in_a_numbered_order(found):
    assert not found.visits.duplicated(["date", "nest_id"]).any()
    for _, rows in found.visits.groupby(["date", "observer"]):
        assert rows["order"].tolist() == list(range(1, len(rows) + 1))


def test_what_single_visits_meet_adds_up_to_the_plans_promise(found):
    assert found.visits["p_met"].sum() == pytest.approx(found.expected_met, abs=0.01)
    assert found.expected_met_low <= found.expected_met <= found.expected_met_high
    assert found.expected_met <= found.bound


def test_days_hold_no_more_than_peoples_hours(found):
    assert found.rounds["minutes"].max() <= 180
    assert found.rounds["nests"].sum() == len(found.visits)


def test_a_caged_nest_is_looked_at_so_that_nobody_waits_longer_than_a_day(found):
    window = ("2025-08-10", "2025-09-10")
    days = pd.to_datetime(found.visits.query("nest_id == 'n2'")["date"])
    days = days[days.between(*window)]
    assert days.diff().dt.days.max() <= 2  # a day without a visit lies between at most
    assert found.short.query("nest_id == 'n2'").empty


def test_a_cage_is_opened_by_somebody_who_may_in_time(found):
    opening = found.visits[found.visits["reason"].str.contains("open the cage's exit")]
    assert len(opening) == 1
    assert opening.iloc[0][["nest_id", "observer"]].tolist() == ["n2", "Ada"]
    assert opening.iloc[0]["date"] <= opening.iloc[0]["reason"].split("by ")[1][:10]


def test_a_cage_that_cannot_be_kept_says_on_which_days(county):
    nests = [nest_row("n2", protected_on="2025-06-02")]
    people = [person_row("Ada", days="Mo")]
    short = plan(round_county(county, nests=nests, people=people)).short
    cage = short[short["duty"] == "cage"]
    assert len(cage) > 10
    assert (
        cage["reason"]
        .isin(["nobody has a day then", "the one-day limit of a cage cannot be kept with these people"])
        .all()
    )
    # Monday's visit meets what came up on Sunday and Monday: only the five other days of a week are short
    assert set(pd.to_datetime(cage["date"]).dt.day_of_week) == {1, 2, 3, 4, 5}


def test_an_uncaged_nest_gets_an_outcome_visit_after_its_window(county):
    found = plan(round_county(county, nests=[nest_row("n1")]), last=date(2025, 12, 20))
    outcome = found.visits[found.visits["reason"].str.contains("outcome")]
    assert len(outcome) == 1
    assert "not failed before its spring window ends on 2026-" in outcome.iloc[0]["reason"]
    assert "do not dig" in outcome.iloc[0]["reason"]


def test_without_people_there_is_one_unnamed_observer_with_so_many_visits_a_day(county):
    found = plan(round_county(county, people=[]), per_day=2)
    assert set(found.visits["observer"]) == {"observer"}
    assert found.visits.groupby("date").size().max() <= 2
    assert any("one unnamed observer" in note for note in found.notes)


def test_every_nest_is_visited_or_listed_with_a_reason(county):
    nests = [
        nest_row("n1"),
        nest_row("pausing", taxon="chicken turtle"),
        nest_row("unnamed", taxon="turtle"),
        nest_row("refused", landowner_ok="false"),
        nest_row("eaten"),
        nest_row("up"),
    ]
    checks = [
        {"nest_id": "eaten", "checked_at": "2025-07-01", "outcome": "depredated_full"},
        {"nest_id": "up", "checked_at": "2025-07-14", "outcome": "emerged"},
    ]
    found = plan(round_county(county, nests=nests, checks=checks))
    assert set(found.visits["nest_id"]) | set(found.left_out["nest_id"]) == {row["nest_id"] for row in nests}
    assert not set(found.visits["nest_id"]) & set(found.left_out["nest_id"])
    assert found.left_out["reason"].str.len().min() > 10
    assert found.left_out["fallback"].str.len().min() > 10


def test_a_later_plan_leaves_out_what_was_found_up_and_moves_what_was_not(county):
    round_county(county)
    before = plan(county)
    checks = [
        {"nest_id": "n1", "checked_at": "2025-08-20T09:00:00", "outcome": "emerged", "hatchlings_live": 4},
        {"nest_id": "n3", "checked_at": "2025-08-20T09:30:00", "outcome": "intact"},
    ]
    assert county.ingest("checks.csv", checks, "--as", "checks").exit_code == 0
    after = plan(county, first=date(2025, 8, 21))
    assert "n1" in set(before.visits["nest_id"])
    assert "n1" not in set(after.visits["nest_id"])
    assert "emerged by 2025-08-20" in after.left_out.set_index("nest_id").loc["n1", "reason"]
    assert "nothing had come up by 2025-08-20" in after.visits.query("nest_id == 'n3'")["note"].iloc[0]


def test_checks_after_the_first_day_are_not_used(county):
    checks = [{"nest_id": "n1", "checked_at": "2025-08-20T09:00:00", "outcome": "emerged"}]
    assert "n1" in set(plan(round_county(county, checks=checks)).visits["nest_id"])


def test_nests_that_are_opened_together_are_visited_on_the_same_days_by_the_same_person(county):
    nests = [nest_row("n1", open_with="bank"), nest_row("n2", east=0.012, open_with="bank"), nest_row("n3")]
    visits = plan(round_county(county, nests=nests)).visits
    days = [
        set(map(tuple, visits[visits["nest_id"] == name][["date", "observer"]].to_numpy())) for name in ("n1", "n2")
    ]
    assert days[0]
    assert days[0] == days[1]


def test_a_group_too_large_for_a_day_is_listed_with_the_cure(county):
    nests = [nest_row(f"n{k}", east=0.01 + k / 1000, open_with="bank") for k in range(3)]
    found = plan(round_county(county, nests=nests), per_day=2)
    assert found.visits.empty
    assert found.left_out["reason"].str.contains("more than 2 visits a day allow").all()


def test_the_same_seed_gives_the_same_plan_and_the_file_order_does_not_matter(county):
    round_county(county)
    one, two = plan(county), plan(county)
    pd.testing.assert_frame_equal(one.visits, two.visits)
    assert (one.expected_met, one.expected_met_low, one.notes) == (two.expected_met, two.expected_met_low, two.notes)


def test_hatching_may_be_met_instead_of_coming_up(county):
    round_county(county)
    hatching = plan(county, event="hatching")
    assert any("inside the nest it cannot be seen" in note for note in hatching.notes)
    middle = [
        float(np.average(pd.to_datetime(one.visits["date"]).dt.day_of_year, weights=one.visits["p_met"]))
        for one in (hatching, plan(county))
    ]
    assert 10 < middle[1] - middle[0] < 20  # by hand: 1 to 30 days later, 15.5 in the middle


def test_chances_by_the_next_visit_are_chances(found):
    assert found.visits["p_emergence_by_next_visit"].between(0, 1).all()


def test_cautions_and_the_team_stand_in_the_notes(found):
    said = " ".join(found.notes)
    for words in ("permit", "Never rotate or turn an egg", "Never dig", "through spring", "Wash hands", "Team only",
                  "Local codes and licensed practice decide"):  # fmt: skip
        assert words in said


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"first": LAST, "last": FIRST}, "before its first"),
        ({"last": FIRST + timedelta(days=500)}, "longer than 400 days"),
        ({"per_day": 0}, "expected 1 or more"),
    ],
)
def test_a_span_or_number_that_cannot_be_is_refused(county, options, words):
    with pytest.raises(UsageError, match=words):
        plan(round_county(county), **options)


def test_a_season_without_nests_is_not_enough(county):
    with pytest.raises(NotEnoughDataError, match="holds no nest"):
        plan(county)
