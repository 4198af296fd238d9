"""Records on a ring of stretches, small enough for thousands of scatterings."""

import numpy as np

from roadwatch.hotspots.null import Scatter


def scatter(stretch, *, weight=None, stratum=None, chance=None, n=60):
    stretch = np.asarray(stretch)
    return Scatter(
        stretch,
        np.ones(len(stretch)) if weight is None else np.asarray(weight, dtype=float),
        np.zeros(len(stretch), dtype=int) if stratum is None else np.asarray(stratum),
        np.full((1, n), 1 / n) if chance is None else np.asarray(chance),
    )
