"""An invented brief of two places; nothing in it was ever observed."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.siting.fence_brief import Alternative, FenceBrief, PlaceSheet


def place(number=1, text="", **changes):
    run = {
        "run": number,
        "road": f"County Road 12{text}",
        "road_part": 0,
        "from_m": 1200.0,
        "to_m": 1900.0,
        "length_m": 700.0,
        "deaths_per_year": 6.4,
        "deaths_low": 3.1,
        "deaths_high": 9.8,
        "averted_per_year": 4.1,
        "averted_low": 2.2,
        "averted_high": 6.0,
        "cost": np.nan,
        "cost_per_averted": np.nan,
        "cost_per_averted_low": np.nan,
        "cost_per_averted_high": np.nan,
        "chosen_share": 0.83,
        "passages": 0,
        "route_id": f"CR 12{text}",
        "milepost_from": 3.25,
        "milepost_to": 3.68,
        "milepost_unit": "mile",
        "why_no_milepost": "",
        "agency": f"County{text}",
    } | changes
    road_m = np.arange(225.0, 2900.0, 50.0)
    rate = 0.5 + 9 * np.exp(-(((road_m - 1550) / 200) ** 2))
    told = (Alternative("This fence", 4.1, 2.2, 6.0), Alternative(f"Elsewhere{text}", 1.0, 0.2, 2.0))
    return PlaceSheet(run, road_m, rate, 0.6 * rate, 1.6 * rate, 0.4, (*told, Alternative("No fence", 0.0, 0.0, 0.0)))


def brief(text="", *, team_only=False, **changes):
    west, south = -82.5, 29.5
    roads = gpd.GeoDataFrame(
        {"road": [f"County Road 12{text}", "Heron Lane"]},
        geometry=[
            shapely.LineString([(west, south), (west + 0.06, south + 0.004)]),
            shapely.LineString([(west + 0.02, south - 0.03), (west + 0.02, south + 0.0013)]),
        ],
        crs="EPSG:4326",
    )
    runs = gpd.GeoDataFrame(
        geometry=[
            shapely.LineString([(west + 0.0124, south + 0.0008), (west + 0.0196, south + 0.0013)]),
            shapely.LineString([(west + 0.04, south + 0.0027), (west + 0.046, south + 0.0031)]),
        ],
        crs="EPSG:4326",
    )
    water = gpd.GeoDataFrame(geometry=[shapely.Point(west + 0.016, south + 0.003).buffer(0.002)], crs="EPSG:4326")
    curve = pd.DataFrame(
        {
            "length_m": [0.0, 700.0, 1400.0],
            "averted_per_year": [0.0, 4.1, 5.0],
            "low": [0.0, 2.2, 2.9],
            "high": [0.0, 6.0, 7.2],
        }
    )
    return FenceBrief(
        f"county{text}",
        (place(1, text, **changes), place(2, text, **changes)),
        runs,
        roads,
        water,
        curve,
        700.0,
        "recorded dead",
        (f"How well it works is not known{text}.",),
        (f"Deaths are those recorded{text}.", "Seed 1."),
        team_only,
    )
