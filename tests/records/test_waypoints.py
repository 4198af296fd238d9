import pytest

from roadwatch.records.tables import RawTable
from roadwatch.records.taxonomy import taxonomy_of
from roadwatch.records.values import parse_values
from roadwatch.records.waypoints import is_waypoints, with_species


def read_species(raw):
    return with_species(raw, taxonomy_of())


PLACE = {"longitude": "-82.3", "latitude": "29.6", "time": "2025-06-01T12:00:00Z"}


def waypoints(*texts, **more):
    """Invented waypoints, each with its name, comment and description."""
    rows = [{**PLACE, **dict(zip(("name", "cmt", "desc"), text, strict=True)), **more} for text in texts]
    return RawTable.of_columns("gps.gpx", {name: [row[name] for row in rows] for name in rows[0]})


def test_waypoints_are_known_by_their_columns():
    assert is_waypoints(waypoints(("001", None, None)))


@pytest.mark.parametrize("column", ["species", "taxon", "scientificName"])
def test_a_table_that_names_the_animal_is_no_table_of_waypoints(column):
    assert not is_waypoints(waypoints(("001", None, None), **{column: "slider"}))


@pytest.mark.parametrize(
    ("name", "taxon", "condition"),
    [
        ("dead slider", "Trachemys scripta", "dead"),
        ("box turtle alive", "Terrapene carolina", "alive"),
        ("AOR snapper", "Chelydra serpentina", "alive"),
        ("slider", "Trachemys scripta", None),
    ],
)
def test_the_name_alone_is_searched(name, taxon, condition):
    raw = RawTable.of_columns("gps.gpx", {**{key: [cell] for key, cell in PLACE.items()}, "name": [name]})
    table, faults = parse_values(raw, "crossings", timezone="America/New_York")
    assert faults == []
    assert table.loc[0, ["taxon", "condition", "notes"]].tolist() == [taxon, condition, name]


def test_notes_and_condition_of_other_columns_stay_beside_the_name():
    cells = {**PLACE, "name": "slider", "Comments": "near Cooter Pond, not dead", "status": "injured"}
    raw = RawTable.of_columns("club.csv", {key: [cell] for key, cell in cells.items()})
    table, faults = parse_values(raw, "crossings", timezone="America/New_York")
    assert faults == []
    assert table.loc[0, ["taxon", "condition"]].tolist() == ["Trachemys scripta", "injured"]
    assert table.loc[0, "notes"] == "slider; near Cooter Pond, not dead"


def test_a_name_that_stands_alone_keeps_its_qualifier():
    raw = RawTable.of_columns("club.csv", {**{k: [c] for k, c in PLACE.items()}, "name": ["Pseudemys cf. floridana"]})
    table, _ = parse_values(raw, "crossings", timezone="America/New_York")
    assert table.loc[0, "taxon_as_written"] == "Pseudemys cf. floridana"


def test_a_table_without_places_is_no_table_of_waypoints():
    assert not is_waypoints(RawTable.of_columns("a.csv", {"name": ["x"], "desc": ["y"]}))


@pytest.mark.parametrize(
    ("texts", "taxon", "condition"),
    [
        (("yellow-bellied slider", None, None), "Trachemys scripta scripta", None),
        (("001", "DOR cooter", None), "Pseudemys", "dead"),
        (("001", None, "snapper, alive, moved across"), "Chelydra serpentina", "alive"),
        (("turtle 7", "box turtle", "by the bridge"), "Terrapene carolina", None),
    ],
)
def test_the_species_stands_in_any_of_the_texts(texts, taxon, condition):
    table, faults = parse_values(waypoints(texts), "crossings", timezone="America/New_York")
    assert faults == []
    assert table.loc[0, "taxon"] == taxon
    assert table.loc[0, "condition"] == condition
    assert table.loc[0, "observed_at"] == "2025-06-01T08:00:00-04:00"


def test_all_texts_are_kept_as_notes():
    rows = read_species(waypoints(("001", "DOR slider?", "2 m from water"), ("002", None, ""))).rows
    assert rows["notes"].tolist() == ["001; DOR slider?; 2 m from water", "002"]


def test_doubt_in_the_text_stays_with_the_name():
    table, faults = parse_values(waypoints(("001", "slider?", None)), "crossings", timezone="America/New_York")
    assert table.loc[0, "taxon_as_written"] == "slider?"
    assert [fault.severity for fault in faults] == ["note"]
    assert table["id_confidence"].isna().all()


@pytest.mark.parametrize("texts", [("001", None, None), ("001", "slider and cooter", None), (None, None, None)])
def test_without_one_animal_the_waypoint_is_held_back(texts):
    table, faults = parse_values(waypoints(texts), "crossings", timezone="America/New_York")
    assert len(table) == 0
    assert "taxon" in faults[0].column
    assert faults[0].severity == "hold back"


def test_what_was_done_is_said():
    assert "kept as notes" in read_species(waypoints(("001", None, None))).notes[-1]
