"""From the season's crossings, roads and searches to ranked hotspots."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.search import HotspotResult, find_hotspots
from roadwatch.identify.confidence import asked_taxon
from roadwatch.identify.identities import identities
from roadwatch.identify.tables import identify_tables, version_note
from roadwatch.records.store import Season
from roadwatch.roads.effort import search_effort
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.stretches import Stretches, cut_stretches
from roadwatch.season.carcass_trials import killed_words, season_carcass_trial
from roadwatch.season.open_season import OpenSeason
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.road_records import (
    RoadRecords,
    counted_once,
    dead_on_roads,
    in_parts,
    sure_of,
    weigh_by_taxon,
)
from roadwatch.season.taxon_counts import counts_by_taxon
from roadwatch.season.unknown_effort import stand_out_unsearched

if TYPE_CHECKING:
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd

    from roadwatch.identify.identities import Identities
    from roadwatch.roads.arrays import BoolArray

Progress = Callable[[int, int], None]

FOR_THE_TEAM = (
    "Found from all records, also those whose places the public must not see: for the team. A public map or report "
    "finds its own from what is public."
)
NAME_SETS = 20
"""Sets of names drawn for the records where a taxon is asked for."""


@dataclass(frozen=True)
class Mortality:
    """
    A season's deaths on its roads, ready to be tested.

    Parameters
    ----------
    season, network, stretches
        The open season, its roads, and the stretches cut from them.
    records
        Records to test, one row a part: ``edge offset_m weight year date observer record_id count`` and their own
        columns; where searches are on file, those found on them.
    chance_finds
        The others, in the same columns: their effort is unknown. Empty where no search is on file.
    effort_km
        Kilometres searched by year on each stretch, nan where unknown; None where no search is on file.
    asked, sure
        Canonical name of the taxon asked for, None for all; how sure we are of each of the dead on roads that can be
        of it, by the column ``row`` of the records; None where nothing says how common taxa are in the region.
    counts
        Animals of each taxon to expect among the dead on roads; empty where ``sure`` is None.
    notes
        What was left out, merged, weighed and assumed, in words.
    """

    season: Season
    network: Network
    stretches: Stretches
    records: pd.DataFrame
    chance_finds: pd.DataFrame
    effort_km: dict[int, np.ndarray] | None
    asked: str | None
    sure: Identities | None
    counts: pd.DataFrame
    notes: tuple[str, ...]

    def drawn_sets(self, rng: np.random.Generator) -> BoolArray | None:
        """(sets, r) True where a row's record is of the taxon asked for, in sets of drawn names; None for all taxa."""
        if self.asked is None or self.sure is None:
            return None
        drawn = self.sure.drawn_within(self.asked, n_sets=NAME_SETS, rng=rng)
        return np.asarray(drawn[:, self.records["row"].to_numpy(dtype=np.int64)])


@dataclass(frozen=True)
class SeasonHotspots(HotspotResult):
    """
    Hotspots of a season.

    Parameters
    ----------
    mortality
        What was tested.
    unknown_effort
        Places where chance finds stand out from road length alone, columns as the hotspots, status ``effort unknown``.
    counts_by_taxon
        Animals of each taxon to expect among all the dead on roads: ``taxon expected identity_variance low high``.
    tables_version
        Version of the identification tables, None where they were not used.
    """

    mortality: Mortality
    unknown_effort: gpd.GeoDataFrame
    counts_by_taxon: pd.DataFrame
    tables_version: str | None


def mortality_of(season: Season, *, taxon: str | None = None, years: tuple[int, int] | None = None) -> Mortality:
    """
    Get a season's deaths on its roads ready to be tested.

    Parameters
    ----------
    season
        An open season.
    taxon
        Count this taxon only, by probability; None counts all turtles.
    years
        First and last year, both included.

    Raises
    ------
    UsageError
        The taxon is not known.
    NotEnoughDataError
        No dead record can be used, or nothing says how common taxa are where one is asked for.
    """
    network = build_network(season.read("roads"))
    stretches = cut_stretches(network)
    records = dead_on_roads(season, network, years=years)
    tables, region = identify_tables(tables_folder(season)), season.settings.get("region")
    asked = asked_taxon(taxon, tables=tables) if taxon else None
    whole = records.table.assign(row=np.arange(len(records.table)))
    sure = identities(whole, region=region, tables=tables) if asked else sure_of(whole, region=region, tables=tables)
    records = RoadRecords(whole, records.notes, records.animals)
    if taxon and sure is not None:
        records = weigh_by_taxon(records, taxon=taxon, sure=sure)
    told = () if sure is None else (*sure.notes, version_note(tables))
    tested, rest, effort_km, effort_notes = _searched(season, network, stretches, records.table, years=years)
    tested, doubt = counted_once(tested, records.animals)
    rest, _ = counted_once(rest, records.animals)
    return Mortality(
        season,
        network,
        stretches,
        in_parts(network, stretches, tested),
        in_parts(network, stretches, rest),
        effort_km,
        asked,
        sure,
        counts_by_taxon(sure, whole["count"].to_numpy(dtype=float)),
        (*records.notes, *doubt, *told, *effort_notes, *(() if isinstance(season, OpenSeason) else (FOR_THE_TEAM,))),
    )


