"""The form command writes one page and says what the coordinator must know."""

import json
import re

import pytest


def form_data(county):
    text = (county.folder / "form.html").read_text("utf-8")
    return json.loads(re.search(r'id="form-data">(.*?)</script>', text, re.DOTALL)[1])


def test_it_writes_one_page_and_says_what_is_in_it(county):
    result = county.run("form", county.season, "-o", county.folder / "form.html")
    assert result.exit_code == 0
    assert result.output.splitlines()[0] == f"Wrote {county.folder / 'form.html'}"
    assert "no record and no nest is in it" in result.output
    assert "tried in Chromium on a computer only" in result.output


def test_json_names_file_region_and_tables(county):
    told = county.json("form", county.season, "-o", county.folder / "form.html")
    assert told["file"].endswith("form.html")
    assert told["region"] == "SC_GA_coastal_plain"
    assert told["tables"] == form_data(county)["identification"]["version"]


def test_the_title_is_the_heading(county):
    county.json("form", county.season, "-o", county.folder / "form.html", "--title", "Invented County 2026")
    assert form_data(county)["title"] == "Invented County 2026"


def test_no_record_and_no_nest_of_the_season_is_in_the_page(county, crossing, nest):
    county.ingest("n.csv", [nest(nest_id="secret-nest", notes="secret note")])
    county.ingest("c.csv", [crossing(record_id="secret-record")])
    county.json("form", county.season, "-o", county.folder / "form.html")
    assert "secret" not in (county.folder / "form.html").read_text("utf-8")


def test_equal_input_gives_equal_bytes(county):
    for name in ("a.html", "b.html"):
        county.json("form", county.season, "-o", county.folder / name)
    assert (county.folder / "a.html").read_bytes() == (county.folder / "b.html").read_bytes()


def test_a_missing_season_is_named(folder):
    result = folder.run("form", folder.season, "-o", folder.folder / "form.html")
    assert result.exit_code == 2
    assert "season.gpkg" in result.output


def test_the_county_s_own_tables_are_in_the_form(folder):
    from tiny_county import road_layer, road_line

    (folder.folder / "own").mkdir()
    folder.write("own/skills.csv", "skill,slip,source\nnovice,0.3,convention\n")
    roads = folder.write("roads.geojson", road_layer(road_line("Invented East Road", (-0.05, 0), (0.05, 0))))
    made = folder.run(
        "new", folder.season, "--roads", roads, "--timezone", "America/New_York", "--tables", folder.folder / "own"
    )
    assert made.exit_code == 0, made.output
    told = folder.json("form", folder.season, "-o", folder.folder / "form.html")
    assert form_data(folder)["identification"]["slips"]["novice"] == pytest.approx(0.3)
    assert any("names no region" in note for note in told["notes"])
