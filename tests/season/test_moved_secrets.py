"""
Two worlds that differ in every secret alone give the same public bytes, so no method whatever tells them apart.

All is invented. Every nest, and every crossing of a box turtle, keeps its kind, year and square of the stated grid in
the other world, and gets another place in that square, another day, name, taxon, observer, note and photograph. What
is the same in both worlds for every such change cannot place a secret more precisely than its square: neither by
differences of any files, releases, totals and hotspots, nor by anything nobody has thought of yet.
"""

import json
import re
from datetime import date
from itertools import combinations

import geopandas as gpd
import numpy as np
import pyogrio
import pytest
from season.invented_secrets import YEARS, crossings_of, nests_of, public_files, secret_county, square_of, text_of
from tiny_county import CENTRE

from roadwatch.cli import COMMANDS
from roadwatch.records.store import Season
from roadwatch.season.mortality import season_hotspots
from roadwatch.season.public_view import season_view

PAGES = tuple(name for name in ("map", "report") if name in COMMANDS)
FORMS = ("dwca", "geopackage", "geojson", "gpx", "icalendar", "csv")
PLACES_TRIED = 10_000


def batches():
    """What is read in, year by year: a cluster of snapping turtles, box turtles among them, and nests."""
    rng = np.random.default_rng(11)
    for year in YEARS:
        cluster = [row | {"record_id": f"k-{year}-{j}"} for j, row in enumerate(crossings_of(rng, year, 12)) if j % 3]
        for j, row in enumerate(cluster):
            row["longitude"] = round(CENTRE[0] + 0.012 + 0.0004 * j, 6)
        yield year, nests_of(rng, year, 7), [*crossings_of(rng, year, 15), *cluster]


def is_secret(row):
    return "nest_id" in row or row["taxon"] == "Terrapene carolina"


def elsewhere(row, rng):
    """The same record somewhere else in its square, with everything else of it changed too."""
    square = square_of(row["longitude"], row["latitude"])
    for _ in range(PLACES_TRIED):
        east, north = rng.uniform(-0.049, 0.049), rng.choice([-1, 1]) * rng.uniform(0.004, 0.049)
        on_road = "nest_id" not in row
        place = round(CENTRE[0] + east, 6), CENTRE[1] if on_road else round(CENTRE[1] + north, 6)
        if square_of(*place) == square:
            break
    day = f"{rng.integers(1, 29):02d}"
    moved = row | {"longitude": place[0], "latitude": place[1], "observer": "somebody else", "notes": "another note"}
    if "nest_id" in row:
        taxon = str(rng.choice(["Sternotherus odoratus", "Terrapene carolina"]))
        found_at = f"{row['found_at'][:4]}-0{rng.integers(4, 7)}-{day}"
        return moved | {"nest_id": f"moved-{rng.integers(10**9)}", "taxon": taxon, "found_at": found_at}
    condition, observed_at = str(rng.choice(["alive", "dead"])), f"{row['observed_at'][:5]}09-{day}T22:10:00-04:00"
    name = f"moved-{rng.integers(10**9)}"
    return moved | {"record_id": name, "observed_at": observed_at, "condition": condition, "photo": "other.jpg"}


@pytest.fixture(scope="module", autouse=True)
def fixed_time_of_geopackages():
    """GDAL writes the time of making into a GeoPackage; nothing else of it may differ."""
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": "2025-07-01T12:00:00.000Z"})
    yield
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": None})


def pages_of(county, step, names=PAGES):
    """Every page for the public that the program can make of a season."""
    pages = []
    for name in names:
        page = county.folder / f"{name}-{step}.html"
        made = county.run(name, county.season, "-o", page, "--as-of", "2025-07-01")
        assert made.exit_code == 0, made.output
        pages += sorted(county.folder.glob(f"{name}-{step}*"))
    return pages


def told_by(folder, *, change=lambda row, _rng: row, seed=0):
    """Every public file of three seasons, by name; a release of everything after each."""
    rng, county, public = np.random.default_rng(seed), secret_county(folder), {}
    for step, (year, nests, crossings) in enumerate(batches()):
        for kind, rows in (("n", nests), ("c", crossings)):
            told = county.ingest(f"{kind}{year}.csv", [change(row, rng) if is_secret(row) else row for row in rows])
            assert told.exit_code == 0, told.output
        made = [*public_files(county, step, forms=FORMS).values(), *pages_of(county, step)]
        public |= {path.name: path.read_bytes() for path in made}
        public |= {path.name: path.read_bytes() for path in county.folder.glob("public-*.txt")}
    return county, public


@pytest.fixture(scope="module")
def world(tmp_path_factory):
    return told_by(tmp_path_factory.mktemp("world") / "county")


