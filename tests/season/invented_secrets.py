"""Three seasons of invented records, some of them secret, and every public file that can be made of them."""

from __future__ import annotations

import io
import zipfile
from datetime import date

import geopandas as gpd
import numpy as np
import pandas as pd
from pyproj import Transformer
from tiny_county import CENTRE, County, road_layer, road_line

from roadwatch.records.store import Season
from roadwatch.season.sharing import ENDINGS, share_season

SECRET = "hollowoak"
"""Stands in every name, note, photograph and observer of what must be masked."""

YEARS = (2023, 2024, 2025)
NEST_MONTHS = ("04", "05", "06")
CROSSING_MONTH = "09"
"""No crossing falls in a month of laying, so that any day of those months in a file comes from a nest."""

GRID_M = 10_000.0


def nests_of(rng, year, n):
    east, north = rng.uniform(-0.049, 0.049, n), rng.uniform(0.004, 0.049, n) * rng.choice([-1, 1], n)
    return [
        {
            "nest_id": f"{SECRET}-{year}-{k}",
            "found_at": f"{year}-{rng.choice(NEST_MONTHS)}-{rng.integers(10, 29)}",
            "longitude": round(CENTRE[0] + east[k], 6),
            "latitude": round(CENTRE[1] + north[k], 6),
            "taxon": rng.choice(["Trachemys scripta", "Terrapene carolina", "Chelydra serpentina"]),
            "id_confidence": 0.95,
            "observer": f"{SECRET} warden",
            "notes": f"under the {SECRET}",
        }
        for k in range(n)
    ]


def crossings_of(rng, year, n):
    return [
        {
            "record_id": f"{SECRET}-c-{year}-{k}" if k % 3 == 0 else f"c-{year}-{k}",
            "observed_at": f"{year}-{CROSSING_MONTH}-{rng.integers(1, 29):02d}T0{rng.integers(6, 9)}:13:00-04:00",
            "longitude": round(CENTRE[0] + rng.uniform(-0.049, 0.049), 6),
            "latitude": CENTRE[1],
            "taxon": "Terrapene carolina" if k % 3 == 0 else "Chelydra serpentina",
            "id_confidence": 0.99,
            "condition": "dead",
            "observer": f"{SECRET} warden",
            "photo": f"{SECRET}.jpg",
            "notes": f"at the {SECRET}",
        }
        for k in range(n)
    ]


def secret_county(folder):
    """A season with one road, whose name is a secret too."""
    folder.mkdir(exist_ok=True)
    county = County(folder)
    roads = county.write("roads.geojson", road_layer(road_line(f"{SECRET} Road", (-0.05, 0), (0, 0), (0.05, 0))))
    made = county.run(
        "new", county.season, "--roads", roads, "--timezone", "America/New_York", "--region", "SC_GA_coastal_plain"
    )
    assert made.exit_code == 0, made.output
    return county


def public_files(county, step, *, forms=tuple(ENDINGS)):
    """One public file of each of some formats, as paths."""
    files = {}
    for form in forms:
        files[form] = to = county.folder / f"public-{step}{ENDINGS[form][0]}"
        share_season(
            county.season, form=form, to=to, audience="public", as_of=date(2025, 7, 1),
            released_at=f"2025-07-01T12:00:{step % 60:02d}-04:00",
            windows=windows_of(county) if form == "icalendar" else None,
        )  # fmt: skip
    return files


def windows_of(county):
    """A window for each nest that is open on a day nobody else mentions."""
    nests = Season.open(county.season).read("nests")
    days = {"hatch_early": "08-11", "hatch_likely": "08-13", "hatch_late": "08-17"}
    year = nests["found_at"].str[:4]
    return pd.DataFrame({"nest_id": nests["nest_id"], **{name: year + "-" + day for name, day in days.items()}})


def text_of(path):
    """All texts in a file, also those inside a zip file or a database."""
    body = path.read_bytes()
    if path.suffix == ".zip":
        with zipfile.ZipFile(io.BytesIO(body)) as archive:
            return "\n".join(archive.read(name).decode("utf-8") for name in archive.namelist())
    if path.suffix == ".gpkg":
        names = gpd.list_layers(path)["name"]
        layers = [gpd.read_file(path, layer=name) for name in names]
        return "\n".join(layer.to_wkt().to_csv(index=False) for layer in layers) + body.decode("latin-1")
    return body.decode("utf-8")


def square_of(longitude, latitude):
    """Column and row of the square of the stated grid: 10 km on EPSG:6933, counted from its origin."""
    x_m, y_m = Transformer.from_crs("EPSG:4326", "EPSG:6933", always_xy=True).transform(longitude, latitude)
    return int(np.floor(x_m / GRID_M)), int(np.floor(y_m / GRID_M))
