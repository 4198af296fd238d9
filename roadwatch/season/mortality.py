"""From the season's crossings, roads and searches to ranked hotspots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.search import HotspotResult, find_hotspots
from roadwatch.identify.confidence import asked_taxon, probability_of
from roadwatch.identify.tables import identify_tables
from roadwatch.records.store import Season
from roadwatch.roads.effort import search_effort
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.stretches import Stretches, cut_stretches
from roadwatch.season.animals import find_animals
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.identify.tables import Tables

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class RoadRecords:
    """Dead animals on roads, one row each, ready to be counted; and in words what was left out or merged."""

    table: pd.DataFrame
    notes: tuple[str, ...]


def dead_on_roads(season: Season, network: Network, *, years: tuple[int, int] | None) -> RoadRecords:
    """
    Take the dead records of the years asked for, merge doubles, and put each on the network.

    Parameters
    ----------
    season
        An open season.
    network
        Its road network.
    years
        First and last year, both included; None takes all.

    Returns
    -------
    Rows with ``edge offset_m weight year date observer search_id`` beside their own columns, weight being animals.

    Raises
    ------
    NotEnoughDataError
        No dead record remains.
    """
    animals = find_animals(season, network)
    year = animals.records["observed_at"].str[:4].astype(int) if len(animals.records) else pd.Series(dtype=int)
    wanted = (animals.records["condition"] == "dead") & (year.between(*years) if years else True)
    if not wanted.any():
        span = f" in {years[0]}-{years[1]}" if years else ""
        raise NotEnoughDataError(f"not enough data: no dead record{span}; ingest crossings with condition 'dead'")
    kept = animals.merged_view(wanted.to_numpy())
    kept = kept.assign(
        weight=kept["count"],
        year=kept["observed_at"].str[:4].astype(int),
        date=kept["observed_at"].str[:10],
    )
    on_road = kept[kept["edge"] >= 0].reset_index(drop=True)
    dead, other = int(wanted.sum()), int((~wanted).sum())
    notes = (
        f"{dead} dead records used; {other} others (alive, injured, unknown, or other years) are not counted.",
        *animals.notes(wanted.to_numpy()),
        f"{len(kept) - len(on_road)} not placed on a road (too far from one); listed at intake, not counted here.",
    )
    return RoadRecords(on_road, notes)


def weigh_by_taxon(
    records: RoadRecords, *, taxon: str, region: str | None, tables: Tables | None = None
) -> RoadRecords:
    """
    Weigh each record by the probability that it is of the taxon asked for.

    Raises
    ------
    UsageError
        The taxon is not known.
    NotEnoughDataError
        No record can be of that taxon.
    """
    asked = asked_taxon(taxon, tables=tables)
    p = probability_of(asked, records.table, region=region, tables=tables)
    table = records.table.assign(weight=records.table["weight"] * p)[p > 0].reset_index(drop=True)
    if table.empty:
        raise NotEnoughDataError(f"not enough data: no dead record can be {asked}; ask for a wider group")
    expected, spread = p.sum(), np.sqrt((p * (1 - p)).sum())
    note = (
        f"Each record counts by the probability that it is {asked} (the observer's certainty; the rest is shared among "
        f"other taxa by how common and how alike they are): {expected:.1f} expected among {len(p)}, "
        f"give or take {spread:.1f} from identity alone."
    )
    return RoadRecords(table, (*records.notes, note))


def season_hotspots(
    path: Path,
    *,
    rng: np.random.Generator,
    taxon: str | None = None,
    years: tuple[int, int] | None = None,
    half_width_m: float = 300.0,
    n_draws: int = 999,
    progress: Progress | None = None,
) -> HotspotResult:
    """
    Rank the stretches where more animals were found dead than the search alone explains.

    Parameters
    ----------
    path
        The season file.
    rng
        Source of chance for the re-scattering.
    taxon
        Count this taxon only, by probability; None counts all turtles.
    years
        First and last year, both included.
    half_width_m
        Half-width of the kernel along the roads, metres.
    n_draws
        Number of re-scatterings.
    progress
        Called with draws done and draws in all.

    Raises
    ------
    UsageError
        The season does not exist, or the taxon is not known.
    NotEnoughDataError
        Too few records for an answer; the message says what is missing.
    """
    season = Season.open(path)
    network = build_network(season.read("roads"))
    stretches = cut_stretches(network)
    records = dead_on_roads(season, network, years=years)
    if taxon:
        tables = identify_tables(tables_folder(season))
        records = weigh_by_taxon(records, taxon=taxon, region=season.settings.get("region"), tables=tables)
    table, effort_km, effort_notes = _searched(season, network, stretches, records, years=years)
    result = find_hotspots(
        network,
        stretches,
        table,
        effort_km=effort_km,
        half_width_m=half_width_m,
        n_draws=n_draws,
        rng=rng,
        progress=progress,
    )
    return replace(result, notes=(*records.notes, *effort_notes, *result.notes))


def _searched(
    season: Season, network: Network, stretches: Stretches, records: RoadRecords, *, years: tuple[int, int] | None
) -> tuple[pd.DataFrame, dict[int, np.ndarray] | None, tuple[str, ...]]:
    """Where people looked: with searches on file only what they found is tested; without, nothing is known."""
    searches = season.read("searches")
    if years and len(searches):
        searches = searches[searches["started_at"].str[:4].astype(int).between(*years)]
    if searches.empty:
        return records.table, None, ()
    effort = search_effort(network, stretches, searches)
    found = records.table["search_id"].isin(searches["search_id"])
    notes = (
        (
            f"{effort.total_km:.0f} km searched in {len(searches)} searches; {int(found.sum())} of {len(found)} placed "
            "dead records were found on them and are tested; the chance finds are not tested."
        ),
        *effort.notes,
    )
    return records.table[found].reset_index(drop=True), effort.km_by_year, notes
