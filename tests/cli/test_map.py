"""The map command draws what there is and says what there is not."""

import pytest

from roadwatch.identify.tables import identify_tables, version_note


@pytest.fixture
def drawn(county, crossing, nest):
    county.ingest("c.csv", [crossing(0.001 * k, record_id=f"r{k}") for k in range(9)])
    county.ingest("n.csv", [nest(nest_id="invented-nest")])
    return county


def page(county, *options):
    file = county.folder / "map.html"
    told = county.json("map", county.season, "-o", file, "--as-of", "2025-07-01", *options)
    return file.read_text("utf-8"), told


def test_the_default_is_the_public(drawn):
    text, told = page(drawn)
    assert told["audience"] == "public"
    assert "invented-nest" not in text


def test_what_is_missing_is_said_on_the_page(drawn):
    text, told = page(drawn)
    assert any("No hatch windows: not enough data" in note for note in told["notes"])
    assert "No hatch windows" in text


def test_the_team_page_says_so_on_its_face(drawn):
    text, _ = page(drawn, "--for", "team")
    assert "Team only" in text
    assert "invented-nest" in text


def test_an_empty_season_gives_a_map_of_its_roads(county):
    text, told = page(county)
    assert any(note.startswith("No hotspots") for note in told["notes"])
    assert "Invented East Road" in text


def test_equal_input_gives_equal_bytes(drawn):
    assert page(drawn)[0] == page(drawn)[0]


def test_the_tables_behind_the_masking_are_named_even_where_nothing_else_can_be_drawn(county):
    text, told = page(county)
    assert any(note.startswith("No hotspots") for note in told["notes"])
    assert any(note.startswith("No hatch windows") for note in told["notes"])
    assert told["notes"].count(version_note(identify_tables())) == 1
    assert identify_tables().version in text
