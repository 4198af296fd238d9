"""From the season's nests and temperatures to shares of females."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.development import hatch_tables
from roadwatch.hatch.forecasts import forecast_weather
from roadwatch.hatch.sex_ratio import SexRatios, project_sexes
from roadwatch.hatch.temperatures import daily_weather, nest_loggers
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.records.store import Season
from roadwatch.season.nest_taxa import nest_candidates, with_verified_names
from roadwatch.season.nests import logger_names
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    import numpy as np
    import pandas as pd

    from roadwatch.identify.tables import Tables


def season_sex_ratios(path: Path, *, as_of: date, rng: np.random.Generator, coverage: float = 0.8) -> SexRatios:
    """
    Project the share of females of every nest of the season.

    Parameters
    ----------
    path
        The season file.
    as_of
        The day on which the reader stands; later temperatures are not used, and nests found later have no share.
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
    region, own = season.settings.get("region"), tables_folder(season)
    named, names = with_verified_names(nests), identify_tables(own)
    found = project_sexes(
        named,
        daily_weather(temperatures, not_series=logger_names(nests)),
        region=region,
        as_of=as_of,
        rng=rng,
        coverage=coverage,
        checks=season.read("checks"),
        loggers=nest_loggers(temperatures, logger_ids=logger_names(nests)),
        forecast=forecast_weather(temperatures, as_of=as_of),
        tables=hatch_tables(own),
        found_by_then=True,
    )
    return _with_doubt_of_names(found, nest_candidates(named, region=region, tables=names), names)


def _with_doubt_of_names(found: SexRatios, candidates: Mapping[str, Mapping[str, float]], tables: Tables) -> SexRatios:
    """Say of each share how probable the taxon is whose curve was used; the share itself is of that taxon alone."""

    def told(row: pd.Series) -> str:
        shares = candidates.get(str(row["nest_id"]), {})
        p = sum(share for taxon, share in shares.items() if tables.tree.is_within(taxon, row["taxon"]))
        return f"{row['note']}; holds for {row['taxon']}, of probability {p:.2f} only"

    doubted = found.table["nest_id"].astype(str).isin(candidates) & (found.table["basis"] != "none")
    if not doubted.any():
        return found
    table = found.table.copy()
    table.loc[doubted, "note"] = table[doubted].apply(told, axis=1)
    note = (
        f"Nests with a share that are not named for certain: {int(doubted.sum())}. Their share is that of the name as "
        "written, not mixed over what else they may be; each says in its note how probable that name is."
    )
    return replace(found, table=table, notes=(*found.notes, note, version_note(tables)))
