"""Would the map of other years have told where a season's animals died, and do its dead lie together at all?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.k_function import ClusteringTest, clustering_test
from roadwatch.hotspots.validation import Validation, validate_hotspots
from roadwatch.roads.near import stretches_near

if TYPE_CHECKING:
    from roadwatch.season.mortality import Mortality

RADII_M = (100.0, 200.0, 300.0, 500.0, 1000.0)
"""Distances along the roads at which records are asked whether they lie together."""

N_DRAWS = 199
MOST_RECORDS = 1000
"""Of more records so many are drawn: the time grows with their square."""


@dataclass(frozen=True)
class SeasonChecks:
    """
    What speaks for or against a map of hotspots, besides the map.

    Parameters
    ----------
    validation
        Whether other years would have told where each year's records lay; None where one year is all there is.
    clustering
        Whether the records lie together along the roads at all, over all years.
    notes
        What both mean and what they do not.
    """

    validation: Validation | None
    clustering: ClusteringTest
    notes: tuple[str, ...]


def check_mortality(mortality: Mortality, *, rng: np.random.Generator, half_width_m: float = 300.0) -> SeasonChecks:
    """
    Ask whether the map predicts, and whether there is anything to map.

    Parameters
    ----------
    mortality
        The deaths, as they were tested.
    rng
        Source of chance for the scatterings.
    half_width_m
        Half-width of the kernel along the roads, metres.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five records.
    """
    clustered = clustering_of(mortality, rng=rng)
    on_clusters = (_clustering_words(clustered), *clustered.notes)
    try:
        checked = validate_mortality(mortality, half_width_m=half_width_m)
    except NotEnoughDataError as error:
        return SeasonChecks(
            None, clustered, (f"Whether other years would have told cannot be asked: {error}.", *on_clusters)
        )
    return SeasonChecks(checked, clustered, (*checked.notes, *on_clusters))


def clustering_of(mortality: Mortality, *, rng: np.random.Generator) -> ClusteringTest:
    """
    Test whether a season's dead lie together along the roads at all, beyond where people searched.

    Parameters
    ----------
    mortality
        The deaths; each counts where it lies most likely.
    rng
        Source of chance for the scatterings.

    Raises
    ------
    NotEnoughDataError
        There are fewer than five records.

    Source
    ------
    okabe_yamada2001
    """
    likeliest = mortality.records.sort_values("weight", kind="stable").drop_duplicates("record_id", keep="last")
    if len(likeliest) > MOST_RECORDS:
        likeliest = likeliest.iloc[np.sort(rng.choice(len(likeliest), MOST_RECORDS, replace=False))]
    chance = None
    if mortality.effort_km is not None:
        searched = np.nansum([np.nan_to_num(km) for km in mortality.effort_km.values()], axis=0)
        by_edge = np.bincount(mortality.stretches.edge, searched, len(mortality.network.edges))
        chance = by_edge.astype(np.float64)
    return clustering_test(
        mortality.network,
        likeliest["edge"].to_numpy(dtype=np.int64),
        likeliest["offset_m"].to_numpy(dtype=np.float64),
        radius_m=np.array(RADII_M),
        rng=rng,
        n_draws=N_DRAWS,
        edge_chance=chance,
    )


def _clustering_words(found: ClusteringTest) -> str:
    """How many times the neighbours that chance gives each record has, and how rare that is."""
    times = found.k_m / found.k_expected_m
    told = ", ".join(f"{ratio:.1f} within {radius:.0f} m" for ratio, radius in zip(times, found.radius_m, strict=True))
    return (
        f"Neighbours of a record along the roads, in times what scattering over the searched roads gives: {told}; so "
        f"many or more in {found.p_value:.3f} of scatterings (global p)."
    )


def validate_mortality(mortality: Mortality, *, half_width_m: float = 300.0) -> Validation:
    """
    Leave out each year in turn and ask whether the others would have told where its animals died.

    Parameters
    ----------
    mortality
        The deaths, as they were tested.
    half_width_m
        Half-width of the kernel along the roads, metres.

    Raises
    ------
    NotEnoughDataError
        Records of one year only, or too few.
    """
    water = mortality.season.read("water")
    near_water = stretches_near(mortality.network, mortality.stretches, water) if len(water) else None
    return validate_hotspots(
        mortality.network,
        mortality.stretches,
        mortality.records,
        effort_km=mortality.effort_km,
        half_width_m=half_width_m,
        near_water=near_water,
    )
