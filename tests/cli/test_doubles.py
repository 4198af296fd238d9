"""``roadwatch doubles``: a table to read, one JSON object, or a file."""

import csv

import pytest


@pytest.fixture
def twice(county, crossing):
    """A season in which one carcass was recorded by two people, and others by one."""
    lonely = [
        crossing(-0.045 + 0.002 * k, record_id=f"l{k}", observed_at=f"2025-0{4 + k % 5}-{3 + k:02d}") for k in range(12)
    ]
    rows = [
        crossing(0.03, record_id="a1", observed_at="2025-05-12", observer="Ann"),
        crossing(0.03005, record_id="b1", observed_at="2025-05-12", observer="Bea"),
    ]
    county.ingest("c.csv", [*lonely, *rows])
    return county


def test_the_table_names_records_probability_and_reasons(twice):
    result = twice.run("doubles", twice.season)
    assert result.exit_code == 0
    assert "a1" in result.stdout
    assert "5 m apart" in result.stdout
    assert "1 records merged as doubles into 1 animals" in result.stdout
    assert "counted as separate animals" in result.stdout


def test_json_is_one_object_with_every_column(twice):
    told = twice.json("doubles", twice.season)
    (pair,) = told["doubles"]
    assert set(pair) == {"double_id", "record_a", "record_b", "p", "reasons", "merged"}
    assert {pair["record_a"], pair["record_b"]} == {"a1", "b1"}
    assert pair["merged"] is True
    assert 0.95 <= pair["p"] <= 1
    assert len(told["notes"]) == 2


def test_a_file_holds_the_same_rows(twice):
    path = twice.folder / "doubles.csv"
    result = twice.run("doubles", twice.season, "-o", path)
    assert result.exit_code == 0
    text = path.read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert [{row["record_a"], row["record_b"]} for row in rows] == [{"a1", "b1"}]


def test_a_season_without_doubles_says_so(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.03)])
    told = county.json("doubles", county.season)
    assert told["doubles"] == []
    assert told["notes"][0].startswith("0 records merged")


def test_a_season_that_is_not_there_is_named(folder):
    result = folder.run("doubles", folder.season)
    assert result.exit_code == 2
    assert "season.gpkg" in result.output
