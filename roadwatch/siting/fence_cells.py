"""Where a fence can stand: roads in cells of 50 m, without junctions, bridges, closed stretches and the unsearched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy import sparse

from roadwatch.roads.reference import find_on_road

if TYPE_CHECKING:
    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.roads.network import Network

CELL_M = 50.0
BORDER_M = 0.01
"""A cell that reaches past a border by no more than this ends there (rounding)."""


@dataclass(frozen=True)
class FenceCells:
    """
    Cells in which a fence can stand, along each part of each road in its metres.

    Parameters
    ----------
    road, road_part, from_m
        (c,) Road, part and metre at which each cell starts; each is ``cell_m`` long.
    line
        (c,) Number of the unbroken piece of road; a run never leaves it.
    metres
        (c, n) Metres of each stretch within each cell.
    cell_m
        Length of a cell.
    closed_m
        Metres of road closed to fences by each reason, each metre under the first that holds.
    """

    road: TextArray
    road_part: IntArray
    from_m: FloatArray
    line: IntArray
    metres: sparse.csr_array
    cell_m: float
    closed_m: dict[str, float]

    def centres(self, network: Network) -> tuple[IntArray, FloatArray]:
        """
        Edge and offset of the middle of each cell.

        Parameters
        ----------
        network
            The roads.
        """
        edge, offset_m = np.zeros(len(self.road), dtype=np.int64), np.zeros(len(self.road))
        keys = pd.DataFrame({"road": self.road, "part": self.road_part})
        first = keys.drop_duplicates()
        for road, part in zip(first["road"], first["part"], strict=True):
            rows = np.flatnonzero((self.road == road) & (self.road_part == part))
            middle_m = self.from_m[rows] + self.cell_m / 2.0
            edge[rows], offset_m[rows] = find_on_road(network, str(road), middle_m, road_part=int(part))
        return edge, offset_m


def cut_cells(
    table: pd.DataFrame, network: Network, *, closed: dict[str, BoolArray], cell_m: float = CELL_M
) -> FenceCells:
    """
    Lay cells along every part of every road and keep those in which a fence can stand.

    A junction breaks a fence: the cell around it is closed. What is left at the end of a part, less than a cell, is
    closed as well.

    Parameters
    ----------
    table
        (n,) Stretches as ``stretch_table`` writes them.
    network
        The roads they were cut from.
    closed
        For each reason, in the order in which reasons are told, (n,) True for the stretches closed by it.
    cell_m
        Length of a cell, metres.
    """
    order = np.lexsort((table["from_m"], table["road_part"], table["road"].astype(str)))
    ordered = table.iloc[order]
    part = np.asarray(ordered.groupby(["road", "road_part"], sort=False).ngroup(), dtype=np.int64)
    from_m, to_m = ordered["from_m"].to_numpy(), ordered["to_m"].to_numpy()
    first = np.flatnonzero(np.r_[True, np.diff(part) != 0])
    n_cells = np.floor(np.maximum.reduceat(to_m, first) / cell_m + BORDER_M / cell_m).astype(np.int64)
    of_part = np.repeat(np.arange(len(first), dtype=np.int64), n_cells)
    number = np.arange(len(of_part)) - np.repeat(np.cumsum(n_cells) - n_cells, n_cells)
    cell_from_m = number.astype(np.float64) * cell_m
    metres = _overlaps(part, from_m, to_m, of_part, cell_from_m, cell_m=cell_m)
    is_cut, is_broken = _junctions(ordered, network, part, of_part, n_cells, cell_m=cell_m)
    is_closed, told = is_cut.copy(), {"around a junction": float(is_cut.sum() * cell_m)}
    for reason, stretch in closed.items():
        hit = np.asarray(metres @ stretch[order].astype(np.float64)) > BORDER_M
        told[reason] = float((hit & ~is_closed).sum() * cell_m)
        is_closed |= hit
    told["shorter than a stretch, at the ends of roads"] = float(table["length_m"].sum() - len(of_part) * cell_m)
    starts = (
        np.r_[True, np.diff(of_part) != 0][: len(of_part)] | is_broken | np.r_[False, is_closed[:-1]][: len(of_part)]
    )
    back = sparse.csr_array((np.ones(len(order)), (np.arange(len(order)), order)), shape=(len(order), len(order)))
    kept = np.flatnonzero(~is_closed)
    return FenceCells(
        ordered["road"].to_numpy(dtype=object)[first][of_part[kept]],
        ordered["road_part"].to_numpy(dtype=np.int64)[first][of_part[kept]],
        cell_from_m[kept],
        np.cumsum(starts)[kept],
        sparse.csr_array((metres @ back).tocsr()[kept]),
        cell_m,
        {reason: length for reason, length in told.items() if length > 0.5},
    )


def _overlaps(
    part: IntArray, from_m: FloatArray, to_m: FloatArray, of_part: IntArray, cell_from_m: FloatArray, *, cell_m: float
) -> sparse.csr_array:
    """(cells, stretches) Metres in common; both lie in the order of parts and metres."""
    span = float(to_m.max(initial=0.0)) + 2.0 * cell_m
    low, high = part * span + from_m, part * span + to_m
    cell_low = of_part * span + cell_from_m
    cell_high = cell_low + cell_m
    begin = np.searchsorted(high, cell_low, side="right")
    stop = np.maximum(np.searchsorted(low, cell_high, side="left"), begin)
    count = stop - begin
    row = np.repeat(np.arange(len(of_part)), count)
    column = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(begin, count)
    common = np.minimum(high[column], cell_high[row]) - np.maximum(low[column], cell_low[row])
    return sparse.csr_array((np.maximum(common, 0.0), (row, column)), shape=(len(of_part), len(part)))


def _junctions(
    ordered: pd.DataFrame,
    network: Network,
    part: IntArray,
    of_part: IntArray,
    n_cells: IntArray,
    *,
    cell_m: float,
) -> tuple[BoolArray, BoolArray]:
    """Cells that a junction lies in, and cells at whose very start one lies."""
    edges = network.edges
    is_junction = network.nodes["degree"].to_numpy() >= 3
    code = dict(zip(zip(ordered["road"], ordered["road_part"], strict=True), part.tolist(), strict=True))
    at_start, at_stop = ("node_to", "node_from"), ("node_from", "node_to")
    is_cut, is_broken = np.zeros(len(of_part), dtype=bool), np.zeros(len(of_part), dtype=bool)
    base = np.cumsum(n_cells) - n_cells
    own = np.array([code[key] for key in zip(edges["road"], edges["road_part"], strict=True)], dtype=np.int64)
    reverse = edges["road_reversed"].to_numpy(dtype=bool)
    for metre_name, nodes in (("road_from_m", at_start), ("road_to_m", at_stop)):
        node = np.where(reverse, edges[nodes[0]].to_numpy(), edges[nodes[1]].to_numpy())
        at = edges[metre_name].to_numpy()[is_junction[node]]
        of = own[is_junction[node]]
        nearest = np.rint(at / cell_m).astype(np.int64)
        on_border = np.abs(at - nearest * cell_m) <= BORDER_M
        cell = np.where(on_border, nearest, np.floor(at / cell_m).astype(np.int64))
        inside = (cell >= 0) & (cell < n_cells[of])
        is_cut[(base[of] + cell)[inside & ~on_border]] = True
        is_broken[(base[of] + cell)[inside & on_border]] = True
    return is_cut, is_broken
