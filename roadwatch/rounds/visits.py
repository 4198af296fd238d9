"""The plan as tables: one row a visit, one a person and day, and one for each thing that cannot be kept."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.rounds.problem import Need, Problem, Timetable, is_kept
from roadwatch.rounds.stops import outcome_words

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.rounds.arrays import Floats
    from roadwatch.rounds.people import Team
    from roadwatch.rounds.routes import Routes
    from roadwatch.rounds.solve import Solution
    from roadwatch.rounds.stops import Span, Stop
    from roadwatch.rounds.travel import Travel

VISIT_COLUMNS = [
    *("date", "nest_id", "observer", "order", "reason", "p_emergence_by_next_visit", "p_met", "minutes"),
    *("drive_minutes", "km", "caged", "note"),
]
ROUND_COLUMNS = ["date", "observer", "nests", "minutes", "km"]
SHORT_COLUMNS = ["nest_id", "date", "until", "duty", "reason"]


@dataclass(frozen=True)
class Drawn:
    """A plan with all that it was made from."""

    problem: Problem
    solution: Solution
    routes: Routes
    stops: Sequence[Stop]
    span: Span
    team: Team
    travel: Travel

    @property
    def timetable(self) -> Timetable:
        """Who comes when."""
        return self.solution.timetable

    def day(self, place: int) -> str:
        """A day of the plan as ISO 8601 text."""
        return (self.span.first + timedelta(days=place)).isoformat()


def visit_table(drawn: Drawn) -> pd.DataFrame:
    """
    Write a row for each visit, by date, person and order.

    Parameters
    ----------
    drawn
        The plan.

    Returns
    -------
    ``p_met`` is the chance that this visit is the first to meet the hatchlings; these add up to what the plan is
    expected to meet. ``p_emergence_by_next_visit`` is the chance that hatchlings come up after this visit and by the
    day of the nest's next one (of the plan's last day where none follows), given that none had come up at this one.
    ``minutes`` are spent at the nest with the walk, ``drive_minutes`` and ``km`` are the way to it.
    """
    rows: list[dict[str, object]] = []
    for person, day, nests in _days_of_people(drawn):
        reached = -1
        for order, nest in enumerate(nests, start=1):
            km, minutes = _leg(drawn, person, reached, nest)
            rows.append(_visit(drawn, person, day, nest) | {"order": order, "km": km, "drive_minutes": minutes})
            reached = nest
    table = pd.DataFrame(rows, columns=VISIT_COLUMNS)
    return table.sort_values(["date", "observer", "order"], kind="stable").reset_index(drop=True)


def round_table(drawn: Drawn) -> pd.DataFrame:
    """Write a row for each person and day: nests, and minutes and km from the start and back."""
    rows = []
    for person, day, nests in _days_of_people(drawn):
        units = drawn.timetable.units_of(person, day)
        legs = [_leg(drawn, person, one, other)[0] for one, other in zip([-1, *nests], [*nests, -1], strict=True)]
        minutes = round(drawn.routes.minutes_of(person, units))
        rows.append((drawn.day(day), drawn.team.names[person], len(nests), minutes, round(sum(legs), 1)))
    table = pd.DataFrame(rows, columns=ROUND_COLUMNS)
    return table.sort_values(["date", "observer"], kind="stable").reset_index(drop=True)


def short_table(drawn: Drawn) -> pd.DataFrame:
    """Write a row for each thing that must be done and that no visit does."""
    undone = [need for need in drawn.problem.needs if not is_kept(drawn.problem, drawn.timetable, need)]
    rows = [
        (
            drawn.stops[need.nest].nest_id,
            drawn.day(need.first),
            drawn.day(min(need.last, drawn.span.n_days - 1)),
            need.duty,
            _why_short(drawn, need),
        )
        for need in undone
    ]
    table = pd.DataFrame(rows, columns=SHORT_COLUMNS)
    return table.sort_values(["nest_id", "date"], kind="stable").reset_index(drop=True)


def _days_of_people(drawn: Drawn) -> list[tuple[int, int, tuple[int, ...]]]:
    """(person, day, nests in order) of every day on which a person goes out."""
    return [
        (person, day, drawn.routes.round_of(person, units)[1])
        for person in range(len(drawn.team.names))
        for day in range(drawn.span.n_days)
        if (units := drawn.timetable.units_of(person, day))
    ]


def _leg(drawn: Drawn, person: int, one: int, other: int) -> tuple[float, float]:
    """(km, minutes) from a nest to another; -1 is where the person starts."""
    nest, back = (other, one) if other >= 0 else (one, other)
    way_m = drawn.travel.from_start_m[person, nest] if back < 0 else drawn.travel.between_m[back, nest]
    minutes = drawn.problem.drive_from_start[person, nest] if back < 0 else drawn.problem.drive[back, nest]
    return round(float(way_m) / 1000, 2), round(float(minutes), 1)


def _visit(drawn: Drawn, person: int, day: int, nest: int) -> dict[str, object]:
    stop = drawn.stops[nest]
    days = np.flatnonzero(drawn.timetable.is_visited[drawn.problem.unit[nest]])
    place = int(np.searchsorted(days, day))
    before = int(days[place - 1]) if place else None
    after = int(days[place + 1]) if place + 1 < len(days) else None
    return {
        "date": drawn.day(day),
        "nest_id": stop.nest_id,
        "observer": drawn.team.names[person],
        "reason": "; ".join(_reasons(drawn, person, day, nest, before)),
        "p_emergence_by_next_visit": _risk(drawn, nest, day, after),
        "p_met": _first_met(drawn, nest, day, before),
        "minutes": round(float(drawn.problem.at_nest[nest]), 1),
        "caged": stop.is_caged and (stop.caged_until is None or drawn.day(day) <= stop.caged_until.isoformat()),
        "note": "; ".join(stop.remarks),
    }


def _risk(drawn: Drawn, nest: int, day: int, after: int | None) -> float:
    """Chance of coming up after a visit and by the next, given that nothing had come up at the visit."""
    chances = drawn.stops[nest].chances
    reached = day + drawn.span.delay_days + 1
    until = drawn.span.n_days - 1 if after is None else after
    ahead: Floats = chances.by_day[reached : until + drawn.span.delay_days + 1]
    remaining = chances.by_day[reached:].sum() + chances.after + chances.never
    return round(float(ahead.sum() / remaining), 4) if remaining > 0 else 0.0


def _first_met(drawn: Drawn, nest: int, day: int, before: int | None) -> float:
    """Chance that hatchlings come up on a day that this visit meets and no earlier one did."""
    first = day if before is None else max(day, before + drawn.span.delay_days + 1)
    chances = drawn.problem.chance[nest, first : day + drawn.span.delay_days + 1]
    return round(float(chances.sum()), 4)


def _reasons(drawn: Drawn, person: int, day: int, nest: int, before: int | None) -> list[str]:
    """Why somebody comes, the duties first."""
    stop, words = drawn.stops[nest], []
    needs = [need for need in drawn.problem.needs if need.nest == nest and need.first <= day <= need.last]
    opening = [need for need in needs if need.duty == "open" and drawn.team.may_open[person]]
    if opening and not (before is not None and before >= opening[0].first):
        when = f"by {stop.open_by}" if str(stop.open_by) >= drawn.day(0) else f"now, it was due by {stop.open_by}"
        words.append(f"open the cage's exit {when}, mark it and leave it through spring")
    if any(need.duty == "cage" for need in needs):
        words.append("caged: hatchlings wait no longer than one day")
    if any(need.duty == "outcome" and (before is None or before < need.first) for need in needs):
        words.append(outcome_words(stop))
    if met := _first_met(drawn, nest, day, before):
        words.append(f"{met:.1%} chance of hatchlings, window {stop.window[0]} to {stop.window[1]}")
    return words or ["visited with the nests that are opened with it"]


def _why_short(drawn: Drawn, need: Need) -> str:
    days = range(max(need.first, 0), min(need.last + 1, drawn.span.n_days))
    who = drawn.team.available[:, list(days)] & (drawn.team.may_open[:, None] | (not need.by_opener))
    if need.by_opener and not drawn.team.may_open.any():
        return "nobody on file may open nests: ask a permit holder"
    if not who.any():
        return "nobody who may open nests has a day then" if need.by_opener else "nobody has a day then"
    is_proven = drawn.solution.is_optimal
    limit = (
        "cannot be kept with these people"
        if is_proven
        else "is not kept: no plan was found that does, with these people"
    )
    words = {
        "cage": f"the one-day limit of a cage {limit}",
        "open": "those who may open nests have no time left then",
        "outcome": "nobody has time left for the outcome visit",
    }
    return words[need.duty]
