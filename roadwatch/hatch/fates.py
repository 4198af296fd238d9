"""How each nest ended, as far as visits tell, and over which days it was known to be at risk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from roadwatch.hatch.laying import laying_of

if TYPE_CHECKING:
    from collections.abc import Mapping

Fate = Literal["emerged", "hatched_waiting", "lost", "failed", "moved", "in_ground", "not_known"]

LOST = ("depredated_full", "crushed_or_mown")
"""Ends that are plain to see, whatever the season."""

FAILED = ("failed_undeveloped", "failed_other")
"""Ends that only the end of the spring window proves: hatchlings may wait in a nest that looks dead."""

LEFT = ("emerging", "emerged")
ALIVE = ("intact", "depredated_partial", "flooded", "emerging", "unknown")
"""Outcomes of a visit after which the nest is still at risk."""


@dataclass(frozen=True)
class NestFate:
    """
    One nest; days count from laying.

    ``entered`` and ``left`` bound the days at risk: from finding to the middle between the last visit before the end
    and the first after it, or to the last visit. ``is_loss`` tells whether it ended by loss; ``caged_from`` and
    ``caged_until`` bound the days under protection, nan for none.
    """

    nest_id: str
    taxon: str | None
    fate: Fate
    seen_on: str | None
    entered: float
    left: float
    is_loss: bool
    caged_from: float
    caged_until: float
    hatchlings_live: float
    hatchlings_dead: float
    eggs_unhatched: float
    clutch_size: float
    note: str


def nest_fate(nest: Mapping[str, object], visits: pd.DataFrame, *, as_of: date, spring_to: str) -> NestFate:
    """
    Read a nest's end from its visits.

    Parameters
    ----------
    nest
        One row of kind ``nests``.
    visits
        Its rows of kind ``checks``.
    as_of
        Later visits are not used.
    spring_to
        Last month-day of the spring window, in the year after laying; before it no nest is called failed.

    Returns
    -------
    The nest's fate and days at risk; these are nan where no laying day can be told.
    """
    seen = visits[visits["checked_at"].str[:10] <= as_of.isoformat()].sort_values("checked_at", kind="stable")
    laying = laying_of(**{name: nest.get(name) for name in ("laid_on", "laid_from", "laid_to", "found_at")})
    laid = None if isinstance(laying, str) else laying.first + timedelta(days=(laying.n_days - 1) // 2)
    spring_end = None if laid is None else date.fromisoformat(f"{laid.year + 1}-{spring_to}")
    fate, day, note = _ending(seen, as_of, spring_end)
    found = str(nest.get("found_at") or "")[:10]
    entered = _days(laid, found) if found else 0.0
    alive = seen[seen["outcome"].isin(ALIVE)]["checked_at"].str[:10]
    left = _leaving(laid, entered, day if fate not in {"in_ground", "not_known"} else None, alive)
    caged = [_days(laid, str(value)[:10]) if isinstance(value, str) else np.nan for value in _cage(nest)]
    return NestFate(
        nest_id=str(nest["nest_id"]),
        taxon=str(nest["taxon"]) if isinstance(nest.get("taxon"), str) else None,
        fate=fate,
        seen_on=day,
        entered=max(entered, 0.0) if np.isfinite(entered) else entered,
        left=left,
        is_loss=fate in {"lost", "failed"},
        caged_from=caged[0],
        caged_until=caged[1] if np.isfinite(caged[1]) or np.isnan(caged[0]) else np.inf,
        hatchlings_live=_greatest(seen, "hatchlings_live"),
        hatchlings_dead=_greatest(seen, "hatchlings_dead"),
        eggs_unhatched=_greatest(seen, "eggs_unhatched"),
        clutch_size=_number(nest.get("clutch_size")),
        note=laying if isinstance(laying, str) else note,
    )


def _ending(seen: pd.DataFrame, as_of: date, spring_end: date | None) -> tuple[Fate, str | None, str]:
    """Fate, the day it was first seen, and a word; the plainest evidence goes first."""
    by_fate: tuple[tuple[Fate, tuple[str, ...]], ...] = (
        ("emerged", LEFT),
        ("lost", LOST),
        ("moved", ("relocated_by_permit",)),
        ("hatched_waiting", ("hatched_overwintering",)),
        ("failed", FAILED),
    )
    is_over = spring_end is None or as_of > spring_end
    until = "" if spring_end is None else f" until its spring window ends on {spring_end}"
    for fate, outcomes in by_fate:
        rows = seen[seen["outcome"].isin(outcomes)]
        if rows.empty:
            continue
        day = str(rows["checked_at"].iloc[0])[:10]
        if fate == "failed" and not is_over:
            return "in_ground", day, f"reported {rows['outcome'].iloc[0]} on {day}; not counted as failed{until}"
        if fate == "hatched_waiting" and not is_over:
            return fate, day, f"hatchlings wait in the nest: leave it and its cage{until}"
        return fate, day, ""
    if is_over:
        return "not_known", None, "nobody saw how it ended"
    return "in_ground", None, f"no end seen: leave it, and its cage,{until}"


def _leaving(laid: date | None, entered: float, ended: str | None, alive: pd.Series) -> float:
    """The day on which risk ends: between the visits around the end, or at the last visit that found it alive."""
    if laid is None or not np.isfinite(entered):
        return np.nan
    before = [day for day in alive if ended is None or day < ended]
    last_alive = max(_days(laid, before[-1]) if before else entered, entered)
    if ended is None:
        return last_alive
    return max((last_alive + _days(laid, ended)) / 2, entered)


def _days(laid: date | None, day: str) -> float:
    if laid is None or not day:
        return np.nan
    try:
        return float((date.fromisoformat(day) - laid).days)
    except ValueError:
        return np.nan


def _cage(nest: Mapping[str, object]) -> tuple[object, object]:
    return nest.get("protected_on"), nest.get("protected_off")


def _greatest(seen: pd.DataFrame, column: str) -> float:
    """The greatest count of one visit: visits may count the same hatchlings again, so they are never added."""
    values = pd.to_numeric(seen[column], errors="coerce") if column in seen.columns else pd.Series(dtype=float)
    return float(values.max()) if values.notna().any() else np.nan


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else np.nan
