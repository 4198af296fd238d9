"""How far places lie from the nearest road; each place is looked up once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from roadwatch.roads.snap import nearest_edges

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from roadwatch.roads.network import Network

    Numbers = NDArray[np.float64]


class Nearness:
    """
    Distances to the roads of a season, kept for places that are asked for again.

    Parameters
    ----------
    network
        Gives the roads; called at the first place that is asked for, because building a network takes its time.
    """

    def __init__(self, network: Callable[[], Network]) -> None:
        self._network = network
        self._places = np.empty(0, dtype=np.complex128)
        self._distance_m = np.empty(0)

    def distance_m(self, longitude: Numbers, latitude: Numbers) -> Numbers:
        """
        Measure to the nearest road.

        Parameters
        ----------
        longitude, latitude
            (n,) degrees on WGS 84.

        Returns
        -------
        (n,) metres; nan where a coordinate is.
        """
        places = np.asarray(longitude, dtype=float) + 1j * np.asarray(latitude, dtype=float)
        distance_m = np.full(len(places), np.nan)
        asked = np.flatnonzero(~np.isnan(places))
        if len(asked):
            self._look_up(np.setdiff1d(places[asked], self._places))
            distance_m[asked] = self._distance_m[np.searchsorted(self._places, places[asked])]
        return distance_m

    def _look_up(self, new: NDArray[np.complex128]) -> None:
        if not len(new):
            return
        network = self._network()
        x_m, y_m = network.project(new.real, new.imag)
        points = np.asarray(shapely.points(x_m, y_m), dtype=object)
        points[~(np.isfinite(x_m) & np.isfinite(y_m))] = None
        _, distance_m = nearest_edges(shapely.STRtree(network.edges.geometry.to_numpy()), points)
        places = np.concatenate([self._places, new])
        order = np.argsort(places)
        self._places, self._distance_m = places[order], np.concatenate([self._distance_m, distance_m])[order]
