"""Density along the road of each hotspot, beside what chance alone would show there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError
from roadwatch.hotspots.assembly import assemble
from roadwatch.hotspots.density import kernel_matrix
from roadwatch.hotspots.null import relocate

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from scipy import sparse

    from roadwatch.hotspots.null import Scatter
    from roadwatch.hotspots.paths import Split
    from roadwatch.hotspots.search import HotspotResult
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

OUTSIDE = 0.05
"""Chance that a scattering lies outside the band at any one place."""

LEAST_DRAWS = 39
"""Scatterings with which the band can be one of 95 %: one in 40 lies above each side of it."""


@dataclass(frozen=True)
class RoadCurve:
    """
    Density along the road of one hotspot, with the band of the scatterings.

    Parameters
    ----------
    road, road_part
        The road, and the part of it.
    road_m
        (k,) Metres along the road of the middle of each stretch, increasing.
    density
        (k,) Weighted records per kilometre, as in ``HotspotResult.stretches``.
    expected
        (k,) Density under the baseline; nan where the road was never searched.
    band_low, band_high
        (k,) Pointwise 95 % band: at any one place at most 5 % of scatterings lie outside it, somewhere along the road
        many more do. So it shows what chance does at a place; what is a hotspot, the test over the whole map says. nan
        where the road was never searched.
    from_m, to_m
        The hotspot itself.
    half_width_m
        Half-width of the kernel.
    n_draws
        Scatterings behind the band.
    """

    road: str
    road_part: int
    road_m: FloatArray
    density: FloatArray
    expected: FloatArray
    band_low: FloatArray
    band_high: FloatArray
    from_m: float
    to_m: float
    half_width_m: float
    n_draws: int


def road_curves(
    found: HotspotResult,
    network: Network,
    stretches: Stretches,
    records: pd.DataFrame,
    *,
    effort_km: FloatArray | Mapping[int, FloatArray] | None,
    rng: np.random.Generator,
    exposure: FloatArray | None = None,
    beyond: str = "search",
    half_width_m: float = 300.0,
    kernel: str = "epanechnikov",
    split: Split = "continuous",
    n_draws: int = 199,
    beside_m: float = 1500.0,
) -> tuple[RoadCurve, ...]:
    """
    Follow the density along the road of each hotspot, beside what the baseline and chance alone would show there.

    Parameters
    ----------
    found
        What ``find_hotspots`` found.
    network, stretches, records, effort_km, exposure, beyond, half_width_m, kernel, split
        As they were given to ``find_hotspots``.
    rng
        Source of chance for the scatterings, which all hotspots share.
    n_draws
        Number of scatterings; with 39, 79, 119 and so on the band is exact.
    beside_m
        Metres of road shown on either side of a hotspot.

    Returns
    -------
    One curve a row of ``found.hotspots``, in the same order.

    Raises
    ------
    NotEnoughDataError
        As ``find_hotspots``.
    UsageError
        There are fewer than 39 scatterings, or as ``find_hotspots``.

    Source
    ------
    besag_diggle1977
    """
    if n_draws < LEAST_DRAWS:
        raise UsageError(f"{n_draws} draws cannot show a band of 95 %; ask for at least {LEAST_DRAWS}, better 199")
    if found.hotspots.empty:
        return ()
    made = assemble(network, stretches, records, effort_km=effort_km, exposure=exposure, beyond=beyond)
    middle_m = (made.study.table["from_m"] + made.study.table["to_m"]).to_numpy(dtype=np.float64) / 2.0
    hotspots = [row for _, row in found.hotspots.iterrows()]
    windows = [_window(hotspot, made.study.table, middle_m, beside_m) for hotspot in hotspots]
    shown = np.unique(np.concatenate(windows))
    spread = kernel_matrix(network, stretches, half_width_m=half_width_m, kernel=kernel, split=split)[shown]
    curves = _curves(made.scatter, spread, n_draws=n_draws, rng=rng)
    curves[1:, made.scatter.chance.sum(axis=0)[shown] <= 0.0] = np.nan
    drawn = []
    for hotspot, window in zip(hotspots, windows, strict=True):
        road, part, from_m, to_m = (hotspot[name] for name in ("road", "road_part", "from_m", "to_m"))
        density, expected, low, high = curves[:, np.searchsorted(shown, window)]
        along_m = middle_m[window]
        drawn.append(RoadCurve(road, part, along_m, density, expected, low, high, from_m, to_m, half_width_m, n_draws))
    return tuple(drawn)


def _window(hotspot: pd.Series, table: pd.DataFrame, middle_m: FloatArray, beside_m: float) -> IntArray:
    """Stretches of the hotspot's road about it, along the road."""
    is_near = (table["road"] == hotspot["road"]) & (table["road_part"] == hotspot["road_part"])
    is_near &= (middle_m >= hotspot["from_m"] - beside_m) & (middle_m <= hotspot["to_m"] + beside_m)
    near = np.flatnonzero(is_near)
    return np.asarray(near[np.argsort(middle_m[near], kind="stable")], dtype=np.int64)


def _curves(scatter: Scatter, spread: sparse.csr_array, *, n_draws: int, rng: np.random.Generator) -> FloatArray:
    """(4, k) Density per kilometre: as seen, as expected, and both sides of the band; for (k, n) rows of a kernel."""
    column = np.unique(spread.indices)
    weight, _ = scatter.movable()
    place = np.full(spread.shape[1], -1, dtype=np.int64)
    place[column] = np.arange(len(column))
    drawn = place[next(relocate(scatter, n_draws=n_draws, draws_per_block=n_draws, rng=rng))]
    draw, record = np.nonzero(drawn >= 0)
    cell = drawn[draw, record] * n_draws + draw
    counts = np.bincount(cell, weight[record], len(column) * n_draws).reshape(len(column), n_draws)
    density = np.sort(np.asarray(spread[:, column] @ counts, dtype=np.float64), axis=1)
    beyond = int(OUTSIDE / 2.0 * (n_draws + 1) + 1e-9)
    seen, expected = (np.asarray(spread @ of, dtype=np.float64) for of in (scatter.observed(), scatter.expected()))
    return 1000.0 * np.stack([seen, expected, density[:, beyond - 1], density[:, n_draws - beyond]])
