"""The rows of a public file: crossings where they lie, and squares with a count; each says what was done to it."""

from __future__ import annotations

import json
import uuid
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import Geod

from roadwatch.share.grid import CELL_KM, LEAST_RECORDS
from roadwatch.share.releases import OPEN

if TYPE_CHECKING:
    from roadwatch.share.masking import ShownPlaces

NAMES = uuid.UUID("0d3b7c0a-9f0b-5c36-8a55-6d1f0e2b7c44")
"""Space of names from which the ids of public rows are made: their number in the releases, never a record's own."""

CROSSING, SQUARE = "crossing", "square"

OPEN_WITHHELD = "Record id, observer, time of day, photograph and notes are withheld."
SQUARE_WITHHELD = (
    "Places, days, taxa, numbers of animals, roads, hatching days, observers, photographs and notes of these records "
    "are withheld from the public; ask the county's coordinator."
)
SQUARE_GENERALIZED = (
    f"Only the number of records in a square of {CELL_KM} km by {CELL_KM} km (EPSG:6933) is given, never fewer than "
    f"{LEAST_RECORDS}; the point is the middle of the square and stands for no record."
)

# fmt: off
COLUMNS = [
    "public_id", "what", "counted", "records", "day", "taxon", "id_confidence", "count", "condition", "longitude",
    "latitude", "position_error_m", "dataGeneralizations", "informationWithheld",
]
# fmt: on


def public_rows(places: ShownPlaces, *, season: str) -> gpd.GeoDataFrame:
    """
    Lay out what the public may have of a season.

    Parameters
    ----------
    places
        Sealed places for the public.
    season
        Name of the season, part of what ids are made from.

    Returns
    -------
    ``public_id what counted records day taxon id_confidence count condition longitude latitude position_error_m
    dataGeneralizations informationWithheld``: crossings as points by day and place, then squares as polygons by kind
    and grid. A crossing keeps its id over all releases.

    Source
    ------
    chapman2020
    """
    crossings, squares = _crossings(places, season=season), _squares(places, season=season)
    rows = pd.concat([crossings, squares], ignore_index=True)
    geometry = [*gpd.points_from_xy(crossings["longitude"], crossings["latitude"]), *places.cells.geometry]
    return gpd.GeoDataFrame(rows, geometry=gpd.GeoSeries(geometry, crs="EPSG:4326"), crs="EPSG:4326")


def _crossings(places: ShownPlaces, *, season: str) -> pd.DataFrame:
    if places.release is None:
        return pd.DataFrame(columns=COLUMNS)
    told = places.release.shown[places.release.shown["square"] == OPEN]
    rows = pd.DataFrame([json.loads(text) for text in told["content"]]).reindex(columns=COLUMNS)
    ids = zip(told["first_released_at"], told["number"], strict=True)
    rows = rows.assign(
        public_id=[_public_id(season, CROSSING, f"{first}/{number}") for first, number in ids],
        what=CROSSING,
        counted="crossings",
        records=1,
        dataGeneralizations="",
        informationWithheld=OPEN_WITHHELD,
    )
    rows["day"] = rows["day"].astype(object).where(rows["day"].notna(), "")
    order = ["day", "longitude", "latitude", "public_id"]
    return rows.sort_values(order, kind="stable").reset_index(drop=True)


def _squares(places: ShownPlaces, *, season: str) -> pd.DataFrame:
    cells = places.cells
    bounds = cells.geometry.bounds.to_numpy(dtype=float).reshape(-1, 4)
    west, south, east, north = bounds.T
    middle = np.column_stack([(west + east) / 2, (south + north) / 2])
    corners = [Geod(ellps="WGS84").inv(*place, *corner)[2] for place, corner in zip(middle, bounds[:, :2], strict=True)]
    others = [Geod(ellps="WGS84").inv(*place, *corner)[2] for place, corner in zip(middle, bounds[:, 2:], strict=True)]
    said = f"{SQUARE_WITHHELD} {places.statements[0]}"
    return pd.DataFrame(
        {
            "public_id": [
                _public_id(season, SQUARE, f"{what}/{x:.5f}/{y:.5f}")
                for what, (x, y) in zip(cells["what"], middle, strict=True)
            ],
            "what": SQUARE,
            "counted": cells["what"],
            "records": cells["records"],
            "longitude": middle[:, 0].round(6),
            "latitude": middle[:, 1].round(6),
            "position_error_m": np.ceil(np.maximum(corners, others)) if len(cells) else [],
            "dataGeneralizations": SQUARE_GENERALIZED,
            "informationWithheld": said,
        },
        index=range(len(cells)),
    ).reindex(columns=COLUMNS)


def _public_id(season: str, what: str, name: str) -> str:
    return f"urn:uuid:{uuid.uuid5(NAMES, f'{season}/{what}/{name}')}"
