"""What was built along the roads, as rows of a file: no secret, but for the notes beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import shapely

from roadwatch.records.shapes import SHAPE_COLUMN
from roadwatch.share.team_rows import team_rows

if TYPE_CHECKING:
    from roadwatch.records.taxonomy import Taxonomy

PUBLIC_MEASURES = ["measure_id", "kind", "built_on", "removed_on", "sides", "ends_treated"]
WITHHELD = "Cost, notes and whatever else the coordinator wrote beside a measure are withheld."

_PLACE_COLUMNS = {SHAPE_COLUMN, "longitude", "latitude"}
_DECIMALS = 9
"""About 0.1 mm on the ground."""


def team_measures(measures: gpd.GeoDataFrame, *, taxonomy: Taxonomy) -> gpd.GeoDataFrame:
    """
    Lay out measures so that they can be read in again: every column, and the geometry for the place.

    Parameters
    ----------
    measures
        (n,) rows as the season holds them.
    taxonomy
        As in :func:`roadwatch.share.team_rows.team_rows`.
    """
    rows = team_rows(measures, "measures", taxonomy=taxonomy)
    return _placed(rows.drop(columns=[name for name in rows if str(name).lower() in _PLACE_COLUMNS]), measures)


def public_measures(measures: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """
    Lay out measures for everybody: what was built, where and when, without what somebody wrote beside it.

    Parameters
    ----------
    measures
        (n,) rows as the season holds them.

    Returns
    -------
    (n,) rows by ``measure_id``: ``measure_id kind built_on removed_on sides ends_treated dataGeneralizations
    informationWithheld`` and the geometry.
    """
    rows = pd.DataFrame(measures[PUBLIC_MEASURES]).reset_index(drop=True)
    rows["ends_treated"] = rows["ends_treated"].map({True: "true", False: "false"}).astype(object)
    rows = rows.assign(dataGeneralizations="", informationWithheld=WITHHELD)
    return _placed(rows, measures).sort_values("measure_id", kind="stable").reset_index(drop=True)


def with_shape_as_text(measures: gpd.GeoDataFrame) -> pd.DataFrame:
    """The geometry in a column ``wkt``, for formats without one."""
    shapes = measures.geometry.to_numpy(dtype=object)
    texts = shapely.to_wkt(shapes, rounding_precision=_DECIMALS)
    return pd.DataFrame(measures.drop(columns=measures.geometry.name)).assign(**{SHAPE_COLUMN: texts})


def _placed(rows: pd.DataFrame, measures: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(rows, geometry=measures.geometry.to_numpy(), crs="EPSG:4326")
