"""Map layers written with geopandas, a reader and writer independent of ours; places and names are invented."""

from __future__ import annotations

import zipfile
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
from shapely.geometry import LineString, Point, Polygon

from roadwatch.records.readers.gdal import load_pyogrio

if TYPE_CHECKING:
    from pathlib import Path

load_pyogrio()
UTM_17N = 26917


def sightings(*, crs: int | None = UTM_17N) -> gpd.GeoDataFrame:
    """Two sightings on the central meridian of UTM zone 17 (81 W), the second without a place."""
    return gpd.GeoDataFrame(
        {"taxon": ["box turtle", None], "count": [1.0, float("nan")], "day": ["2024-06-08", "2024-06-09"]},
        geometry=[Point(500000, 3275000), None],
        crs=crs,
    )


def roads(*, crs: int | None = UTM_17N) -> gpd.GeoDataFrame:
    """Two roads."""
    lines = [LineString([(500000, 3275000), (500100, 3275000)]), LineString([(500000, 3275000), (500000, 3275100)])]
    return gpd.GeoDataFrame({"road": ["Prairie Road", "Mill Lane"]}, geometry=lines, crs=crs)


def water(*, crs: int | None = UTM_17N) -> gpd.GeoDataFrame:
    """One pond."""
    return gpd.GeoDataFrame({"water": ["pond"]}, geometry=[Polygon([(0, 0), (9, 0), (9, 9)])], crs=crs)


def save(frame: gpd.GeoDataFrame, path: Path, **options: object) -> Path:
    """Write a layer and give its path."""
    frame.to_file(path, engine="pyogrio", **options)
    return path


def zipped(layer: gpd.GeoDataFrame, path: Path, *, folder: str = "", leave_out: tuple[str, ...] = ()) -> Path:
    """A shapefile in a zip archive, in a folder of it, with some of its parts missing."""
    shape = save(layer, path.with_suffix(".shp"))
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for part in sorted(path.parent.glob(f"{shape.stem}.*")):
            if part.suffix not in (".zip", *leave_out) and part != path:
                archive.write(part, f"{folder}{part.name}")
                part.unlink()
    return path


def plain_table(rows: dict[str, list[str]], path: Path, *, layer: str) -> Path:
    """A table without geometry in a GeoPackage."""
    import pyogrio

    pyogrio.write_dataframe(pd.DataFrame(rows), path, layer=layer, driver="GPKG", append=path.exists())
    return path
