"""
A plain pipeline to compare with, written apart from the package's own: what a good analyst would do by hand.

Doubles within 48 h and max(25 m, twice the combined error) merged; each record at the nearest point of the nearest
road; one kernel of 300 m; the kernel log-likelihood ratio against scatterings over length x effort (x a fixed root of
traffic); confirmed where the largest surprise of 95 % of the scatterings is exceeded; runs joined over 100 m.
Only the matrix of the kernel and the snapping are taken from the package, which other tests check from outside.
"""

from itertools import pairwise

import numpy as np
import pandas as pd

from roadwatch.hotspots.density import kernel_matrix
from roadwatch.roads.snap import snap


def merge_doubles(records):
    """Keep the first record of each chain of records within 48 h and max(25 m, 2 x combined error)."""
    table = records.sort_values("observed_at", kind="stable").reset_index(drop=True)
    hours = pd.to_datetime(table["observed_at"].str[:16]).to_numpy().astype("datetime64[m]").astype(float) / 60.0
    x, y, error = (table[name].to_numpy() for name in ("x_m", "y_m", "position_error_m"))
    kept = []
    for i in range(len(table)):
        near = [
            j
            for j in kept
            if hours[i] - hours[j] <= 48.0
            and np.hypot(x[i] - x[j], y[i] - y[j]) <= max(25.0, 2.0 * np.hypot(error[i], error[j]))
        ]
        if not near:
            kept.append(i)
    return table.iloc[kept].reset_index(drop=True)


def surprise(density, mu, kappa):
    c, e = density * kappa, mu * kappa
    with np.errstate(divide="ignore", invalid="ignore"):
        value = c * np.log(c / e) - (c - e)
    return np.where((c > e) & (e > 0), value, 0.0)


def find(land, records, offset, *, n_draws=499, seed=1, merge=True):
    """(stretches,) True where confirmed, and the surprise; ``offset`` is length x effort x what else, nan allowed."""
    kept = merge_doubles(records) if merge else records
    placed = snap(
        land.network,
        kept["x_m"].to_numpy(),
        kept["y_m"].to_numpy(),
        position_error_m=kept["position_error_m"].to_numpy(),
    )
    on = placed.edge >= 0
    stretch = land.stretches.of_place(placed.edge[on], placed.offset_m[on])
    weight = kept["identity"].to_numpy()[on]
    p = np.nan_to_num(offset)
    p = p / p.sum()
    inside = p[stretch] > 0
    stretch, weight = stretch[inside], weight[inside]
    n = len(p)
    k = kernel_matrix(land.network, land.stretches, half_width_m=300.0)
    b, v = k @ p, k.power(2) @ p
    mu, nu = b * weight.sum(), v * (weight**2).sum()
    kappa = np.divide(mu, nu, out=np.zeros(n), where=nu > 0)
    tested = p > 0
    rng = np.random.default_rng(seed)
    places = rng.choice(n, (n_draws, len(stretch)), p=p)
    counts = np.zeros((n, n_draws))
    for draw in range(n_draws):
        counts[:, draw] = np.bincount(places[draw], weight, n)
    drawn = surprise(k @ counts, mu[:, None], kappa[:, None])
    largest = np.sort(drawn[tested].max(axis=0))
    bar = largest[int(np.ceil(0.95 * (n_draws + 1))) - 1]
    seen = surprise(k @ np.bincount(stretch, weight, n), mu, kappa)
    return joined(land, (seen > bar) & tested), seen


def joined(land, confirmed, gap_m=100.0):
    """Confirmed stretches with the gaps of up to 100 m between them on one road."""
    table = land.table
    filled = confirmed.copy()
    for _, part in table.groupby(["road", "road_part"]):
        order = part.sort_values("from_m").index.to_numpy()
        there = np.flatnonzero(confirmed[order])
        for before, after in pairwise(there):
            if table["from_m"].iloc[order[after]] - table["to_m"].iloc[order[before]] <= gap_m:
                filled[order[before:after]] = True
    return filled
