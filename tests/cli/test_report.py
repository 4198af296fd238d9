"""The report command: one page, its tables as files, and what it refuses."""

import re
import sqlite3
from contextlib import closing

import pytest


@pytest.fixture
def told(county, crossing):
    county.ingest(
        "c.csv", [crossing(0.004 * k, record_id=f"r{k}", observed_at=f"2025-05-{k + 1:02d}") for k in range(9)]
    )
    return county


def page(county, *options):
    file = county.folder / "report.html"
    told = county.json("report", county.season, "-o", file, "--as-of", "2025-07-01", *options)
    return file.read_text("utf-8"), told


def test_the_default_is_the_public(told):
    text, said = page(told)
    assert said["audience"] == "public"
    assert "Team only" not in text


def test_the_team_page_says_so_on_its_face(told):
    assert "Team only" in page(told, "--for", "team")[0]


def test_equal_input_gives_equal_bytes(told):
    assert page(told)[0] == page(told)[0]


def test_every_table_on_the_page_is_a_file_too(told):
    folder = told.folder / "tables"
    text, _ = page(told, "--csv", folder)
    saved = set(re.findall(r'download="([^"]+)"', text))
    assert "seen.csv" in saved
    assert {file.name for file in folder.glob("*.csv")} == saved


def test_an_empty_season_is_not_enough_data_and_no_file_is_left(county):
    file = county.folder / "report.html"
    result = county.run("report", county.season, "-o", file)
    assert result.exit_code == 5
    assert "no crossing, search or nest" in result.output
    assert not file.exists()


def test_a_season_that_is_not_there_is_a_wrong_use(folder):
    assert folder.run("report", folder.season, "-o", folder.folder / "r.html").exit_code == 2


def test_what_is_made_public_is_noted_as_a_release_of_a_report(told):
    said = told.run("report", told.season, "-o", told.folder / "r.html", "--as-of", "2025-07-01")
    assert "Noted in the season as a release" in said.output
    with closing(sqlite3.connect(told.season)) as file:
        assert file.execute("SELECT what, file_name FROM releases").fetchall() == [("report", "r.html")]
