"""Somebody collects every public file of three seasons and the pages' source, and looks for nests. All is invented."""

import csv
import io
import json
import re
from datetime import date
from itertools import pairwise

import geopandas as gpd
import numpy as np
import pytest
from season.invented_secrets import (
    NEST_MONTHS,
    SECRET,
    YEARS,
    crossings_of,
    nests_of,
    public_files,
    secret_county,
    text_of,
)
from tiny_county import County

from roadwatch.records.store import Season
from roadwatch.season.public_view import season_view
from roadwatch.season.sharing import ENDINGS, share_season
from roadwatch.share.masking import show_places

GRID_AREA_M2 = 10_000.0**2
NEAR_DEGREES = 0.002
"""About 200 m. The invented road keeps clear of every nest, so that no open crossing lies as near."""


def squares_in(geojson):
    rows = [f for f in json.loads(geojson)["features"] if f["properties"]["what"] == "square"]
    return {(f["properties"]["counted"], json.dumps(f["geometry"])): f["properties"]["records"] for f in rows}


def in_csv(text):
    rows = [row for row in csv.DictReader(io.StringIO(text)) if row["what"] == "square"]
    return sorted((row["counted"], float(row["longitude"]), int(row["records"])) for row in rows)


@pytest.fixture(scope="module")
def collected(tmp_path_factory):
    """Three seasons in which records come a few at a time and everything is released after each step."""
    county = secret_county(tmp_path_factory.mktemp("attack"))
    rng, files, step, naive = np.random.default_rng(7), [], 0, []
    for year in YEARS:
        nests, crossings = nests_of(rng, year, 10), crossings_of(rng, year, 12)
        while nests or crossings:
            n = int(rng.integers(1, 5))
            for kind, rows in (("n", nests), ("c", crossings)):
                part, rows[:] = rows[:n], rows[n:]
                if part:
                    told = county.ingest(f"{kind}{step}.csv", part)
                    assert told.exit_code == 0, told.output
            step += 1
            if step > 2:  # before that nothing can be shown in some formats
                forms = tuple(ENDINGS) if step % 3 == 0 else ("csv", "geojson")
                files.append({form: text_of(path) for form, path in public_files(county, step, forms=forms).items()})
                naive.append(unguarded(county))
    page = county.folder / "map.html"
    assert county.run("map", county.season, "-o", page, "--as-of", "2025-07-01").exit_code == 0
    return county, files, naive, page.read_text(encoding="utf-8")


def unguarded(county):
    """The squares that masking of this release alone would show."""
    season = Season.open(county.season)
    places = show_places(
        season.read("crossings"), season.read("nests"), None, audience="public", today=date(2025, 7, 1),
        sensitive={"Terrapene carolina"}, known={"Terrapene carolina", "Chelydra serpentina"},
    )  # fmt: skip
    keys = zip(places.cells["what"], places.cells.geometry.to_wkt(), strict=True)
    return dict(zip(keys, places.cells["records"], strict=True))


def steps_of(series):
    """By how much any square's count changes from one release to the next."""
    keys = {key for one in series for key in one}
    return [now.get(key, 0) - before.get(key, 0) for before, now in pairwise(series) for key in keys]


def all_texts(collected):
    _, files, _, page = collected
    return [text for one in files for text in one.values()] + [page]


def test_no_place_within_200_m_of_a_nest_stands_in_any_file_or_page(collected):
    nests = Season.open(collected[0].season).read("nests")
    assert len(nests) == 10 * len(YEARS)
    for text in all_texts(collected):
        numbers = np.array([float(n) for n in re.findall(r"-?\d{2}\.\d{3,}", text)])
        pairs = np.column_stack([numbers[:-1], numbers[1:]])
        for longitude, latitude in zip(nests["longitude"], nests["latitude"], strict=True):
            for place in ((longitude, latitude), (latitude, longitude)):
                assert not (np.abs(pairs - place).max(axis=1) < NEAR_DEGREES).any()


def test_every_square_is_a_whole_square_of_the_stated_grid(collected):
    for one in collected[1]:
        features = json.loads(one["geojson"])["features"]
        rows = gpd.GeoDataFrame.from_features(features, crs="EPSG:4326").query("what == 'square'")
        areas = rows.to_crs("EPSG:6933").area  # EPSG:6933 keeps areas
        assert areas.to_numpy() == pytest.approx(GRID_AREA_M2, rel=1e-4)  # corners are written to 6 decimals


