"""What is said of a file: counts that add up, reasons, repairs and remarks, each kind once."""

from roadwatch.records.tables import Repair, RowFault
from roadwatch.season.file_report import FileReport


def fault(line: int, reason: str, severity: str = "hold back") -> RowFault:
    return RowFault("c.csv", line, f"line {line}", "latitude", "?", reason, severity)


def report(**changes) -> FileReport:
    given = {
        "file": "c.csv",
        "kind": "crossings",
        "rows_read": 9,
        "accepted": 5,
        "known": 1,
        "held_back": 3,
        "batch": 2,
    }
    return FileReport(**{**given, **changes})


def test_the_first_line_counts_the_rows():
    assert report().sentence() == "c.csv: 9 crossings rows read, 5 accepted, 1 already known, 3 held back"
    assert "5 would be accepted" in report().sentence(dry_run=True)


def test_at_most_five_reasons_are_told_and_the_rest_counted():
    lines = report(faults=tuple(fault(k, f"reason {k}") for k in range(2, 10))).lines()
    assert lines[:2] == ["line 2: reason 2", "line 3: reason 3"]
    assert lines[5:] == ["3 more reasons: see 'roadwatch problems'"]


def test_remarks_that_differ_in_numbers_only_are_told_once():
    remarks = [fault(k, f"nearest road is {60 + k} m away from 'place {k}'", "note") for k in range(3)]
    assert report(faults=(*remarks, fault(9, "another matter", "ask"))).lines() == [
        "3 kept with a remark, such as line 0: nearest road is 60 m away from 'place 0'",
        "1 kept with a remark, such as line 9: another matter",
        "all remarks: see 'roadwatch problems SEASON --remarks'",
    ]


def test_one_is_written_without_the_s():
    assert report(rows_read=1).sentence().startswith("c.csv: 1 crossing row read")
    assert report(rows_read=1, kind="searches").sentence().startswith("c.csv: 1 search row read")
    assert report(rows_read=2, kind="searches").sentence().startswith("c.csv: 2 searches rows read")
    lines = report(faults=tuple(fault(k, f"reason {k}") for k in range(2, 8))).lines()
    assert lines[5:] == ["1 more reason: see 'roadwatch problems'"]


def test_a_dry_run_names_no_list_that_it_did_not_write():
    held = tuple(fault(k, f"reason {k}") for k in range(2, 9))
    kept = tuple(fault(k, "look", "note") for k in range(20, 22))
    lines = report(faults=(*held, *kept)).lines(dry_run=True)
    assert lines[5] == "2 more reasons: --json lists them all"
    assert lines[-1] == "all remarks: --json lists them"


def test_places_are_called_by_what_the_file_counts():
    assert report(file="a.gpx", faults=(fault(3, "why"),)).lines() == ["waypoint 3: why"]
    assert report(file="a.gpx", kind="searches", faults=(fault(3, "why"),)).lines() == ["track 3: why"]
    assert report(file="a.kml", faults=(fault(3, "why"),)).lines() == ["feature 3: why"]


def test_repairs_are_counted_by_rows():
    """A swapped place is two repairs of one row."""
    repairs = tuple(Repair(4, "x", name, "1", "2", "latitude and longitude were swapped") for name in ("a", "b"))
    assert report(repairs=repairs).lines() == ["1 row repaired, such as line 4: latitude and longitude were swapped"]


def test_as_plain_values_it_holds_counts_reasons_and_repairs():
    told = report(faults=(fault(3, "why"), fault(4, "look", "note")), repairs=(Repair(5, "x", "a", "1", "2", "w"),))
    plain = told.as_dict()
    assert plain["reasons"] == [{"line": 3, "column": "latitude", "found": "?", "reason": "why"}]
    assert plain["repairs"] == [{"line": 5, "column": "a", "old": "1", "new": "2", "why": "w"}]
    assert plain["remarks"] == [{"line": 4, "column": "latitude", "found": "?", "reason": "look", "severity": "note"}]
    assert (plain["batch"], plain["rows_read"]) == (2, 9)
    assert "error" not in plain
    assert report(error="no").as_dict()["error"] == "no"


def test_a_photograph_held_back_is_called_by_its_file():
    name = "photos, photographs"
    told = [
        RowFault(name, 2, '{"photo": "IMG_2.jpg"}', "taxon", "", "taxon is missing"),
        RowFault(name, 3, '{"photo": "IMG_3.jpg"}', "photo", "", "the photograph IMG_3.jpg cannot be read"),
    ]
    assert report(file=name, faults=tuple(told)).lines() == [
        "photograph 2 (IMG_2.jpg): taxon is missing",
        "photograph 3: the photograph IMG_3.jpg cannot be read",
    ]
