"""What was studied: roads, records and baseline, as the ranking and the notes need them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.hotspots.baseline import Baseline
    from roadwatch.hotspots.clusters import Run
    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

SECTION_M = 500.0
"""Length of road on which the spread of rates over the network is measured."""


@dataclass(frozen=True)
class Study:
    """
    What a ranking needs to know beside the runs.

    Parameters
    ----------
    network, stretches, table
        The roads, their n stretches, and the stretches' table.
    records
        Records used, one row a part: ``edge offset_m weight year date observer count record_id record is_main stretch
        stratum road road_part road_m``.
    baseline
        Where records were to be expected.
    expected
        (n,) Weighted records expected on each stretch.
    """

    network: Network
    stretches: Stretches
    table: gpd.GeoDataFrame
    records: pd.DataFrame
    baseline: Baseline
    expected: FloatArray

    def deaths(self) -> FloatArray:
        """(n,) Weighted records on each stretch."""
        found = np.bincount(self.records["stretch"], self.records["weight"], len(self.expected))
        return found.astype(np.float64)

    def deaths_in(self, run: Run) -> float:
        """Weighted records on the stretches of a run, by the chance that they lie there."""
        return float(self._weight[np.isin(self._stretch, run.stretch)].sum())

    def n_events(self) -> int:
        """Records used; one in several parts counts once."""
        return int(self.records["record_id"].nunique())

    def n_certain(self) -> float:
        """Records used, but no more than the animals that they are expected to be: unsure ones count in part."""
        return min(float(self.n_events()), float(self.records["weight"].sum()))

    def n_animals(self, rows: IntArray | None = None) -> int:
        """Animals of some or all records; of a record in several parts once."""
        of_record, count = self._animals
        if rows is not None:
            of_record, count = of_record[rows], count[rows]
        _, first = np.unique(of_record, return_index=True)
        return int(count[first].sum())

    def n_years(self) -> int:
        """Years of the study: those searched, or those with records where that is not known."""
        return self._n_years

    @cached_property
    def _weight(self) -> FloatArray:
        return self.records["weight"].to_numpy(dtype=np.float64)

    @cached_property
    def _year(self) -> IntArray:
        return self.records["year"].to_numpy()

    @cached_property
    def _stretch(self) -> IntArray:
        return self.records["stretch"].to_numpy(dtype=np.int64)

    @cached_property
    def _animals(self) -> tuple[IntArray, FloatArray]:
        """(r,), (r,) A number for the record of each row, and the animals that it counts."""
        number, _ = pd.factorize(self.records["record_id"], use_na_sentinel=False)
        return number, self.records["count"].to_numpy(dtype=np.float64)

    @cached_property
    def _n_years(self) -> int:
        return len(self.baseline.years) or max(int(self.records["year"].nunique()), 1)

    def section(self) -> IntArray:
        """(n,) Section of about 500 m of each stretch, cut within each part of each road."""
        middle_m = (self.table["from_m"] + self.table["to_m"]) / 2.0
        number = self.table.groupby(["road", "road_part", (middle_m // SECTION_M)]).ngroup()
        return np.asarray(number, dtype=np.int64)

    def by_year(self, run: Run) -> tuple[FloatArray, FloatArray]:
        """(years,), (years,) Records of a run in each year of the study, and its kilometres searched (1 if unknown)."""
        held = self._year[run.record]
        if self.baseline.effort_by_year is None:
            years = np.unique(self._year)
            effort = np.ones(len(years))
        else:
            years = np.array(self.baseline.years)
            effort = self.baseline.effort_by_year[:, run.stretch].sum(axis=1)
        return (held[:, None] == years).sum(axis=0).astype(np.float64), effort
