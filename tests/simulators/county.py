"""
A county that never was, with roads, traffic, searches, deaths and the faults of real records; all of it drawn by seed.

About 430 km: rural roads over a bent grid, a town, dead ends, a loop, a road apart from the rest, and a frontage road
40 m beside a main road. Deaths follow traffic (or nothing) and, where asked, hotspots of 250 to 800 m at 60 times the
background. What is recorded follows the searches, which thin out from the volunteers' homes. 6 % of the records are a
second record of one carcass, 10 % are of another kind of animal taken for the one asked for, 3 % lie far off.
"""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from roadwatch.roads.network import Network, build_network
from roadwatch.roads.reference import points_on_edges
from roadwatch.roads.stretches import Stretches, cut_stretches, stretch_table

YEARS = (2021, 2022, 2023, 2024)
TRAFFIC_POWER = 0.5
HOT_RATIO = 60.0
CLASSES = {"main": (9000.0, 55.0), "rural": (900.0, 45.0), "town": (2500.0, 30.0), "lane": (150.0, 35.0)}


@dataclass(frozen=True)
class Land:
    """The roads of a county: network, stretches, their table, and the true traffic of each stretch."""

    network: Network
    stretches: Stretches
    table: gpd.GeoDataFrame
    traffic: np.ndarray
    x_m: np.ndarray
    y_m: np.ndarray


@dataclass(frozen=True)
class County:
    """
    One simulated county.

    ``records`` are rows of kind crossings with ``x_m y_m year date``; ``effort_km`` is known by year; ``rate`` the true
    deaths per metre in any unit; ``hot`` (hotspots, stretches) marks the planted ones.
    """

    land: Land
    records: pd.DataFrame
    effort_km: dict
    rate: np.ndarray
    hot: np.ndarray


def make_land(seed):
    """Draw the roads and their traffic; 15 % of the roads do not state theirs."""
    rng = np.random.default_rng(seed)
    lines, kinds, names = [], [], []

    def add(name, kind, points):
        lines.append(shapely.LineString(np.add(points, (440_000.0, 3_280_000.0))))
        kinds.append(kind)
        names.append(name)

    k, gap = 12, 1500.0
    corner = np.stack(np.meshgrid(np.arange(k), np.arange(k), indexing="ij"), axis=-1) * gap
    corner = corner + rng.uniform(-250.0, 250.0, corner.shape)
    for row in range(k):
        main = "main" if row in (3, 8) else "rural"
        add(f"Row {row} Road", main, corner[row])
        add(f"Column {row} Road", main, corner[:, row])
    town = np.array([7600.0, 7600.0])
    for street in range(6):
        at = 130.0 * street
        add(f"{street} Street", "town", town + [[at, y] for y in np.arange(0.0, 651.0, 130.0)])
        add(f"{street} Avenue", "town", town + [[x, at] for x in np.arange(0.0, 651.0, 130.0)])
    for end in range(24):
        begin = corner[tuple(rng.integers(0, k, 2))]
        way = rng.uniform(0.0, 2.0 * np.pi)
        out = np.array([np.cos(way), np.sin(way)])
        add(f"Lane {end}", "lane", [begin, begin + 350.0 * out, begin + rng.uniform(700.0, 1200.0) * out])
    angle = np.linspace(0.0, 2.0 * np.pi, 40)
    loop = corner[5, 2] + 400.0 * (np.column_stack([np.cos(angle), np.sin(angle)]) - [1.0, 0.0])
    loop[[0, -1]] = corner[5, 2]
    add("Loop Drive", "lane", loop)
    add("Island Road", "rural", np.array([[-4000.0, -3000.0], [-1000.0, -3500.0], [2500.0, -3000.0]]))
    main_row = shapely.LineString(corner[3][2:6])
    frontage = shapely.get_coordinates(shapely.offset_curve(main_row, 40.0))
    add("Frontage Road", "rural", frontage)
    typical = np.array([CLASSES[kind][0] for kind in kinds])
    traffic = typical * np.exp(rng.normal(0.0, 0.5, len(kinds)))
    known = rng.random(len(kinds)) > 0.15
    layer = gpd.GeoDataFrame(
        {
            "road": names,
            "road_class": kinds,
            "speed_limit": [CLASSES[kind][1] for kind in kinds],
            "traffic_per_day": np.where(known, traffic, np.nan),
        },
        geometry=lines,
        crs="EPSG:32617",
    )
    network = build_network(layer)
    stretches = cut_stretches(network)
    by_name = dict(zip(names, traffic, strict=True))
    of_edge = network.edges["road"].map(by_name).to_numpy()
    points = points_on_edges(network, stretches.edge, stretches.start_m + stretches.length_m / 2)
    table = stretch_table(network, stretches)
    return Land(network, stretches, table, of_edge[stretches.edge], shapely.get_x(points), shapely.get_y(points))


