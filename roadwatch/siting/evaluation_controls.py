"""Sections of road like the one with the measure, to compare it with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray

SECTION_M = 500.0
"""Length of the sections that are compared."""
N_CONTROLS = 20
"""So many sections most like the measure's are its controls, and more where they hold few deaths (a convention)."""
LEAST_CONTROL_DEATHS = 40
"""Controls are added until they hold so many deaths before, so that they do not blur the answer (a convention)."""


@dataclass(frozen=True)
class Surroundings:
    """
    What controls are matched on; every array is (s,), one entry a stretch.

    Parameters
    ----------
    road, road_part, middle_m
        Road, part, and metre of the middle of the stretch.
    length_m
        Its length.
    road_class
        Kind of road, a word.
    traffic
        Vehicles a day, nan where unknown.
    near_water
        True within reach of water; all False without a water layer.
    """

    road: TextArray
    road_part: IntArray
    middle_m: FloatArray
    length_m: FloatArray
    road_class: TextArray
    traffic: FloatArray
    near_water: BoolArray


@dataclass(frozen=True)
class Features:
    """What sections are like: rate before, kind of road, vehicles a day, share near water; each (n,)."""

    rate: FloatArray
    road_class: TextArray
    traffic: FloatArray
    near_water: FloatArray

    def joined(self, other: Features) -> Features:
        """
        These and others behind them.

        Parameters
        ----------
        other
            The others.
        """
        names = ("rate", "road_class", "traffic", "near_water")
        return Features(*(np.concatenate([getattr(self, name), getattr(other, name)]) for name in names))


def sections_of(around: Surroundings, chosen: BoolArray) -> IntArray:
    """
    Cut the chosen stretches of each part of each road into equal sections of about 500 m.

    Parameters
    ----------
    around
        All stretches.
    chosen
        (s,) True for those to cut.

    Returns
    -------
    (s,) Number of the section, 0 upwards; -1 where not chosen.
    """
    rows = np.flatnonzero(chosen)
    found = np.full(len(chosen), -1, dtype=np.int64)
    if not len(rows):
        return found
    table = pd.DataFrame(
        {"road": around.road[rows].astype(str), "part": around.road_part[rows], "m": around.middle_m[rows]}
    )
    by_part = table.groupby(["road", "part"])["m"]
    first, last = by_part.transform("min"), by_part.transform("max")
    run_m = (last - first).to_numpy()
    n_sections = np.maximum(np.round((run_m + around.length_m[rows]) / SECTION_M), 1.0)
    along = (table["m"] - first).to_numpy() / np.maximum(run_m, 1.0)
    number = np.minimum(np.floor(along * n_sections), n_sections - 1.0)
    found[rows] = table.assign(number=number).groupby(["road", "part", "number"]).ngroup().to_numpy()
    return found


def features_of(around: Surroundings, section: IntArray, rate: FloatArray) -> Features:
    """
    Sum up what sections are like.

    Parameters
    ----------
    around
        All stretches.
    section
        (s,) As from ``sections_of``.
    rate
        (n,) Deaths per search-kilometre before, drawn towards the usual.
    """
    held = section >= 0
    table = pd.DataFrame(
        {"road_class": around.road_class, "traffic": around.traffic, "water": around.near_water.astype(float)}
    )[held]
    by_section = table.groupby(section[held])
    return Features(
        rate,
        by_section["road_class"].first().to_numpy(dtype=object),
        by_section["traffic"].mean().to_numpy(),
        by_section["water"].mean().to_numpy(),
    )


def traits_of(around: Surroundings, section: IntArray) -> Features:
    """
    Sum up what sections are like before anything is known of their deaths; the rate is nan.

    Parameters
    ----------
    around, section
        As in ``features_of``.
    """
    n = int(section.max(initial=-1)) + 1
    return features_of(around, section, np.full(n, np.nan))


def nearest_controls(
    impact: Features, candidates: Features, *, deaths_before: FloatArray, n_controls: int = N_CONTROLS
) -> IntArray:
    """
    Choose the sections most like those with the measure, as many as asked and on until they hold 40 deaths before.

    Unlikeness is the difference of the logs of the rates before and of the traffic (none where it is unknown), plus
    1 for another kind of road, plus the difference of the shares near water.

    Parameters
    ----------
    impact
        Sections with the measure; their mean is compared, and the kind of road most of them have.
    candidates
        Sections to choose from.
    deaths_before
        (n,) Deaths in each candidate before.
    n_controls
        How many to choose at least.

    Returns
    -------
    (k,) Numbers of the chosen candidates, the most alike first.
    """
    rate, water = impact.rate.mean(), impact.near_water.mean()
    known = impact.traffic[np.isfinite(impact.traffic)]
    usual = pd.Series(impact.road_class).mode(dropna=False).iloc[0]
    traffic = np.abs(np.log(np.maximum(candidates.traffic, 1.0) / max(known.mean(), 1.0))) if len(known) else 0.0
    apart = (
        np.abs(np.log(candidates.rate / rate))
        + np.nan_to_num(traffic)
        + (candidates.road_class != usual)
        + np.abs(candidates.near_water - water)
    )
    order = np.argsort(apart, kind="stable").astype(np.int64)
    enough = int(np.searchsorted(np.cumsum(deaths_before[order]), LEAST_CONTROL_DEATHS)) + 1
    return order[: max(n_controls, enough)]
