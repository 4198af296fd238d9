"""What is said beside a plan: what is proven, what was taken for granted, and cautions on every form of it."""

from dataclasses import replace

import pandas as pd
import pytest
from round_drawn import CHANCE, drawn_by_hand, stop_by_hand

from roadwatch.rounds.notes import CAUTIONS, TEAM_ONLY, plan_notes
from roadwatch.rounds.visits import SHORT_COLUMNS

NOBODY = [[-1] * 3, [-1] * 3]
KEPT = pd.DataFrame(columns=SHORT_COLUMNS)


@pytest.fixture
def notes():
    """Notes of a plan with its proof, tables or nests changed."""

    def make(*, short=KEPT, stops=None, event="emergence", delay=1, **proof):
        drawn = drawn_by_hand(NOBODY, stops=stops, **proof)
        drawn = replace(drawn, span=replace(drawn.span, event=event, delay_days=delay))
        return plan_notes(drawn, drawn.solution, short=short, per_day=4, drive_km_per_hour=40)

    return make


def short(*rows):
    return pd.DataFrame(rows, columns=SHORT_COLUMNS)


def test_a_proven_plan_says_so_and_how_far(notes):
    assert notes()[0].startswith("Proven: no plan with these people, hours and roads that leaves no more undone")
    assert "visits apart that each add less than 0.0001" in notes()[0]


def test_a_plan_that_is_not_proven_prints_its_bound_and_gap(notes):
    found = notes(is_optimal=False, bound=1.32)[0]
    assert found.startswith("Not proven best:")
    assert "meet more than 1.32" in found
    assert "10.0% above this one" in found  # 1.32 over 1.2


def test_a_plan_that_the_clock_stopped_says_that_another_machine_may_give_another(notes):
    assert "another machine may give another plan" in notes(is_optimal=False, by_clock=True)[0]
    assert "another machine" not in notes(is_optimal=False)[0]


@pytest.mark.parametrize(
    ("delay", "words"),
    [(0, "by a visit on that day on which"), (1, "that day or the day after"), (3, "that day or up to 3 days after")],
)
def test_what_counts_as_met_is_told(notes, delay, words):
    assert words in notes(delay=delay)[1]


def test_hatching_in_the_nest_is_told_to_be_out_of_sight(notes):
    assert "inside the nest it cannot be seen" in notes(event="hatching")[1]


def test_the_promise_is_told_to_be_the_most_that_can_be_and_what_its_interval_holds(notes):
    found = notes()[1]
    assert "what is expected is the most that can be" in found
    assert "together by 20% of what spreads them, as weather moves all nests" in found
    assert "In spring" not in found


def test_nests_planned_in_spring_are_named_with_what_their_days_rest_on(notes):
    stops = [stop_by_hand("n1", CHANCE[0], in_spring=True), stop_by_hand("n2", CHANCE[1])]
    assert "In spring (n1): spring window of the region, each day as likely as the next" in notes(stops=stops)[1]


def test_the_conventions_are_told_with_their_numbers(notes):
    assert "At most 4 visits a person and day; driving at 40 km/h" in notes()[2]
    assert "walking at 4 km/h" in notes()[2]
    assert "15 minutes at a nest whose visit_minutes are blank (conventions)" in notes()[2]


def test_all_kept_is_one_line(notes):
    assert any(one.startswith("All that must be done is planned") for one in notes())


def test_a_cage_that_cannot_be_kept_names_its_days_and_the_cure(notes):
    rows = short(("n1", "2025-08-01", "2025-08-02", "cage", "why"), ("n1", "2025-08-02", "2025-08-03", "cage", "why"))
    told = next(one for one in notes(short=rows) if one.startswith("Cage of n1"))
    assert "longer than a day on 2025-08-01, 2025-08-02" in told
    assert "cannot be kept with these people" in told
    assert "Open its exit and enter protected_off" in told
    unproven = next(one for one in notes(short=rows, is_optimal=False) if one.startswith("Cage of n1"))
    assert "no plan was found that does" in unproven


@pytest.mark.parametrize(
    ("duty", "words"),
    [("open", "No visit opens the cage in time of n2: why."), ("outcome", "No outcome visit is planned for n2: why.")],
)
def test_an_opening_or_outcome_without_a_visit_is_told(notes, duty, words):
    assert words in notes(short=short(("n2", "2025-08-01", "2025-08-02", duty, "why")))


def test_what_people_and_ways_said_is_passed_on(notes):
    assert {"A note on people.", "A note on ways."} <= set(notes())


def test_the_cautions_stand_with_every_plan(notes):
    assert notes()[-len(CAUTIONS) - 1 :] == (TEAM_ONLY, *CAUTIONS)


@pytest.mark.parametrize(
    "words",
    [
        "Nest work needs permits",
        "Local codes and licensed practice decide",
        "Never dig to check a nest",
        "Never rotate or turn an egg",
        "opened before the early date",
        "marked through spring",
        "Wash hands with soap",
        "high-visibility vest",
    ],
)
def test_the_cautions_hold_what_keeps_animals_and_people_safe(words):
    assert words in " ".join(CAUTIONS)