def season_hotspots(
    season: Path | Season,
    *,
    rng: np.random.Generator,
    taxon: str | None = None,
    years: tuple[int, int] | None = None,
    half_width_m: float = 300.0,
    beyond: str = "search",
    n_draws: int = 999,
    carcass_trial: Path | None = None,
    progress: Progress | None = None,
) -> SeasonHotspots:
    """
    Rank the stretches where more animals were found dead than the baseline explains.

    Parameters
    ----------
    season
        The season file, or an open season: for the public one that holds only what is public.
    rng
        Source of chance for the re-scattering and the names.
    taxon
        Count this taxon only, by probability; None counts all turtles.
    years
        First and last year, both included.
    half_width_m
        Half-width of the kernel along the roads, metres; half and twice of it are tested beside it.
    beyond
        ``search``, or ``traffic`` for what search and a fitted traffic curve do not explain.
    n_draws
        Number of re-scatterings.
    carcass_trial
        Table of a trial with placed carcasses: rates of animals killed are told beside deaths; the test is the same.
    progress
        Called with draws done and draws in all.

    Raises
    ------
    UsageError
        The season does not exist, or the taxon is not known.
    NotEnoughDataError
        Too few records for an answer; the message says what is missing.
    """
    opened = season if isinstance(season, Season) else Season.open(season)
    ready = mortality_of(opened, taxon=taxon, years=years)
    names_rng, finds_rng, trial_rng = rng.spawn(3)
    trial = None
    if carcass_trial is not None:
        trial = season_carcass_trial(carcass_trial, opened, ready.network, ready.stretches)
    found = find_hotspots(
        ready.network,
        ready.stretches,
        ready.records,
        effort_km=ready.effort_km,
        beyond=beyond,
        half_width_m=half_width_m,
        n_draws=n_draws,
        rng=rng,
        trial=trial,
        is_of=ready.drawn_sets(names_rng),
        progress=progress,
    )
    alone, alone_notes = stand_out_unsearched(
        ready.network, ready.stretches, ready.chance_finds, half_width_m=half_width_m, n_draws=n_draws, rng=finds_rng
    )
    return SeasonHotspots(
        hotspots=found.hotspots,
        stretches=found.stretches,
        watch_list=found.watch_list,
        notes=(*ready.notes, *found.notes, *alone_notes, *killed_words(trial, rng=trial_rng)),
        null=found.null,
        mortality=ready,
        unknown_effort=alone,
        counts_by_taxon=ready.counts,
        tables_version=None if ready.sure is None else ready.sure.tables.version,
    )


def _searched(
    season: Season, network: Network, stretches: Stretches, table: pd.DataFrame, *, years: tuple[int, int] | None
) -> tuple[pd.DataFrame, pd.DataFrame, dict[int, np.ndarray] | None, tuple[str, ...]]:
    """Records to test, chance finds, effort: with searches on file only what they found is tested."""
    searches = season.read("searches")
    if years and len(searches):
        searches = searches[searches["started_at"].str[:4].astype(int).between(*years)]
    if searches.empty:
        return table, table.iloc[:0], None, ()
    effort = search_effort(network, stretches, searches)
    if not effort.total_km > 0.0:
        raise NotEnoughDataError(
            f"not enough data: {len(searches)} searches are on file, and none covers any road of the layer "
            f"({'; '.join(effort.notes) or 'no road name and no track'}); write their roads as the layer names them"
        )
    found = table["search_id"].isin(searches["search_id"])
    n_finds = int((~found).sum())
    finds = "the one chance find is" if n_finds == 1 else f"the {n_finds} chance finds are"
    notes = (
        (
            f"{effort.total_km:.0f} km searched in {len(searches)} searches; {int(found.sum())} of {len(found)} placed "
            f"dead records were found on them and are tested; {finds} not tested with them."
        ),
        *effort.notes,
    )
    return table[found].reset_index(drop=True), table[~found].reset_index(drop=True), effort.km_by_year, notes
