"""How much a hotspot hangs on one width, one observer, or one carcass seen again."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from roadwatch.hotspots.clusters import Run
    from roadwatch.hotspots.null import NullResult
    from roadwatch.hotspots.stepdown import Round
    from roadwatch.roads.arrays import BoolArray, FloatArray

REPEAT_WITHIN_M, REPEAT_WITHIN_DAYS = 50.0, 7
"""A record this near to an earlier one on the same road, this soon after it, may be the same carcass again."""


@dataclass(frozen=True)
class Evidence:
    """
    Records with what is needed to ask what a hotspot would be without some of them.

    Parameters
    ----------
    records
        Records used, one row a part: ``stretch weight record_id observer date road_m road road_part is_main``.
    null
        The comparison with the scatterings, all rounds in one.
    rounds
        The rounds, with their yardsticks.
    half_widths_m
        Half-width of each yardstick.
    bar_p
        Largest p over the whole map at which a place stands out.
    """

    records: pd.DataFrame
    null: NullResult
    rounds: tuple[Round, ...]
    half_widths_m: tuple[float, ...]
    bar_p: float

    def of_run(self, run: Run) -> dict[str, object]:
        """
        Columns that say on what a run rests.

        Parameters
        ----------
        run
            The run.

        Returns
        -------
        ``stands_at_widths`` (half-widths at which its cluster stands out), ``half_width_m`` (where it stands out
        most), ``stands_at_all_widths``, ``leaves_without_observer`` and ``leaves_without_repeats``.
        """
        return {
            **self._widths(run),
            "leaves_without_observer": self._leaves_without_observer(run),
            "leaves_without_repeats": not self._stands(run, ~self._is_repeat)[0],
        }

    def _widths(self, run: Run) -> dict[str, object]:
        p = np.nanmin(self.null.p_by_kernel[:, run.marked], axis=1)
        most = np.nanmax(self._surprise(run, np.ones((len(self.records), 1)))[:, :, 0], axis=1)
        standing = [width for width, value in sorted(zip(self.half_widths_m, p, strict=True)) if value <= self.bar_p]
        return {
            "stands_at_widths": " ".join(f"{width:g}" for width in standing),
            "half_width_m": self.half_widths_m[int(np.argmax(most))],
            "stands_at_all_widths": len(standing) == len(self.half_widths_m),
        }

    def _leaves_without_observer(self, run: Run) -> bool:
        observer = self.records["observer"].astype(object).where(self.records["observer"].notna(), "")
        involved = sorted(set(observer.iloc[run.record]))
        kept = np.column_stack([(observer != name).to_numpy(dtype=bool) for name in involved])
        return not bool(self._stands(run, kept).all())

    @cached_property
    def _is_repeat(self) -> BoolArray:
        """(r,) True for parts of records that may be a carcass recorded before."""
        main = self.records[self.records["is_main"]]
        day = pd.to_datetime(main["date"].astype("string").str[:10], errors="coerce")
        number = (day - pd.Timestamp(0)).dt.days.to_numpy(dtype=np.float64, na_value=np.nan)
        place = main.assign(day=number).sort_values(["road", "road_part", "day", "road_m", "record_id"])
        repeats: list[object] = []
        for _, of_road in place.groupby(["road", "road_part"], sort=False):
            at_m, when = of_road["road_m"].to_numpy(), of_road["day"].to_numpy()
            near = np.abs(at_m[:, None] - at_m) <= REPEAT_WITHIN_M
            soon = np.abs(when[:, None] - when) <= REPEAT_WITHIN_DAYS
            has_earlier = np.tril(near & soon, -1).any(axis=1)
            repeats += of_road["record_id"][has_earlier].tolist()
        return self.records["record_id"].isin(repeats).to_numpy(dtype=bool)

    def _stands(self, run: Run, factor: FloatArray | BoolArray) -> BoolArray:
        """(k,) Whether the run's cluster stands out where each row's weight is multiplied by a column of ``factor``."""
        columns = np.asarray(factor, dtype=np.float64).reshape(len(self.records), -1)
        highest = np.nanmax(self._surprise(run, columns), axis=(0, 1))
        return np.asarray(self._round(run).null.p_of(highest) <= self.bar_p)

    def _round(self, run: Run) -> Round:
        """The round in which a run was found."""
        return next((one for one in self.rounds if one.marked[run.marked].any()), self.rounds[-1])

    def _surprise(self, run: Run, factor: FloatArray) -> FloatArray:
        """(widths, marked, k) Surprise where the cluster stands out; chance expects in proportion to what is left."""
        found = self._round(run)
        own = self.records["weight"].to_numpy(dtype=np.float64) * found.kept
        weight = own[:, None] * factor
        n = len(self.null.density)
        stretch = self.records["stretch"].to_numpy()
        counts = np.stack([np.bincount(stretch, column, n) for column in weight.T], axis=1).astype(np.float64)
        left = weight.sum(axis=0) / own.sum()
        return np.array([one.surprise_at(run.marked, counts, left) for one in found.null.yardsticks])