@pytest.fixture(scope="module", params=[1, 2])
def other_world(request, tmp_path_factory):
    return told_by(tmp_path_factory.mktemp("other") / "county", change=elsewhere, seed=request.param)


def secrets_of(county):
    season = Season.open(county.season)
    nests, crossings = season.read("nests"), season.read("crossings").query("taxon == 'Terrapene carolina'")
    return [(row.longitude, row.latitude) for table in (nests, crossings) for row in table.itertuples()]


def test_the_worlds_do_differ_in_every_secret_and_in_no_square(world, other_world):
    here, there = secrets_of(world[0]), secrets_of(other_world[0])
    assert len(here) == len(there) == 3 * (7 + 5)
    assert all(one != other for one, other in zip(here, there, strict=True))
    assert [square_of(*place) for place in here] == [square_of(*place) for place in there]


def test_every_public_file_and_page_is_the_same_in_both_to_the_last_byte(world, other_world):
    here, there = world[1], other_world[1]
    assert set(here) == set(there)
    assert [name for name in here if here[name] != there[name]] == []
    assert len(here) >= len(YEARS) * (len(FORMS) + 1 + len(PAGES))  # the words beside the table of text are a file too


def test_the_pages_do_show_hotspots_so_that_there_is_something_to_compare(world):
    page = world[1][f"map-{len(YEARS) - 1}.html"].decode("utf-8")
    assert "found from the crossings that it shows where they lie" in page
    assert "No hotspots" not in page
    found = season_hotspots(opened(world[0]), rng=np.random.default_rng(0))
    assert len(found.hotspots) >= 1


def opened(county):
    return season_view(county.season, audience="public", today=date(2025, 7, 1)).opened


def test_hotspots_of_the_team_do_differ_so_that_the_comparison_can_fail(world, other_world):
    found = [
        season_hotspots(county.season, rng=np.random.default_rng(1), n_draws=99).stretches.to_wkt().to_csv()
        for county in (world[0], other_world[0])
    ]
    assert found[0] != found[1]


def counts_in(public, step):
    """How many records each square is said to hold."""
    rows = gpd.GeoDataFrame.from_features(json.loads(public[f"public-{step}.geojson"])["features"])
    rows = rows[rows["what"] == "square"]
    return dict(zip(zip(rows["counted"], rows["public_id"], strict=True), rows["records"], strict=True))


def test_no_difference_of_any_two_releases_is_one_or_two_records(world):
    counts = [counts_in(world[1], step) for step in range(len(YEARS))]
    changes = [
        abs(later.get(key, 0) - earlier.get(key, 0))
        for earlier, later in combinations(counts, 2)
        for key in {*earlier, *later}
    ]
    assert not {1, 2} & set(changes)
    assert max(changes) >= 3


def everything_told(county):
    """
    All public texts of one moment in which places stand: a report tells how many nests the whole county has.

    The share masked is told to the nearest tenth and may pass to the next one.
    """
    files = [*public_files(county, 7).values(), *pages_of(county, 7, names=("map",))]
    return {path.name: re.sub(r"about \d+ %", "", text_of(path)) for path in files}


@pytest.fixture
def county(tmp_path):
    return told_by(tmp_path / "county")[0]


def test_one_more_nest_and_one_more_box_turtle_change_nothing_that_is_told(county):
    before = everything_told(county)
    rng = np.random.default_rng(5)
    nest, crossing = nests_of(rng, 2025, 1)[0], crossings_of(rng, 2025, 1)[0]
    rows = {"n": nest | {"nest_id": "late"}, "c": crossing | {"record_id": "late", "longitude": CENTRE[0] + 0.0127}}
    for kind, row in rows.items():
        told = county.ingest(f"one-{kind}.csv", [row])
        assert told.exit_code == 0, told.output
    assert everything_told(county) == before


def test_a_nest_found_to_lie_in_another_square_and_a_box_turtle_taken_out_change_nothing_yet(county):
    crossing = crossings_of(np.random.default_rng(5), 2025, 1)[0] | {"record_id": "one-more"}
    told = county.ingest("one.csv", [crossing])
    assert told.exit_code == 0, told.output
    before = everything_told(county)
    nest = Season.open(county.season).read("nests").iloc[0]
    there = nest["latitude"] + 0.15  # 16 km away, more than the side of a square
    assert square_of(nest["longitude"], there) != square_of(nest["longitude"], nest["latitude"])
    moved = county.run("amend", county.season, nest["nest_id"], f"latitude={there}", "--why", "read again")
    assert moved.exit_code == 0, moved.output
    undone = county.run("undo", county.season, 2 * len(YEARS) + 1, "--why", "read twice")
    assert undone.exit_code == 0, undone.output
    assert len(Season.open(county.season).read("crossings").query("record_id == 'one-more'")) == 0
    assert everything_told(county) == before
