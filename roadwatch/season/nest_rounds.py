"""From the season's nests, checks, people and roads to a plan of nest rounds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.rounds.plan import RoundPlan, plan_rounds
from roadwatch.season.nests import season_windows

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    import numpy as np

    from roadwatch.hatch.chances import Event


def season_rounds(
    path: Path,
    *,
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
    Plan the nest rounds of a season, as known on the plan's first day.

    Parameters
    ----------
    path
        The season file.
    first, last
        First and last day of the plan; visits and temperatures after the first are not used.
    per_day, rng, delay_days, event, drive_km_per_hour, seconds_left
        As for ``plan_rounds``.

    Raises
    ------
    NotEnoughDataError
        No nest, no temperature, no region with parameters, or nobody who can come.
    UsageError
        The days are the wrong way round or too many.
    """
    season = Season.open(path)
    windows = season_windows(path, as_of=first, rng=rng)
    return plan_rounds(
        season.read("nests"),
        windows.table,
        windows.draws,
        checks=season.read("checks"),
        people=season.read("people"),
        network=build_network(season.read("roads")),
        first=first,
        last=last,
        per_day=per_day,
        rng=rng,
        delay_days=delay_days,
        event=event,
        drive_km_per_hour=drive_km_per_hour,
        seconds_left=seconds_left,
    )
