"""``calibration`` and ``fields characters`` at the terminal."""

import json

from roadwatch.identify.tables import identify_tables


def verified(crossing, n, taxon="slider", truth="Trachemys scripta", east=0.0):
    return [
        crossing(east + 0.001 * (k + 1), taxon=taxon, id_confidence="0.8", verified_taxon=truth, observer=f"P{k}")
        for k in range(n)
    ]


def test_five_verified_records_give_a_picture_and_a_warning(county, crossing):
    county.ingest("c.csv", [*verified(crossing, 4), *verified(crossing, 1, taxon="snapper", east=0.02)])
    result = county.run("calibration", county.season)
    assert result.exit_code == 0, result.output
    assert "70% to 80% sure [" in result.output
    assert "4 of 5 right" in result.output
    assert "Verified records are not a random sample" in result.output
    assert "Only 5: a first look" in result.output


def test_json_holds_the_table_the_groups_and_the_version(county, crossing):
    county.ingest("c.csv", verified(crossing, 6))
    answer = county.json("calibration", county.season)
    assert answer["groups"][0]["n"] == 6
    assert answer["reliability"][0]["n_right"] == 6
    assert answer["tables_version"] == identify_tables().version


def test_it_can_be_written_to_a_file(county, crossing):
    county.ingest("c.csv", verified(crossing, 6))
    out = county.folder / "calibration.csv"
    result = county.run("calibration", county.season, "-o", out)
    assert result.exit_code == 0, result.output
    assert out.read_text(encoding="utf-8-sig").splitlines()[0].startswith("sure_from,sure_to,n,mean_sure")


def test_without_a_verified_record_it_says_what_is_missing(county, crossing):
    county.ingest("c.csv", [crossing(0.01)])
    result = county.run("calibration", county.season)
    assert result.exit_code == 5
    assert "no record was verified by a second person" in result.output


def test_characters_are_explained_in_plain_words(folder):
    result = folder.run("fields", "characters")
    assert result.exit_code == 0
    assert "upper_jaw: Seen from the front, what is in the middle of the upper jaw?" in result.output
    assert "notch_with_cusps: notch flanked by tooth-like cusps" in result.output
    assert "mistaken: Painted turtles also have a notch with cusps" in result.output
    assert "seen: in hand, carcass; needs the head" in result.output
    assert "mind: Only out of traffic." in result.output


def test_characters_are_listed_as_json(folder):
    answer = json.loads(folder.run("fields", "characters", "--json").stdout)
    assert [row["character"] for row in answer["characters"]] == list(identify_tables().characters)
    assert all(row["mistaken_for"] and row["states"] for row in answer["characters"])


def test_a_page_shows_the_picture_and_the_warning(county, crossing):
    county.ingest("c.csv", verified(crossing, 6))
    out = county.folder / "calibration.html"
    assert county.run("calibration", county.season, "-o", out).exit_code == 0
    page = out.read_text(encoding="utf-8")
    assert "<svg" in page
    assert "not a random sample" in page
    assert "6 of 6 right" in page


def test_a_countys_own_tables_are_scored_and_named(county, crossing):
    # by hand: where every slider is written as a snapper and no snapper ever is, 'snapper' means slider: 6 of 6 right
    folder = county.folder / "tables"
    folder.mkdir()
    (folder / "confusion.csv").write_text(
        "true_taxon,reported_taxon,probability,source\n"
        "Trachemys scripta scripta,Chelydra serpentina,1,judgement\n"
        "Chelydra serpentina,Trachemys scripta scripta,1,judgement\n",
        encoding="utf-8",
    )
    own = county.folder / "own.gpkg"
    options = ("--timezone", "America/New_York", "--region", "SC_GA_coastal_plain", "--tables", folder)
    assert county.run("new", own, "--roads", county.folder / "roads.geojson", *options).exit_code == 0
    file = county.write_csv("c.csv", verified(crossing, 6, taxon="snapper", truth="Trachemys scripta scripta"))
    for season in (own, county.season):
        assert county.run("ingest", season, file).exit_code == 0
    measured, shipped = (county.json("calibration", season) for season in (own, county.season))
    assert measured["reliability"][0]["n_right"] == 6
    assert shipped["reliability"][0]["n_right"] == 0
    assert measured["tables_version"] == identify_tables(folder).version != shipped["tables_version"]
