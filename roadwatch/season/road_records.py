"""Dead animals on roads: doubles counted once, each by its chance to be of a taxon and to lie on a stretch."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.repeats import new_animal_chance, supported_elsewhere
from roadwatch.identify.confidence import asked_taxon
from roadwatch.identify.identities import Identities, identities
from roadwatch.records.double_values import value
from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M
from roadwatch.roads.snap import snap
from roadwatch.roads.spread import spread_records
from roadwatch.season.animals import Animals, find_animals

if TYPE_CHECKING:
    from roadwatch.identify.tables import Tables
    from roadwatch.records.store import Season
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

LEAST_APART_DEG = 1e-6
"""Places no farther apart than this, about a tenth of a metre, are one point."""


@dataclass(frozen=True)
class RoadRecords:
    """Dead animals on roads, one row each; in words what was left out or merged; and the animals of all records."""

    table: pd.DataFrame
    notes: tuple[str, ...]
    animals: Animals


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
        No dead record remains, none lies near a road, or all lie on one point.
    """
    animals = find_animals(season, network)
    year = animals.records["observed_at"].str[:4].astype(int) if len(animals.records) else pd.Series(dtype=int)
    wanted = (animals.records["condition"] == "dead") & (year.between(*years) if years else True)
    if not wanted.any():
        span = f" in {years[0]}-{years[1]}" if years else ""
        raise NotEnoughDataError(f"not enough data: no dead record{span}; ingest crossings with condition 'dead'")
    kept = animals.merged_view(wanted.to_numpy())
    kept = kept.assign(
        record_id=kept["record_key"].astype(object),
        weight=kept["count"],
        year=kept["observed_at"].str[:4].astype(int),
        date=kept["observed_at"].str[:10],
    )
    on_road = kept[kept["edge"] >= 0].reset_index(drop=True)
    _refuse_useless_places(kept, on_road)
    merged, undecided = animals.notes(wanted.to_numpy())
    left = (
        f"{undecided.partition(' and counted')[0]}: the later record counts by the chance that it is a new animal; "
        "see 'roadwatch doubles'."
    )
    dead, other = int(wanted.sum()), int((~wanted).sum())
    notes = (
        f"{dead} dead records used; {other} others (alive, injured, unknown, or other years) are not counted.",
        merged,
        left,
        f"{len(kept) - len(on_road)} not placed on a road (too far from one); listed at intake, not counted here.",
    )
    return RoadRecords(on_road, notes, animals)


def _refuse_useless_places(kept: pd.DataFrame, on_road: pd.DataFrame) -> None:
    """Say so where no record lies near a road, or all lie on one point."""
    if on_road.empty:
        raise NotEnoughDataError(
            f"not enough data: none of the {len(kept)} dead records lies near a road of the layer; "
            "check that roads and records are of one county"
        )
    places = on_road[["longitude", "latitude"]].to_numpy(dtype=float)
    if len(places) > 1 and (np.ptp(places, axis=0) <= LEAST_APART_DEG).all():
        longitude, latitude = places[0]
        raise NotEnoughDataError(
            f"not enough data: all {len(places)} dead records on roads lie on one point (longitude {longitude:.5f}, "
            f"latitude {latitude:.5f}); with nothing elsewhere no place stands out. Is it where they were found, or "
            "what a device or a form fills in?"
        )


def sure_of(records: pd.DataFrame, *, region: str | None, tables: Tables) -> Identities | None:
    """How sure we are of each record; None where nothing says how common taxa are in the region."""
    try:
        return identities(records, region=region, tables=tables)
    except NotEnoughDataError:
        return None


def weigh_by_taxon(records: RoadRecords, *, taxon: str, sure: Identities) -> RoadRecords:
    """
    Weigh each record by the probability that it is of the taxon asked for.

    Parameters
    ----------
    records
        The dead on roads.
    taxon
        Any name of the taxon, of any rank.
    sure
        How sure we are of each of them.

    Returns
    -------
    The records that can be of the taxon, with ``identity``, the probability by which the weight was multiplied.

    Raises
    ------
    UsageError
        The taxon is not known.
    NotEnoughDataError
        No record can be of that taxon.
    """
    asked = asked_taxon(taxon, tables=sure.tables)
    p = sure.of(asked)
    table = records.table.assign(weight=records.table["weight"] * p, identity=p)[p > 0].reset_index(drop=True)
    if table.empty:
        raise NotEnoughDataError(f"not enough data: no dead record can be {asked}; ask for a wider group")
    expected, spread = p.sum(), np.sqrt((p * (1 - p)).sum())
    note = (
        f"Each record counts by the probability that it is {asked} (the observer's certainty; the rest is shared among "
        f"other taxa by how common and how alike they are): {expected:.1f} expected among {len(p)}, "
        f"give or take {spread:.1f} from identity alone."
    )
    return RoadRecords(table, (*records.notes, note), records.animals)


def counted_once(table: pd.DataFrame, animals: Animals) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """
    Weigh each animal by the chance that it is none of the others of the table: doubles that are not certain.

    Weights rather than a second run without possible doubles, because only the test itself keeps the rate of false
    alarms; chances learnt away from the place, because otherwise a culvert with many deaths argues itself away.

    Parameters
    ----------
    table
        Records, one row an animal, with ``animal weight``.
    animals
        The animals of all records of the season.

    Returns
    -------
    (table, notes) The same with new weights, and what they take away, in words.
    """
    pairs, animal = animals.doubles.pairs, animals.records["animal"].to_numpy(dtype=np.int64)
    is_used = np.isin(animal, table["animal"])
    first, second = (pairs[name].to_numpy(dtype=np.int64) for name in ("a", "b"))
    told = pairs["decided"].to_numpy(dtype=np.float64) if "decided" in pairs else np.full(len(pairs), np.nan)
    p = np.where(np.isnan(told), pairs["p"].to_numpy(dtype=np.float64), told)
    p = supported_elsewhere(
        first,
        second,
        p,
        n_records=max(len(animal), 1),
        expected=value("expected_resightings") + value("expected_copies"),
        weight=value("weight_of_expectation"),
    )
    both = is_used[first] & is_used[second] & (animal[first] != animal[second])
    chance = new_animal_chance(animal, first[both], second[both], p[both])[table["animal"].to_numpy(dtype=np.int64)]
    weighed = table.assign(weight=table["weight"] * chance)
    taken = float(table["weight"].sum() - weighed["weight"].sum())
    if taken < 0.05:
        return weighed, ()
    left = f"That some of the tested records may be of one animal takes {taken:.1f} from their weights."
    return weighed, (left,)


def in_parts(network: Network, stretches: Stretches, table: pd.DataFrame) -> pd.DataFrame:
    """
    One row for each stretch on which each record may lie, with its share of the weight, by position error.

    Parameters
    ----------
    network, stretches
        The roads, and the stretches cut from them.
    table
        Records, one row an animal, with ``x_m y_m position_error_m weight``.
    """
    if table.empty:
        return table
    x_m, y_m, error_m = (table[name].to_numpy(dtype=float) for name in ("x_m", "y_m", "position_error_m"))
    error_m = np.where(np.isnan(error_m), DEFAULT_POSITION_ERROR_M, error_m)
    placed = snap(network, x_m, y_m, position_error_m=error_m)
    spread = spread_records(network, stretches, placed, x_m, y_m, position_error_m=error_m)
    parts = table.iloc[spread.record].reset_index(drop=True)
    return parts.assign(edge=spread.edge, offset_m=spread.offset_m, weight=parts["weight"] * spread.share)
