"""Crossings on the still picture: thousands of dots in a few kilobytes, because dots that coincide are drawn once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.render.legend import CONDITIONS, INK
from roadwatch.render.safe_text import fill

if TYPE_CHECKING:
    import geopandas as gpd
    from markupsafe import Markup
    from numpy.typing import NDArray

DOT_PX, CASING_PX = 5.0, 1.5
RASTERS_PX = (0.5, 1.0, 2.0)
MOST_DOTS = 10_000
"""Where more dots than these would be drawn, the next coarser raster is taken."""

_KEYS = [sign.key for sign in CONDITIONS]
_DOTS = (
    '<defs><path id="dots-{key}" d="{dots}" transform="scale({raster})" fill="none" stroke-linecap="{cap}"/></defs>'
    '<use href="#dots-{key}" stroke="{ink}" stroke-width="{casing}"/>'
    '<use href="#dots-{key}" stroke="{colour}" stroke-width="{dot}"/>'
)


def crossing_dots(crossings: gpd.GeoDataFrame, places: NDArray[np.float64]) -> tuple[list[Markup], bool]:
    """
    Draw crossings by condition, dead ones square, others round.

    Parameters
    ----------
    crossings
        Records with ``condition``.
    places
        (n, 2) x and y on paper in pixels.

    Returns
    -------
    Pieces of SVG, and whether records were put together in one dot.
    """
    if not len(crossings):
        return [], False
    words = crossings["condition"] if "condition" in crossings.columns else crossings.index.map(lambda _: None)
    conditions = np.where(words.isin(_KEYS), words, _KEYS[-1]).astype(object)
    raster, cells = _cells(places, conditions)
    pieces = [
        fill(
            _DOTS,
            key=sign.key,
            dots=_dots(cells[sign.key]),
            raster=f"{raster:g}",
            dot=f"{DOT_PX / raster:g}",
            ink=INK,
            casing=f"{(DOT_PX + CASING_PX) / raster:g}",
            cap="square" if sign.key == "dead" else "round",
            colour=sign.colour,
        )
        for sign in CONDITIONS
        if len(cells[sign.key])
    ]
    return pieces, sum(len(own) for own in cells.values()) < len(crossings)


def _cells(places: NDArray[np.float64], conditions: NDArray[np.object_]) -> tuple[float, dict[str, NDArray[np.int64]]]:
    """Size of the raster in pixels, and for each condition its different cells as (m, 2) row and column, in order."""
    for raster in RASTERS_PX:
        cells = np.rint(places[:, ::-1] / raster).astype(np.int64)
        own = {sign.key: np.unique(cells[conditions == sign.key], axis=0) for sign in CONDITIONS}
        if sum(map(len, own.values())) <= MOST_DOTS:
            break
    return raster, own


def _dots(cells: NDArray[np.int64]) -> str:
    """Each run of neighbours in a row as one stroke; each stroke begins where the one before it began, plus a step."""
    starts = np.ones(len(cells), dtype=bool)
    starts[1:] = (np.diff(cells[:, 0]) != 0) | (np.diff(cells[:, 1]) != 1)
    first = np.flatnonzero(starts)
    length = np.diff(np.append(first, len(cells))) - 1
    steps = np.diff(cells[first][:, ::-1], axis=0, prepend=np.zeros((1, 2), dtype=np.int64))
    steps[1:, 0] -= length[:-1]
    return "".join(f"m{x} {y}h{run}" for (x, y), run in zip(steps.tolist(), length.tolist(), strict=True))
