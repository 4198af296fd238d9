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


def fence_row(**changes):
    return {"run": 1, "road": "Invented East Road", "road_part": 0, "from_m": 1000, "to_m": 1500} | changes


def nest_row(**changes):
    return {"date": "2025-07-02", "nest_id": "invented-nest", "observer": "B", "order": 1} | changes


def test_saved_results_are_drawn_for_the_team(drawn):
    fences = drawn.write_csv("fences.csv", [fence_row()])
    rounds = drawn.write_csv("rounds.csv", [nest_row()])
    text, told = page(drawn, "--for", "team", "--with", fences, "--with", rounds)
    assert [(one["file"], one["kind"], one["rows"]) for one in told["drawn"]] == [
        ("fences.csv", "fence runs", 1),
        ("rounds.csv", "rounds", 1),
    ]
    assert "Saved fence runs: fences.csv" in text


def test_rounds_are_not_drawn_for_the_public_and_fences_say_what_they_tell(drawn):
    fences = drawn.write_csv("fences.csv", [fence_row()])
    rounds = drawn.write_csv("rounds.csv", [nest_row()])
    text, told = page(drawn, "--with", fences, "--with", rounds)
    assert [one["kind"] for one in told["drawn"]] == ["fence runs"]
    assert "rounds.csv holds nest rounds, which tell where nests are" in text
    assert "only once it is decided" in text
    assert "invented-nest" not in text


def test_a_file_that_is_no_result_is_refused_with_what_is_expected(drawn):
    other = drawn.write_csv("other.csv", [{"a": 1}])
    refused = drawn.run("map", drawn.season, "-o", drawn.folder / "m.html", "--with", other)
    assert refused.exit_code == 4
    assert "other.csv: found columns a; expected a result saved as CSV" in refused.output
    missing = drawn.run("map", drawn.season, "-o", drawn.folder / "m.html", "--with", drawn.folder / "none.csv")
    assert missing.exit_code == 2


def test_background_pictures_allow_one_host_and_say_so(drawn):
    address = "https://tiles.example.org/{z}/{x}/{y}.png"
    shown = drawn.run("map", drawn.season, "-o", drawn.folder / "m.html", "--tiles", address)
    assert "tiles.example.org then knows what part of the map you look at" in shown.output
    text = (drawn.folder / "m.html").read_text("utf-8")
    assert "img-src data: https://tiles.example.org" in text
    plain, _ = page(drawn)
    assert "tiles.example.org" not in plain
    refused = drawn.run("map", drawn.season, "-o", drawn.folder / "m.html", "--tiles", "http://x/{z}/{x}/{y}")
    assert refused.exit_code == 2
