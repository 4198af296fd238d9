"""The command as its users run it."""

import json
import sqlite3
from contextlib import closing

import pytest

from roadwatch.cli.share import KEYS
from roadwatch.season.sharing import FORMATS

FORMS = {"dwca": "zip", "geopackage": "gpkg", "geojson": "geojson", "gpx": "gpx", "csv": "csv"}


@pytest.fixture
def season(county, crossing, nest):
    """A season with crossings and nests in one square."""
    rows = [crossing(0.01 + k / 1000, taxon="Chelydra serpentina", id_confidence=0.99) for k in range(3)]
    county.ingest("c.csv", rows)
    county.ingest("n.csv", [nest(nest_id=f"n{k}", notes="under the oak") for k in range(3)])
    return county


@pytest.mark.parametrize("form", FORMS)
def test_each_format_is_written_for_everybody_unless_told_otherwise(season, form):
    to = season.folder / f"out.{FORMS[form]}"
    result = season.run("share", season.season, "--as", form, "-o", to)
    assert result.exit_code == 0, result.output
    assert f"Wrote {to}: " in result.output
    assert "Public view." in result.output
    assert "ask the agency that gave your permit" in result.output
    assert b"under the oak" not in to.read_bytes()


def test_the_team_is_told_not_to_pass_it_on(season):
    to = season.folder / "out.csv"
    result = season.run("share", season.season, "--as", "csv", "-o", to, "--for", "team")
    assert "Team only: exact places of nests" in result.output
    assert (season.folder / "out-nests.csv").read_text(encoding="utf-8").count("under the oak") == 3


def test_json_lists_the_files_with_their_rows(season):
    told = season.json("share", season.season, "--as", "csv", "-o", season.folder / "out.csv", "--for", "team")
    assert [file["rows"] for file in told["files"]] == [3, 3]
    assert (told["format"], told["audience"]) == ("csv", "team")
    json.dumps(told["notes"])


def test_only_public_files_are_noted_as_releases(season):
    for audience in ("team", "public"):
        season.run("share", season.season, "--as", "csv", "-o", season.folder / "out.csv", "--for", audience)
    with closing(sqlite3.connect(season.season)) as held:
        assert held.execute("SELECT what, file_name FROM releases").fetchall() == [("share as csv", "out.csv")]


def test_a_calendar_without_a_window_says_what_is_missing(season):
    result = season.run("share", season.season, "--as", "icalendar", "-o", season.folder / "out.ics")
    assert result.exit_code == 5
    assert "no hatch window can be put into this calendar" in result.output


def test_an_empty_season_has_nothing_to_share(county):
    result = county.run("share", county.season, "--as", "csv", "-o", county.folder / "out.csv")
    assert result.exit_code == 5
    assert "not enough data" in result.output
    assert not (county.folder / "out.csv").exists()


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("--as", "csv", "-o", "out.zip"), "a file of format 'csv' ends in .csv, not '.zip'"),
        (("--as", "word", "-o", "out.doc"), "'word' is not one of"),
        (("--as", "csv"), "Missing option '-o'"),
        (("--as", "csv", "-o", "no/such/folder/out.csv"), "does not exist"),
    ],
)
def test_wrong_usage_ends_with_two_and_names_the_cure(season, args, said):
    result = season.run("share", season.season, *args)
    assert result.exit_code == 2
    assert said in result.output


def test_a_season_that_does_not_exist_is_named(folder):
    result = folder.run("share", folder.season, "--as", "csv", "-o", folder.folder / "out.csv")
    assert result.exit_code == 2
    assert "does not exist" in result.output


def test_the_formats_of_the_command_are_those_that_can_be_written():
    assert KEYS == FORMATS