def test_from_release_to_release_no_square_changes_by_one_or_two(collected):
    changes = steps_of([squares_in(one["geojson"]) for one in collected[1]])
    assert all(change == 0 or change >= 3 for change in changes)  # records were only added
    assert sum(change >= 3 for change in changes) > 3


def test_the_same_attack_succeeds_against_masking_that_forgets_earlier_releases(collected):
    assert any(change in (1, 2) for change in steps_of(collected[2]))


def test_formats_of_one_day_can_be_laid_over_each_other_and_tell_nothing_more(collected):
    for one in collected[1]:
        places = sorted(
            (key[0], round(np.mean([x for x, _ in json.loads(key[1])["coordinates"][0][:4]]), 4), n)
            for key, n in squares_in(one["geojson"]).items()
        )
        assert [(kind, round(x, 4), n) for kind, x, n in in_csv(one["csv"])] == [
            (kind, pytest.approx(x, abs=2e-4), n) for kind, x, n in places
        ]
        if "dwca" in one:
            assert len(re.findall("records of (?:nests|crossings)", one["dwca"])) == len(places)


def test_no_day_of_a_nest_stands_in_any_file(collected):
    days = re.compile(rf"20(?:23|24|25)-(?:{'|'.join(NEST_MONTHS)})-\d\d|20(?:23|24|25)-?08-?1[137]")
    for text in all_texts(collected):
        assert not days.search(text)


def test_no_name_note_photograph_observer_or_road_name_stands_in_any_file(collected):
    *files, page = all_texts(collected)
    assert not any(SECRET in text for text in files)
    assert not re.search(rf"{SECRET}(?! Road)", page)  # a map has its roads' names, and they say nothing of a nest


def test_no_time_of_day_of_a_record_stands_in_any_file(collected):
    assert not any(re.search(r"T0[678]:13|T1[012]:13", text) for text in all_texts(collected))


def test_ids_of_squares_stay_and_ids_of_crossings_never_change_hands(collected):
    seen = {}
    for one in collected[1]:
        for row in csv.DictReader(io.StringIO(one["csv"])):
            told = tuple(row[name] for name in ("what", "counted", "day", "longitude", "latitude"))
            assert seen.setdefault(row["public_id"], told) == told
    assert len(seen) == len(set(seen.values())) > 3


def test_rows_stand_in_an_order_that_tells_nothing_of_when_they_were_entered(collected):
    rows = [row for row in csv.DictReader(io.StringIO(collected[1][-1]["csv"])) if row["what"] == "crossing"]
    days = [row["day"] for row in rows]
    assert days == sorted(days)
    squares = [row for row in csv.DictReader(io.StringIO(collected[1][-1]["csv"])) if row["what"] == "square"]
    assert [row["counted"] for row in squares] == sorted((row["counted"] for row in squares), reverse=True)


def test_every_file_is_noted_as_a_release_with_its_grid(collected):
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(collected[0].season)) as season:
        noted = season.execute("SELECT what, grid, file_name FROM releases").fetchall()
    assert len(noted) == sum(map(len, collected[1])) + 1
    assert {grid for _, grid, _ in noted} == {"EPSG:6933, squares of 10 km"}
    assert noted[-1][0] == "map"


def test_a_crossing_that_turns_out_to_be_a_box_turtle_does_not_vanish_from_its_place(county, crossing):
    rows = [crossing(0.01 + k / 1000, taxon="Chelydra serpentina", id_confidence=0.99) for k in range(4)]
    county.ingest("c.csv", rows)
    view = lambda: season_view(county.season, audience="public", today=date(2025, 7, 1)).places  # noqa: E731
    before = view().crossings
    told = county.run("amend", county.season, rows[0]["record_id"], "taxon=Terrapene carolina", "--why", "photograph")
    assert told.exit_code == 0, told.output
    after = view()
    assert before.to_wkt().to_csv() == after.crossings.to_wkt().to_csv()
    assert after.cells.empty


def test_two_seasons_with_the_same_records_in_other_order_give_the_same_file(county, crossing, tmp_path):
    other = County(tmp_path / "other")
    other.folder.mkdir()
    other.season.write_bytes(county.season.read_bytes())
    rows = [crossing(0.01 + k / 1000, observed_at=f"2025-09-0{k + 1}") for k in range(6)]
    county.ingest("c.csv", rows)
    other.ingest("c.csv", rows[::-1])
    made = []
    for one in (county, other):
        to = one.folder / "p.geojson"
        share_season(
            one.season, form="geojson", to=to, audience="public", as_of=date(2025, 7, 1), released_at="2025-07-01"
        )
        made.append(to.read_bytes())
    assert made[0] == made[1]
