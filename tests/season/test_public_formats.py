"""Each public file and page says what was masked, and where a place became a square nothing else of a record stands."""

import csv
import io
import json
import re
import sqlite3
from contextlib import closing
from datetime import date

import geopandas as gpd
import icalendar
import numpy as np
import pytest
from dwca.read import DwCAReader
from season.invented_secrets import SECRET, crossings_of, nests_of, public_files, secret_county, text_of

from roadwatch.records.store import Season
from roadwatch.season.sharing import ENDINGS

DWC = "http://rs.tdwg.org/dwc/terms/"
SHARE = re.compile(r"Of all crossings and nests, (about \d+0 %|under 5 %|over 95 %) are masked")

# fmt: off
ABOUT_SQUARES = {
    "public_id", "what", "counted", "records", "longitude", "latitude", "position_error_m", "dataGeneralizations",
    "informationWithheld", "geometry",
}
"""All that may stand in a row that counts records of a square."""

TERMS_OF_SQUARES = {
    "occurrenceID", "basisOfRecord", "occurrenceStatus", "scientificName", "taxonRank", "organismQuantity",
    "organismQuantityType", "decimalLatitude", "decimalLongitude", "geodeticDatum", "coordinateUncertaintyInMeters",
    "accessRights", "dataGeneralizations", "informationWithheld",
}
# fmt: on


@pytest.fixture(scope="module")
def county(tmp_path_factory):
    made = secret_county(tmp_path_factory.mktemp("formats") / "county")
    rng = np.random.default_rng(3)
    for kind, rows in (("n", nests_of(rng, 2025, 9)), ("c", crossings_of(rng, 2025, 18))):
        told = made.ingest(f"{kind}.csv", rows)
        assert told.exit_code == 0, told.output
    built = {"measure_id": "m1", "kind": "fence", "built_on": "2024-11-02", "notes": f"keeps from the {SECRET}"}
    line = {"type": "LineString", "coordinates": [[-81.905, 31.7], [-81.9, 31.7]]}
    layer = made.write("m.geojson", json.dumps({"type": "Feature", "properties": built, "geometry": line}))
    told = made.run("ingest", made.season, layer)
    assert told.exit_code == 0, told.output
    return made


@pytest.fixture(scope="module")
def files(county):
    page = county.folder / "map.html"
    made = county.run("map", county.season, "-o", page, "--as-of", "2025-07-01")
    assert made.exit_code == 0, made.output
    return {**public_files(county, 1), "map": page}


@pytest.mark.parametrize("form", [*ENDINGS, "map"])
def test_the_share_masked_is_told_in_round_numbers(files, form):
    file = files[form].with_suffix(".txt") if form == "csv" else files[form]
    text = text_of(file)
    if form == "icalendar":
        (event,) = icalendar.Calendar.from_ical(text).walk("VEVENT")
        text = str(event["description"])
    if form == "csv":
        rows = list(csv.DictReader(io.StringIO(files[form].read_text(encoding="utf-8"))))
        assert all(SHARE.search(row["informationWithheld"]) for row in rows if row["what"] == "square")
    assert SHARE.search(" ".join(text.split()))


def square_rows(files, form):
    """The rows that count, as the names and values that stand in them."""
    if form == "csv":
        rows = list(csv.DictReader(io.StringIO(files[form].read_text(encoding="utf-8"))))
    elif form == "geojson":
        rows = [feature["properties"] for feature in json.loads(text_of(files[form]))["features"]]
    else:
        rows = gpd.read_file(files[form], layer="squares").to_dict("records")
    told = [{name: value for name, value in row.items() if value not in (None, "") and value == value} for row in rows]
    return [row for row in told if row["what"] == "square"]


@pytest.mark.parametrize("form", ["csv", "geojson", "geopackage"])
def test_a_square_has_a_count_and_its_middle_and_says_what_was_done(files, form):
    rows = square_rows(files, form)
    assert {row["counted"] for row in rows} == {"nests", "crossings"}
    for row in rows:
        assert set(row) <= ABOUT_SQUARES
        assert "10 km by 10 km" in row["dataGeneralizations"]
        for word in ("days", "taxa", "roads", "hatching days", "observers", "photographs", "notes"):
            assert word in row["informationWithheld"]


def test_a_square_of_an_archive_has_no_day_taxon_observer_or_remark(files):
    with DwCAReader(files["dwca"]) as archive:
        rows = [{k.rsplit("/", 1)[1]: v for k, v in row.data.items() if v} for row in archive]
    squares = [row for row in rows if row.get("organismQuantity")]
    assert len(squares) >= 2
    for row in squares:
        assert set(row) == TERMS_OF_SQUARES
        assert row["scientificName"] == "Testudines"  # the order that all turtles belong to
        assert float(row["coordinateUncertaintyInMeters"]) > 5000  # half the side of a square


@pytest.mark.parametrize("form", ["csv", "geojson", "geopackage", "dwca"])
def test_an_open_crossing_says_what_is_withheld_of_it(files, form):
    assert "Record id, observer, time of day, photograph and notes are withheld." in text_of(files[form])


@pytest.mark.parametrize("form", [*ENDINGS, "map"])
def test_no_word_written_beside_a_record_or_measure_stands_anywhere(county, files, form):
    names = [SECRET, ".jpg", "warden"]
    text = text_of(files[form]).replace(f"{SECRET} Road", "") if form == "map" else text_of(files[form])
    assert [name for name in names if name in text] == []
    for extra in county.folder.glob("public-1-*"):
        assert SECRET not in text_of(extra)


@pytest.mark.parametrize("form", [*ENDINGS, "map"])
def test_no_time_of_day_and_no_day_of_a_nest_stands_anywhere(county, files, form):
    season, text = Season.open(county.season), text_of(files[form])
    times = {moment[10:16] for moment in season.read("crossings")["observed_at"]}
    assert times
    assert not any(moment in text for moment in times)
    assert not any(day[:10] in text for day in season.read("nests")["found_at"])


def test_each_file_stands_in_the_list_of_releases(county, files):
    with closing(sqlite3.connect(county.season)) as season:
        noted = {name for (name,) in season.execute("SELECT file_name FROM releases")}
    assert {path.name for form, path in files.items() if form != "map"} <= noted


def test_no_day_of_making_but_the_one_asked_for_stands_in_a_file(files):
    for form in ("dwca", "gpx", "icalendar"):
        days = set(re.findall(r"20\d\d-?\d\d-?\d\dT", text_of(files[form])))
        assert {day.replace("-", "") for day in days} <= {date(2025, 7, 1).strftime("%Y%m%dT")}


def test_the_screen_says_that_a_release_was_noted(county):
    page = county.folder / "again.html"
    told = county.run("map", county.season, "-o", page, "--as-of", "2025-07-01")
    assert "Noted in the season as a release" in " ".join(told.output.split())
    assert "Noted in the season" not in page.read_text(encoding="utf-8")
    shared = county.run("share", county.season, "--as", "csv", "-o", county.folder / "again.csv")
    assert "Noted in the season as a release" in " ".join(shared.output.split())
    team = county.run("map", county.season, "-o", page, "--as-of", "2025-07-01", "--for", "team")
    assert "Noted in the season" not in team.output
