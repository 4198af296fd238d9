"""From the season's nests and temperatures to shares of females."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.forecasts import forecast_weather
from roadwatch.hatch.sex_ratio import SexRatios, project_sexes
from roadwatch.hatch.temperatures import daily_weather, nest_loggers
from roadwatch.records.store import Season
from roadwatch.season.nest_taxa import with_verified_names
from roadwatch.season.nests import logger_names

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    import numpy as np


def season_sex_ratios(path: Path, *, as_of: date, rng: np.random.Generator, coverage: float = 0.8) -> SexRatios:
    """
    Project the share of females of every nest of the season.

    Parameters
    ----------
    path
        The season file.
    as_of
        The day on which the reader stands; later temperatures are not used.
    rng
        Source of chance.
    coverage
        Share of draws between low and high.

    Raises
    ------
    NotEnoughDataError
        No nest, no temperature, or no region whose parameters apply.
    """
    season = Season.open(path)
    nests, temperatures = season.read("nests"), season.read("temperatures")
    for table, what, cure in (
        (nests, "nest", "a file of nests"),
        (temperatures, "temperature", "a weather station's daily file"),
    ):
        if table.empty:
            raise NotEnoughDataError(f"not enough data: the season holds no {what}; ingest {cure} first")
    return project_sexes(
        with_verified_names(nests),
        daily_weather(temperatures, not_series=logger_names(nests)),
        region=season.settings.get("region"),
        as_of=as_of,
        rng=rng,
        coverage=coverage,
        checks=season.read("checks"),
        loggers=nest_loggers(temperatures, logger_ids=logger_names(nests)),
        forecast=forecast_weather(temperatures, as_of=as_of),
    )
