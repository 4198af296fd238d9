"""The whole plan of nest rounds: who visits which nest on which day, what it meets, and what it cannot keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.hatch.visits import last_outcomes
from roadwatch.rounds.interval import met_interval
from roadwatch.rounds.notes import plan_notes
from roadwatch.rounds.people import team_of
from roadwatch.rounds.problem import Need, Problem
from roadwatch.rounds.routes import Routes
from roadwatch.rounds.solve import solve
from roadwatch.rounds.stops import (
    LeftOut,
    Span,
    Stop,
    last_seen_shut,
    opening_days,
    stop_of,
    trapped_days,
)
from roadwatch.rounds.travel import Travel, travel_between
from roadwatch.rounds.values import round_value
from roadwatch.rounds.visits import Drawn, round_table, short_table, visit_table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from roadwatch.hatch.chances import Event, HatchDraws
    from roadwatch.roads.network import Network
    from roadwatch.rounds.arrays import Floats
    from roadwatch.rounds.people import Team

LONGEST_DAYS = 400
"""Plans are made for at most a year and a little."""


@dataclass(frozen=True)
class RoundPlan:
    """
    A plan; it tells where nests are and who is where, so it is for the team only.

    ``visits`` has a row a visit; ``rounds`` one a person and day; ``places`` where to leave the road; ``left_out`` the
    nests without a visit; ``short`` what must be done and cannot be kept. ``expected_met`` is the expected number of
    nests whose hatchlings are met, with the interval that 95 of 100 seasons keep; no plan that leaves no more undone
    meets more than ``bound``.
    """

    first: date
    last: date
    visits: pd.DataFrame
    rounds: pd.DataFrame
    places: pd.DataFrame
    left_out: pd.DataFrame
    short: pd.DataFrame
    expected_met: float
    expected_met_low: float
    expected_met_high: float
    bound: float
    gap: float
    is_optimal: bool
    notes: tuple[str, ...]


def plan_rounds(
    nests: pd.DataFrame,
    windows: pd.DataFrame,
    draws: Sequence[HatchDraws | None],
    *,
    checks: pd.DataFrame,
    people: pd.DataFrame,
    network: Network,
    first: date,
    last: date,
    per_day: int,
    rng: np.random.Generator,
    delay_days: int = 1,
    event: Event = "emergence",
    drive_km_per_hour: float | None = None,
    seconds_left: Callable[[], float] | None = None,
) -> RoundPlan:
    """
    Plan which nest is visited by whom on which day.

    Parameters
    ----------
    nests, checks, people
        Tables of these kinds.
    windows, draws
        Hatch windows and the drawn days behind them, row by row those of ``nests``, as known on the plan's first day.
    network
        The roads.
    first, last
        First and last day of the plan.
    per_day
        The most visits of a person and day.
    rng
        Source of chance for the interval of what is met; the visits need none.
    delay_days
        Hatchlings count as met by a visit on the day they come up or so many days later.
    event
        What is met: hatchlings at the surface, or hatching in the nest.
    drive_km_per_hour
        None is the stated convention.
    seconds_left
        Asked how long a solve may take; None sets no limit.

    Raises
    ------
    UsageError
        The days are the wrong way round or too many, or a number is not positive.
    NotEnoughDataError
        Nobody can come in these days.

    Source
    ------
    church1974, rounds_convention
    """
    span = _span(first, last, per_day=per_day, delay_days=delay_days, event=event)
    team = team_of(people, first_day=first, n_days=span.n_days)
    read = _read_nests(nests, windows, draws, checks=checks, span=span)
    rows = [place for place, stop in enumerate(read) if isinstance(stop, Stop)]
    stops = [stop for stop in read if isinstance(stop, Stop)]
    left_out = [stop for stop in read if isinstance(stop, LeftOut)]
    table = nests.iloc[rows].reset_index(drop=True)
    travel = _travel(table, network, team)
    speed = drive_km_per_hour or round_value("drive_km_per_hour")
    problem = make_problem(table, stops, team, travel, span=span, per_day=per_day, drive_km_per_hour=speed)
    solution = solve(problem, seconds_left=seconds_left)
    drawn = Drawn(problem, solution, Routes(problem), stops, span, team, travel)
    low, high = met_interval(problem, solution.timetable, [stop.chances for stop in stops], rng=rng)
    visits, short = visit_table(drawn), short_table(drawn)
    unseen = set(table["nest_id"].astype(str)) - set(visits["nest_id"])
    left_out += _unvisited(stops, unseen, problem)
    return RoundPlan(
        first=first,
        last=last,
        visits=visits,
        rounds=round_table(drawn),
        places=_places(table),
        left_out=pd.DataFrame([vars(one) for one in left_out], columns=["nest_id", "reason", "fallback", "is_caged"]),
        short=short,
        expected_met=solution.expected,
        expected_met_low=low,
        expected_met_high=high,
        bound=solution.bound,
        gap=solution.gap,
        is_optimal=solution.is_optimal,
        notes=plan_notes(drawn, solution, short=short, per_day=per_day, drive_km_per_hour=speed),
    )


def _read_nests(
    nests: pd.DataFrame,
    windows: pd.DataFrame,
    draws: Sequence[HatchDraws | None],
    *,
    checks: pd.DataFrame,
    span: Span,
) -> list[Stop | LeftOut]:
    shut, visits = last_seen_shut(checks, as_of=span.first), last_outcomes(checks, as_of=span.first)
    rows = zip(nests["nest_id"], nests.to_dict("records"), windows.to_dict("records"), draws, strict=True)
    return [
        stop_of(_texts(nest), _texts(window), drawn, span=span, shut_on=shut.get(name), visited=visits.get(name))
        for name, nest, window, drawn in rows
    ]


def _texts(row: dict[object, object]) -> dict[str, object]:
    return {str(name): value for name, value in row.items()}


def make_problem(
    nests: pd.DataFrame,
    stops: Sequence[Stop],
    team: Team,
    travel: Travel,
    *,
    span: Span,
    per_day: int,
    drive_km_per_hour: float,
) -> Problem:
    """
    Put a plan's question into numbers.

    Parameters
    ----------
    nests
        (nests,) Rows of kind ``nests``, those of ``stops``.
    stops, team, travel, span, per_day, drive_km_per_hour
        What goes in.
    """
    minutes = pd.to_numeric(nests["visit_minutes"], errors="coerce").fillna(round_value("visit_minutes"))
    walk = 2 * travel.walk_m / (round_value("walk_km_per_hour") * 1000 / 60)
    metres_a_minute = drive_km_per_hour * 1000 / 60
    n_columns = span.n_days + span.delay_days
    return Problem(
        chance=np.array([stop.chances.by_day for stop in stops]).reshape(len(stops), n_columns),
        unit=_units(nests),
        at_nest=minutes.to_numpy(dtype=np.float64) + walk,
        drive=travel.between_m / metres_a_minute,
        drive_from_start=travel.from_start_m / metres_a_minute,
        available=team.available,
        day_minutes=team.day_minutes,
        may_open=team.may_open,
        per_day=per_day,
        delay_days=span.delay_days,
        needs=tuple(need for place, stop in enumerate(stops) for need in needs_of(place, stop, span=span)),
    )


def needs_of(nest: int, stop: Stop, *, span: Span) -> list[Need]:
    """
    What must be done at a nest: somebody within a day of every day on which a cage may trap, one who opens it before
    its deadline, one who looks how it ended.

    Parameters
    ----------
    nest
        Its number in the problem.
    stop
        The nest.
    span
        The plan's days.
    """
    wait = int(round_value("cage_wait_days"))
    base = round_value("day_weight")
    trapped = [int(day) for day in trapped_days(stop, span)]
    chances = stop.chances.by_day[span.delay_days :]
    needs = [Need(nest, day, day + wait, float(chances[day]) + base, "cage") for day in trapped]
    if days := opening_days(stop, span):
        needs.append(Need(nest, *days, round_value("open_weight"), "open", by_opener=True))
    if stop.outcome_from is not None:
        first = span.place(stop.outcome_from)
        needs.append(Need(nest, first, span.n_days - 1, round_value("outcome_weight"), "outcome"))
    return needs


def _span(first: date, last: date, *, per_day: int, delay_days: int, event: Event) -> Span:
    if last < first:
        raise UsageError(f"the plan's last day {last} is before its first, {first}; write --from and --to in order")
    if (last - first).days >= LONGEST_DAYS:
        raise UsageError(f"a plan from {first} to {last} is longer than {LONGEST_DAYS} days; plan a season at a time")
    if per_day < 1 or delay_days < 0:
        raise UsageError(f"{per_day} visits a day and a delay of {delay_days} days: expected 1 or more, and 0 or more")
    return Span(first, last, delay_days, event)


def _travel(nests: pd.DataFrame, network: Network, team: Team) -> Travel:
    def pairs(*columns: str) -> Floats:
        return nests.reindex(columns=list(columns)).to_numpy(dtype=np.float64)

    return travel_between(
        network,
        access=pairs("access_longitude", "access_latitude"),
        nests=pairs("longitude", "latitude"),
        starts=np.column_stack([team.longitude, team.latitude]),
        names=tuple(nests["nest_id"].astype(str)),
    )


def _units(nests: pd.DataFrame) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """(nests,) Nests with the same word in ``open_with`` share a number."""
    words = nests["open_with"] if "open_with" in nests.columns else pd.Series(None, index=nests.index, dtype=object)
    keys = [
        f"with {word.strip()}" if isinstance(word, str) and word.strip() else f"alone {place}"
        for place, word in enumerate(words)
    ]
    return pd.factorize(np.array(keys, dtype=object))[0].astype(np.int64)


def _places(nests: pd.DataFrame) -> pd.DataFrame:
    names = ["nest_id", "taxon", "longitude", "latitude", "access_longitude", "access_latitude"]
    table = nests.reindex(columns=names)
    for axis in ("longitude", "latitude"):
        table[f"access_{axis}"] = table[f"access_{axis}"].fillna(table[axis])
    return table


def _unvisited(stops: Sequence[Stop], unseen: set[str], problem: Problem) -> list[LeftOut]:
    """Nests that could have had a visit and got none."""
    sizes = np.bincount(problem.unit, minlength=1)
    found = []
    for place, stop in enumerate(stops):
        if stop.nest_id not in unseen:
            continue
        size = int(sizes[problem.unit[place]])
        too_many = f"{size} nests are to be opened with it, more than {problem.per_day} visits a day allow"
        reason = too_many if size > problem.per_day else "nobody has the time for it in these days, beside the others"
        fallback = "raise --per-day, give more hours or people, or look in whenever somebody passes"
        found.append(LeftOut(stop.nest_id, reason, fallback, stop.is_caged))
    return found
