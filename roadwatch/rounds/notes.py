"""What a reader of a plan must know beside the visits: what is proven, what was taken for granted, and cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.rounds.spring import EVENLY
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.rounds.solve import Solution
    from roadwatch.rounds.visits import Drawn

PERMITS = (
    "Nest work needs permits and the landowner's consent: ask your state wildlife agency first. Local codes and "
    "licensed practice decide, not this plan."
)
EGGS = "Never dig to check a nest. Never rotate or turn an egg."
CAGES = (
    "Cages have exits that are opened before the early date; nest and cage stay marked through spring. No nest is "
    "called failed before its spring window ends."
)
TRAPPED = (
    "Hatchlings under a cage: somebody with the permit opens it at once and lets them go where they were heading; do "
    "not keep or move them."
)
HYGIENE = "Wash hands with soap after every nest, do not eat or drink before; clean tools and boots between sites."
TRAFFIC = "Traffic first: park off the carriageway, high-visibility vest, hazard lights, face the traffic."
CAUTIONS = (TRAFFIC, PERMITS, EGGS, CAGES, TRAPPED, HYGIENE)
"""Shown with every plan, on every form of it."""

TEAM_ONLY = "Team only: a plan tells where nests are and who is where on which day. Do not pass it on."


def plan_notes(
    drawn: Drawn, solution: Solution, *, short: pd.DataFrame, per_day: int, drive_km_per_hour: float
) -> tuple[str, ...]:
    """
    Say what a plan rests on.

    Parameters
    ----------
    drawn, solution
        The plan and how it was found.
    short
        What it cannot keep.
    per_day, drive_km_per_hour
        As asked for.
    """
    pace = (
        f"At most {per_day} visits a person and day; driving at {drive_km_per_hour:g} km/h along the roads, walking at "
        f"{round_value('walk_km_per_hour'):g} km/h from them, {round_value('visit_minutes'):g} minutes at a nest whose "
        "visit_minutes are blank (conventions)."
    )
    return (
        _proof(solution),
        _meeting(drawn),
        pace,
        *_undone(short, is_proven=solution.is_optimal),
        *drawn.team.notes,
        *drawn.travel.notes,
        "A plan is for what was known on its first day: enter what was found, then plan again from today.",
        TEAM_ONLY,
        *CAUTIONS,
    )


def _proof(solution: Solution) -> str:
    apart = f"visits apart that each add less than {round_value('least_worth'):g}"
    if solution.is_optimal:
        return (
            f"Proven: no plan with these people, hours and roads that leaves no more undone meets more ({apart}), as "
            "far as the chances hold."
        )
    why = "Not proven best"
    if solution.by_clock:
        why = "The time limit stopped the search, so that another machine may give another plan; not proven best"
    return (
        f"{why}: no plan that leaves no more undone can meet more than {solution.bound:.2f} ({apart}), "
        f"{solution.gap:.1%} above this one. That bound counts of the driving only what no round can save."
    )


def _meeting(drawn: Drawn) -> str:
    delay = drawn.span.delay_days
    days = "that day" if delay == 0 else f"that day or {'the day' if delay == 1 else f'up to {delay} days'} after"
    if drawn.span.event == "hatching":
        return f"A hatching counts as met by a visit on {days}; inside the nest it cannot be seen."
    spring = [stop.nest_id for stop in drawn.stops if stop.in_spring]
    evenly = f" In spring ({', '.join(spring)}): {EVENLY}, and not whether they waited." if spring else ""
    return (
        f"Hatchlings count as met by a visit on {days} on which they come up: 1 to 30 days after hatching, each as "
        f"likely (the convention of the autumn window).{evenly} Some wait for spring, nobody has published how many, "
        "so what is expected is the most that can be; the interval is what 95 of 100 drawn seasons meet, early and "
        f"late together by {round_value('weather_share'):.0%} of what spreads them, as weather moves all nests."
    )


def _undone(short: pd.DataFrame, *, is_proven: bool) -> list[str]:
    if short.empty:
        return ["All that must be done is planned: cages looked at and opened in time, outcomes seen."]
    notes = []
    limit = (
        "cannot be kept with these people"
        if is_proven
        else "is not kept, no plan was found that does with these people"
    )
    cages = short[short["duty"] == "cage"]
    for nest, rows in cages.groupby("nest_id"):
        notes.append(
            f"Cage of {nest}: hatchlings that come up may wait longer than a day on {', '.join(rows['date'])}: the "
            f"one-day limit {limit}. Open its exit and enter protected_off, or find somebody for these days."
        )
    for duty, words in (("open", "No visit opens the cage in time of"), ("outcome", "No outcome visit is planned for")):
        rows = short[short["duty"] == duty]
        if len(rows):
            notes.append(f"{words} {', '.join(rows['nest_id'])}: {'; '.join(sorted(set(rows['reason'])))}.")
    return notes
