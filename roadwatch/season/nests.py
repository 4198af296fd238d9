"""From the season's nests, checks and temperatures to hatch windows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.development import hatch_tables
from roadwatch.hatch.forecasts import forecast_weather
from roadwatch.hatch.temperatures import daily_weather, nest_loggers
from roadwatch.hatch.window import project_windows
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.records.store import Season
from roadwatch.season.nest_taxa import nest_candidates, with_verified_names
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date
    from pathlib import Path

    import geopandas as gpd
    import numpy as np
    import pandas as pd

    from roadwatch.hatch.chances import HatchDraws


@dataclass(frozen=True)
class NestWindows:
    """
    Windows for every nest; ``places`` adds where each nest is, so it is for the team only.

    ``causes`` says where each width comes from, where that was asked; ``draws`` are the hatching days behind each row.
    """

    table: pd.DataFrame
    places: gpd.GeoDataFrame
    notes: tuple[str, ...]
    causes: pd.DataFrame | None = None
    draws: tuple[HatchDraws | None, ...] = ()


def season_windows(
    path: Path,
    *,
    as_of: date,
    rng: np.random.Generator,
    coverage: float = 0.8,
    explain: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> NestWindows:
    """
    Project every nest of the season from laying to hatching, as seen on a given day.

    Parameters
    ----------
    path
        The season file.
    as_of
        The day on which the reader stands; later temperatures are not used.
    rng
        Source of chance for parameters, offsets and laying dates.
    coverage
        Share of nests whose hatching should fall inside the window.
    explain
        Whether to work out where the widths come from.
    progress
        Called with nests done and nests in all.

    Raises
    ------
    NotEnoughDataError
        No nest, no temperature, or no region whose parameters apply.
    """
    season = Season.open(path)
    nests, temperatures = season.read("nests"), season.read("temperatures")
    if nests.empty:
        raise NotEnoughDataError("not enough data: the season holds no nest; ingest a file of nests first")
    if temperatures.empty:
        raise NotEnoughDataError(
            "not enough data: the season holds no temperature; ingest a weather station's daily file (GHCN-Daily) first"
        )
    region = season.settings.get("region")
    named = with_verified_names(nests)
    own = tables_folder(season)
    identification = identify_tables(own)
    candidates = nest_candidates(named, region=region, tables=identification)
    windows = project_windows(
        named,
        daily_weather(temperatures, not_series=logger_names(nests)),
        region=region,
        as_of=as_of,
        coverage=coverage,
        rng=rng,
        checks=season.read("checks"),
        loggers=nest_loggers(temperatures, logger_ids=logger_names(nests)),
        forecast=forecast_weather(temperatures, as_of=as_of),
        tables=hatch_tables(own),
        candidates=candidates,
        explain=explain,
        found_by_then=True,
        progress=progress,
    )
    places = nests[["nest_id", "geometry"]].merge(windows.table, on="nest_id", how="right")
    named_by = (version_note(identification),) if candidates else ()
    return NestWindows(windows.table, places, (*windows.notes, *named_by), windows.causes, windows.draws)


def logger_names(nests: pd.DataFrame) -> list[object]:
    """Every cell of the nests that names loggers, in them or elsewhere on their site."""
    columns = [name for name in ("logger_id", "site_logger_id") if name in nests.columns]
    return [value for name in columns for value in nests[name]]
