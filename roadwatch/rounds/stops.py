"""Each nest on its way into a plan: its chances, what must be done at it, or why it is left out."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.chances import DayChances, day_chances
from roadwatch.hatch.laying import day_in
from roadwatch.hatch.visits import HATCHED_WAITING
from roadwatch.rounds.spring import EVENLY, hatched_share, spring_chances, spring_days
from roadwatch.rounds.values import round_value

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from roadwatch.hatch.chances import Event, HatchDraws
    from roadwatch.hatch.visits import Visited

SEEN_SHUT = ("intact", "depredated_partial", "flooded")
"""Outcomes of a visit that saw nothing come up, of a nest that may live."""

OVER = ("depredated_full", "crushed_or_mown", "emerged", "relocated_by_permit")
"""Outcomes after which a nest needs nobody; one reported failed waits for the end of its spring window."""

LEAST_CHANCE = 1e-4
"""A nest whose hatchlings are less likely than this to come up in the span is left out of it."""


@dataclass(frozen=True)
class Span:
    """First and last day of a plan, and how it counts."""

    first: date
    last: date
    delay_days: int
    event: Event

    @property
    def n_days(self) -> int:
        """Days of the plan."""
        return (self.last - self.first).days + 1

    def place(self, day: date) -> int:
        """Days from the first to a day."""
        return (day - self.first).days


@dataclass
class Stop:
    """
    One nest of a plan.

    ``window`` are the days within which hatchlings may come up, those of spring where ``in_spring``; ``caged_until``
    is the last day on which a cage is known to stand over it, None for no cage; ``open_by`` the day by which it is to
    be opened; ``outcome_from`` the first day of the visit that tells how it ended.
    """

    nest_id: str
    chances: DayChances
    window: tuple[date, date]
    spring_end: date | None
    is_caged: bool
    caged_until: date | None = None
    open_by: date | None = None
    outcome_from: date | None = None
    in_spring: bool = False
    remarks: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class LeftOut:
    """A nest that no visit is planned for, why, and what to do about it."""

    nest_id: str
    reason: str
    fallback: str
    is_caged: bool


def stop_of(
    nest: Mapping[str, object],
    window: Mapping[str, object],
    draws: HatchDraws | None,
    *,
    span: Span,
    shut_on: date | None = None,
    visited: Visited | None = None,
) -> Stop | LeftOut:
    """
    Read a nest for a plan.

    Parameters
    ----------
    nest
        Row of kind ``nests``.
    window
        Its row of the hatch windows.
    draws
        Its drawn hatching days, None where it has no window.
    span
        The plan's days.
    shut_on
        Day of the last visit that saw nothing come up, None where nobody looked.
    visited
        What visits have settled, None for nothing.

    Returns
    -------
    A stop, or why there is none.
    """
    name, caged = str(nest["nest_id"]), is_caged(nest, on=span.first)
    spring_end = day_in(window.get("spring_late"))

    def left_out(reason: str, fallback: str | None = None) -> LeftOut:
        return LeftOut(name, reason, fallback or _fallback(spring_end, on=span.first, caged=caged), caged)

    if visited is not None and visited.outcome in OVER:
        return left_out(str(window.get("note") or visited.ended), _over(caged=caged))
    if nest.get("landowner_ok") is False:
        return left_out("the landowner has not agreed to visits", "ask the landowner; amend landowner_ok, plan again")
    waits = visited is not None and visited.outcome == HATCHED_WAITING
    if draws is None and not waits:
        return left_out(str(window.get("note") or "no window"))
    autumn = None if draws is None or waits else _window_days(window, draws)
    days, in_spring = _coming_up(autumn, spring_days(window), span)
    if days is None:
        return left_out(_why_spring(window, visited if waits else None))
    chances = _chances(draws, days, span=span, shut_on=shut_on, in_spring=in_spring)
    stop = Stop(name, chances, days, spring_end, caged, in_spring=in_spring)
    _set_duties(stop, nest, span)
    if chances.by_day.sum() < LEAST_CHANCE and not _is_due(stop, span):
        return left_out(_why_not_now(stop, span, shut_on))
    _remark(stop, nest, shut_on)
    return stop


def _chances(
    draws: HatchDraws | None, days: tuple[date, date], *, span: Span, shut_on: date | None, in_spring: bool
) -> DayChances:
    first_day, n_days = span.first - timedelta(days=span.delay_days), span.n_days + span.delay_days
    if in_spring or draws is None:
        share = hatched_share(draws)
        return spring_chances(days, share=share, first_day=first_day, n_days=n_days, shut_on=shut_on)
    return day_chances(draws, first_day=first_day, n_days=n_days, event=span.event, shut_on=shut_on)


def _remark(stop: Stop, nest: Mapping[str, object], shut_on: date | None) -> None:
    if shut_on:
        stop.remarks.append(f"nothing had come up by {shut_on}")
    if stop.in_spring:
        stop.remarks.append(EVENLY)
    if nest.get("landowner_ok") is not True:
        stop.remarks.append("landowner_ok is blank: ask first")


def is_caged(nest: Mapping[str, object], *, on: date) -> bool:
    """Whether a cage stands over a nest on a day, as far as is known."""
    begin, end = day_in(nest.get("protected_on")), day_in(nest.get("protected_off"))
    return begin is not None and begin <= on and (end is None or end > on)


def last_seen_shut(checks: pd.DataFrame, *, as_of: date) -> dict[str, date]:
    """Day of the last visit to each nest that saw nothing come up, up to a day."""
    if checks.empty:
        return {}
    seen = checks[checks["outcome"].isin(SEEN_SHUT) & checks["checked_at"].notna()]
    seen = seen[seen["checked_at"].str[:10] <= as_of.isoformat()]
    latest = seen.groupby("nest_id")["checked_at"].max()
    return {str(nest): date.fromisoformat(str(day)[:10]) for nest, day in latest.items()}


def _window_days(window: Mapping[str, object], draws: HatchDraws) -> tuple[date, date] | None:
    """From the first likely hatching to the last likely day of coming up in autumn; a late end not known is 31 Dec."""
    early = day_in(window.get("hatch_early"))
    if early is None or day_in(window.get("autumn_early")) is None:
        return None
    return early, day_in(window.get("autumn_late")) or date(draws.start.year, 12, 31)


def _coming_up(
    autumn: tuple[date, date] | None, spring: tuple[date, date] | None, span: Span
) -> tuple[tuple[date, date] | None, bool]:
    """The days within which a plan can meet hatchlings, and whether in spring: once autumn is over, or is not known."""
    in_reach = spring is not None and spring[0] <= span.last and spring[1] >= span.first
    if in_reach and span.event == "emergence" and (autumn is None or autumn[1] < span.first):
        return spring, True
    return autumn, False


def _why_spring(window: Mapping[str, object], waiting: Visited | None) -> str:
    if waiting is not None:
        return str(window.get("note") or f"hatched by {waiting.day}; hatchlings wait for spring")
    return "not known to leave the nest in autumn: hatchlings wait for spring"


def _set_duties(stop: Stop, nest: Mapping[str, object], span: Span) -> None:
    """Days by which a cage is opened, until which it traps, and from which an outcome is due."""
    if stop.is_caged:
        planned = day_in(nest.get("protected_off"))
        stop.open_by = planned or stop.window[0]
        stop.caged_until = planned - timedelta(days=1) if planned else stop.window[1]
    after = stop.window[1] + timedelta(days=1)
    if after < span.first and stop.spring_end:
        after = stop.spring_end + timedelta(days=1)
    stop.outcome_from = after if span.first <= after <= span.last else None


def _is_due(stop: Stop, span: Span) -> bool:
    in_window = stop.window[0] <= span.last and stop.window[1] >= span.first
    return stop.outcome_from is not None or (stop.is_caged and in_window)


def _why_not_now(stop: Stop, span: Span, shut_on: date | None) -> str:
    early, late = stop.window
    if early > span.last:
        return f"its window begins after this plan, on {early}"
    if late < span.first:
        return f"its window in autumn lies before this plan, {early} to {late}, and no end was seen"
    if shut_on:
        return f"nothing had come up by {shut_on}, near the end of its window; the rest may wait for spring"
    return f"hardly any chance in these days; its window is {early} to {late}"


def _fallback(spring_end: date | None, *, on: date, caged: bool) -> str:
    if spring_end and spring_end < on:
        return f"its spring window ended on {spring_end}: somebody with the permit may look how it ended"
    until = f" until its spring window ends on {spring_end}" if spring_end else " through spring"
    cage = "open the cage's exit and keep it marked; look in whenever somebody passes" if caged else "keep its marker"
    return f"{cage}; never dig, and do not call it failed{until}"


def _over(*, caged: bool) -> str:
    return "nothing more to look for; a cage that still stands can go" if caged else "nothing more to look for"


def outcome_words(stop: Stop) -> str:
    """What an outcome visit is for, and what it must not conclude."""
    until = f"; not failed before its spring window ends on {stop.spring_end}" if stop.spring_end else ""
    return f"outcome: look for an exit hole and tracks, do not dig{until}"


def opening_days(stop: Stop, span: Span) -> tuple[int, int] | None:
    """First and last place of the days in which a cage is opened; a deadline gone by leaves the plan's first week."""
    if stop.open_by is None or stop.open_by > span.last:
        return None
    week = int(round_value("opening_days"))
    last = span.place(stop.open_by)
    if last < 0:
        return 0, min(week, span.n_days) - 1
    return max(last - week + 1, 0), last


def trapped_days(stop: Stop, span: Span) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Places of the days on which hatchlings that come up find a cage; the last day's visit may follow the plan."""
    if stop.caged_until is None:
        return np.zeros(0, dtype=np.int64)
    first = max(span.place(stop.window[0]), 0)
    last = min(span.place(min(stop.caged_until, stop.window[1])), span.n_days - 1 - int(round_value("cage_wait_days")))
    return np.arange(first, last + 1)
