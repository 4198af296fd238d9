"""Whole files, read and checked: what a club, a spreadsheet and a hand-held GPS write. All records are invented."""

import pytest
from records.record_cases import TIMEZONE, context

from roadwatch.records.checks import accept_rows
from roadwatch.records.columns import guess_kind
from roadwatch.records.readers import read_file

CLUB = """Date,Time,Lat,Lng,Species,Dead/Alive,How many,How sure,Who,Weather
5/31/2025,7:40 am,29.61,-82.31,Yellowbelly slider,DOR,1,probable,Ada,"hot, dry"
6/8/2025,,29.62,-82.32,cooters,alive,2,,Bo,
6/9/2025,8:05 pm,29.63,82.33,snapper,live,1,sure,Bo,
6/9/2025,8:15 pm,29.64,-82.34,snaping turtle,dead,1,sure,Bo,
6/10/2025,9:00 am,-82.35,29.65,box turtle,alive,1,80%,Ada,
6/11/2025,9:00 am,,-82.35,turtle,alive,1,,Ada,
6/12/2025,9:00 am,0,0,turtle,alive,1,,Ada,
6/13/2031,9:00 am,29.66,-82.36,mud turtle?,alive,1,,Ada,
6/14/2025,9:00 am,29.67,-82.37,mud turtle?,alive,1,,Ada,
"""
SPREADSHEET = """\ufeffid;Datum;date found;latitude;longitude;species;certainty
a1;x;31.05.2025;29,61;-82,31;Schildkröte;0,9
a2;x;01.06.2025;29,61;-82,31;slider;0,9
"""
WAYPOINTS = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="invented" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="29.61" lon="-82.31"><time>2025-06-01T02:30:00Z</time><name>001</name><cmt>DOR slider</cmt></wpt>
<wpt lat="29.62" lon="-82.32"><time>2025-06-01T13:30:00Z</time><name>002</name><cmt>flat tyre</cmt></wpt>
<wpt lat="29.63" lon="-82.33"><time>2025-06-01T13:45:00Z</time><name>box turtle</name><desc>alive</desc></wpt>
</gpx>
"""


@pytest.fixture
def taken(tmp_path):
    def take(name, text):
        (tmp_path / name).write_text(text, encoding="utf-8")
        (raw,) = read_file(tmp_path / name)
        kind = raw.kind or guess_kind(list(raw.rows.columns))
        return kind, accept_rows(raw, kind, timezone=TIMEZONE, context=context())

    return take


def test_a_club_s_list_gives_its_good_rows_and_a_reason_for_each_other(taken):
    kind, accepted = taken("club.csv", CLUB)
    assert kind == "crossings"
    assert accepted.table["line"].tolist() == [2, 3, 4, 5, 6, 10]
    reasons = {fault.line: fault.reason for fault in accepted.held_back}
    assert sorted(reasons) == [7, 8, 9]
    assert [(one.line, one.column, one.old, one.new) for one in accepted.repairs] == [
        (4, "longitude", "82.33", "-82.33"),
        (6, "longitude", "29.65", "-82.35"),
        (6, "latitude", "-82.35", "29.65"),
    ]
    assert reasons[7].startswith("latitude is missing; write decimal degrees")
    assert "has no position" in reasons[8]
    assert "lies after today" in reasons[9]


def test_the_good_rows_of_the_club_hold_what_was_written(taken):
    _, accepted = taken("club.csv", CLUB)
    first, second, *_, doubtful = accepted.table.to_dict(orient="records")
    assert (first["observed_at"], first["taxon"]) == ("2025-05-31T07:40:00-04:00", "Trachemys scripta scripta")
    assert (first["condition"], first["id_confidence"], first["other"]) == ("dead", 0.8, '{"Weather": "hot, dry"}')
    assert (second["observed_at"], second["taxon"], second["count"]) == ("2025-06-08", "Pseudemys", 2)
    assert (doubtful["taxon"], doubtful["taxon_as_written"]) == ("Kinosternon", "mud turtle?")
    assert [(fault.line, fault.severity) for fault in accepted.faults if fault.line == 10] == [(10, "note")]


def test_held_back_rows_keep_their_line_as_it_stands_in_the_file(taken):
    _, accepted = taken("club.csv", CLUB)
    lines = CLUB.splitlines()
    assert accepted.held_back
    for fault in accepted.held_back:
        assert fault.original == lines[fault.line - 1]


def test_a_spreadsheet_with_semicolons_and_decimal_commas_is_read(taken):
    kind, accepted = taken("sheet.csv", SPREADSHEET)
    assert kind == "crossings"
    (row,) = accepted.table.to_dict(orient="records")
    assert (row["record_id"], row["observed_at"], row["latitude"]) == ("a2", "2025-06-01", 29.61)
    assert (row["longitude"], row["id_confidence"]) == (-82.31, 0.9)
    assert "'Schildkröte' is not in the table of taxa" in accepted.held_back[0].reason


def test_waypoints_of_a_gps_are_crossings_with_their_species_from_the_comment(taken):
    kind, accepted = taken("gps.gpx", WAYPOINTS)
    assert kind == "crossings"
    assert accepted.table["taxon"].tolist() == ["Trachemys scripta", "Terrapene carolina"]
    assert accepted.table["condition"].tolist() == ["dead", "alive"]
    assert accepted.table["observed_at"].tolist()[0] == "2025-05-31T22:30:00-04:00"
    assert len(accepted.held_back) == 1
    assert "flat tyre" in accepted.held_back[0].original