def simulate(land, seed, *, n=120, n_hot=0, follows_traffic=True, doubles=0.06, decoys=0):
    """
    Draw searches, deaths and records.

    n: records expected before doubles. n_hot: hotspots planted. decoys: hotspots in one year only.
    """
    rng = np.random.default_rng([seed, n, n_hot, int(follows_traffic), decoys])
    effort_km = _effort(land, rng)
    length_m = land.stretches.length_m
    background = land.traffic**TRAFFIC_POWER if follows_traffic else np.ones(len(length_m))
    watched = np.nansum(list(effort_km.values()), axis=0)
    hot = _plant(land, n_hot + decoys, watched > 0.0, rng)
    rate = background * np.where(hot[:n_hot].any(axis=0), HOT_RATIO, 1.0)
    by_year = []
    for number, year in enumerate(YEARS):
        decoy = hot[n_hot + number :: len(YEARS)].any(axis=0) if decoys else np.zeros(len(rate), dtype=bool)
        by_year.append(np.nan_to_num(effort_km[year]) * rate * np.where(decoy, HOT_RATIO * len(YEARS), 1.0))
    chance = np.array(by_year) / np.sum(by_year)
    total = rng.poisson(n)
    cell = rng.choice(chance.size, total, p=chance.ravel())
    records = _records(land, cell // chance.shape[1], cell % chance.shape[1], background * watched, rng)
    return County(land, _with_doubles(records, doubles, rng), effort_km, rate * length_m, hot)


def _effort(land, rng):
    """Kilometres by year: passes over whole edges thin out from three homes; unsearched edges stay unknown."""
    homes = rng.integers(0, len(land.x_m), 3)
    apart = np.min([np.hypot(land.x_m - land.x_m[h], land.y_m - land.y_m[h]) for h in homes], axis=0)
    edge = land.stretches.edge
    first = np.r_[True, np.diff(edge) > 0]
    passes = {year: rng.poisson(12.0 * np.exp(-apart[first] / 6000.0))[edge].astype(float) for year in YEARS}
    ever = np.sum(list(passes.values()), axis=0) > 0
    return {year: np.where(ever, p * land.stretches.length_m / 1000.0, np.nan) for year, p in passes.items()}


def _plant(land, n, allowed, rng):
    """(n, stretches) Runs of 250 to 800 m along one part of a road, apart from each other, on searched road."""
    hot = np.zeros((n, len(allowed)), dtype=bool)
    table = land.table
    part = table.groupby(["road", "road_part"]).ngroup().to_numpy()
    for number in range(n):
        while True:
            centre = rng.choice(len(allowed), p=land.stretches.length_m / land.stretches.length_m.sum())
            middle = (table["from_m"].iloc[centre] + table["to_m"].iloc[centre]) / 2
            half = rng.uniform(125.0, 400.0)
            at = (table["from_m"] + table["to_m"]).to_numpy() / 2
            run = (part == part[centre]) & (np.abs(at - middle) <= half)
            near = np.hypot(land.x_m - land.x_m[centre], land.y_m - land.y_m[centre]) < 1500.0
            if land.stretches.length_m[run].sum() >= 240.0 and allowed[run].all() and not hot[:, near].any():
                hot[number] = run
                break
    return hot


def _records(land, year_number, stretch, elsewhere, rng):
    n = len(stretch)
    is_wrong = rng.random(n) < 0.10  # another animal: it died wherever animals die
    stretch = np.where(is_wrong, rng.choice(len(elsewhere), n, p=elsewhere / elsewhere.sum()), stretch)
    offset_m = land.stretches.start_m[stretch] + rng.random(n) * land.stretches.length_m[stretch]
    points = points_on_edges(land.network, land.stretches.edge[stretch], offset_m)
    error_m = rng.choice([5.0, 10.0, 15.0, 30.0], n, p=[0.3, 0.4, 0.2, 0.1])
    is_far = rng.random(n) < 0.03
    sd_m = np.where(is_far, 150.0, error_m / 1.5)
    day = np.datetime64("2021-04-15") + rng.integers(0, 120, n)
    hour = rng.integers(7, 20, n)
    minute = rng.integers(0, 60, n)
    texts = [
        f"{YEARS[y]}{str(d)[4:]}T{h:02d}:{m:02d}-04:00"
        for y, d, h, m in zip(year_number, day, hour, minute, strict=True)
    ]
    return pd.DataFrame(
        {
            "x_m": shapely.get_x(points) + rng.normal(0.0, sd_m),
            "y_m": shapely.get_y(points) + rng.normal(0.0, sd_m),
            "position_error_m": error_m,
            "observed_at": texts,
            "condition": "dead",
            "taxon": "Terrapene carolina",
            "count": 1.0,
            "identity": np.where(
                is_wrong, rng.choice([0.5, 0.8], n), rng.choice([0.5, 0.8, 0.95], n, p=[0.1, 0.3, 0.6])
            ),
            "observer": rng.choice(["Ann", "Ben", "Cleo", "Dee", "Eli"], n),
            "carcass": np.arange(n),
            "stretch": stretch,
        }
    )


def _with_doubles(records, share, rng):
    """Some carcasses written down again by somebody else, up to two days later, with another error of place."""
    again = records[rng.random(len(records)) < share / (1.0 - share)].copy()
    n = len(again)
    sd_m = again["position_error_m"].to_numpy() / 1.5 * np.sqrt(2.0)
    again["x_m"] += rng.normal(0.0, sd_m)
    again["y_m"] += rng.normal(0.0, sd_m)
    later = pd.to_datetime(again["observed_at"].str[:16]) + pd.to_timedelta(rng.integers(1, 48, n), unit="h")
    again["observed_at"] = later.dt.strftime("%Y-%m-%dT%H:%M") + "-04:00"
    again["observer"] = rng.choice(["Flo", "Gus"], n)
    table = pd.concat([records, again], ignore_index=True).sort_values("observed_at", kind="stable")
    table = table.assign(year=table["observed_at"].str[:4].astype(int), date=table["observed_at"].str[:10])
    return table.assign(record_id=[f"r{k}" for k in range(len(table))]).reset_index(drop=True)
