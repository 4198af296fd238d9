"""Taking in files: every row stored, known or held back, and nothing twice."""

import json
import random
import sqlite3
from contextlib import closing
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records.store_cases import LATER, as_read, batch_of, crossing, different_crossings, fault, new_season, put

from roadwatch.errors import UnfitFileError, UsageError


@pytest.fixture
def season(tmp_path):
    return new_season(tmp_path)


def counts(report):
    return report.rows_in, report.accepted, report.known, report.held_back


def test_good_rows_are_stored_and_counted(season):
    report = put(season, different_crossings(3))
    assert counts(report) == (3, 3, 0, 0)
    assert report.message == "crossings.csv: 3 rows, 3 stored, 0 already known, 0 held back"
    assert len(season.read("crossings")) == 3


def test_the_same_file_twice_adds_nothing(season):
    put(season, different_crossings(3))
    report = put(season, different_crossings(3))
    assert counts(report) == (3, 0, 3, 0)
    assert report.message == "crossings.csv: read before as batch 1; nothing added"
    assert (len(season.read("crossings")), len(season.batches())) == (3, 1)


def test_a_renamed_copy_of_a_file_adds_nothing(season):
    batch = batch_of(different_crossings(3))
    season.write_batch(batch)
    copy = batch_of(different_crossings(3), file="copy of crossings.csv", sha256=batch.sha256)
    assert counts(season.write_batch(copy)) == (3, 0, 3, 0)
    assert len(season.batches()) == 1


def test_two_tables_of_one_file_are_two_batches(season):
    """A workbook's sheets share the digest of the file."""
    may, june = ([crossing(observed_at=f"2025-0{month}-01")] for month in (5, 6))
    for name, rows in (("may", may), ("june", june)):
        assert put(season, rows, file=f"book.xlsx, sheet {name}", sha256="b" * 64).accepted == 1
    assert season.batches()["file_name"].tolist() == ["book.xlsx, sheet may", "book.xlsx, sheet june"]


def test_shuffled_rows_add_nothing(season):
    rows = [*different_crossings(20), crossing(), crossing()]
    put(season, rows)
    shuffled = random.Random(1).sample(rows, len(rows))
    assert counts(put(season, shuffled, file="shuffled.csv")) == (22, 0, 22, 0)


def test_a_file_grown_by_ten_rows_adds_exactly_ten(season):
    put(season, different_crossings(30))
    assert counts(put(season, different_crossings(40), file="grown.csv")) == (40, 10, 30, 0)


def test_two_animals_written_alike_are_two_records(season):
    assert put(season, [crossing(), crossing()]).accepted == 2
    assert put(season, [crossing(), crossing(), crossing()], file="three.csv").accepted == 1


def test_a_record_in_two_files_is_kept_once_and_both_say_so(season):
    for file in ("a.csv", "b.csv"):
        put(season, [crossing(record_id="c1")], file=file)
    assert season.read("crossings")["record_key"].tolist() == ["c1"]
    assert [row["file_name"] for row in season.trace("crossings", "c1").sources] == ["a.csv", "b.csv"]


def test_a_name_with_other_content_is_held_back(season):
    put(season, [crossing(record_id="c12")])
    report = put(season, [crossing(record_id="c12", latitude=29.7), crossing(record_id="c13")], file="b.csv")
    assert counts(report) == (2, 1, 0, 1)
    (conflict,) = report.conflicts
    assert (conflict.line, conflict.column, conflict.severity) == (2, "latitude", "hold back")
    assert conflict.reason.startswith(
        "record_id c12 is already stored with another latitude (29.6512, here 29.7); use amend"
    )
    assert season.held_back()["reasons"].tolist() == [conflict.reason]
    assert season.read("crossings")["latitude"].tolist() == [29.6512, 29.6512]


def test_a_name_used_twice_in_one_file_for_two_animals_is_held_back(season):
    report = put(season, [crossing(record_id="c1"), crossing(record_id="c1", observer="Ben")])
    assert counts(report) == (2, 1, 0, 1)
    assert "record_id c1 is already in line 2 with another observer (Ana, here Ben)" in report.conflicts[0].reason


def test_a_row_repeated_with_its_name_is_known(season):
    assert counts(put(season, [crossing(record_id="c1"), crossing(record_id="c1")])) == (2, 1, 1, 0)
    assert [row["line"] for row in season.trace("crossings", "c1").sources] == [2, 3]


def test_an_amended_record_is_known_as_it_was_and_as_it_is(season):
    put(season, [crossing(record_id="c1")])
    season.add_changes("crossings", "c1", {"latitude": "29.7"}, who="Ana", when=LATER, why="read from the photograph")
    for latitude in (29.6512, 29.7):
        assert put(season, [crossing(record_id="c1", latitude=latitude)], file=f"{latitude}.csv").known == 1


def test_our_own_export_comes_back_as_known(season):
    """The name made for a nameless record stands in record_id, so that an export that is read again adds nothing."""
    put(season, different_crossings(3))
    exported = pd.DataFrame(season.read("crossings").drop(columns=["geometry", "record_key", "batch"]))
    again = exported.assign(line=range(2, 5), original=["x", "y", "z"])
    assert counts(season.write_batch(batch_of(again, file="export.csv"))) == (3, 0, 3, 0)


def test_rows_held_back_keep_place_wording_and_every_reason(season):
    faults = [fault(5), fault(5, reason="taxon 'trutle' is not known; did you mean turtle?"), fault(9)]
    report = put(season, different_crossings(2), held_back=faults)
    assert counts(report) == (4, 2, 0, 2)
    held = season.held_back()
    assert held["line"].tolist() == [5, 9]
    assert held["original"].tolist() == ["the words of line 5", "the words of line 9"]
    assert held["reasons"].iloc[0].splitlines() == [
        "latitude 'N45.1' is not a number",
        "taxon 'trutle' is not known; did you mean turtle?",
    ]


def test_a_row_with_a_fault_is_not_stored_even_when_it_is_handed_over_as_good(season):
    assert counts(put(season, different_crossings(3), held_back=[fault(3)])) == (3, 2, 0, 1)
    assert 29.001 not in season.read("crossings")["latitude"].tolist()


@pytest.mark.parametrize("severity", ["ask", "note"])
def test_a_remark_is_kept_beside_the_stored_row(season, severity):
    report = put(season, [crossing(record_id="c1")], held_back=[fault(2, reason="far from a road", severity=severity)])
    assert counts(report) == (1, 1, 0, 0)
    (remark,) = season.remarks().to_dict("records")
    assert (remark["record_key"], remark["severity"], remark["reason"]) == ("c1", severity, "far from a road")


def test_every_row_is_accounted_for_with_its_wording(season):
    put(season, [crossing(record_id="c1"), crossing(record_id="c1")], held_back=[fault(7)])
    with closing(sqlite3.connect(season.path)) as connection:
        rows = connection.execute("SELECT line, record_id, original FROM source_rows ORDER BY line").fetchall()
    wording = as_read([crossing(record_id="c1")])["original"].iloc[0]
    assert rows == [(2, "c1", wording), (3, "c1", wording), (7, None, "the words of line 7")]


def test_a_row_held_back_is_stored_when_the_same_file_is_read_again_and_it_is_good_now(season):
    """A visit whose nest is not yet known is held back; after the nests have come, the same file is read again."""
    rows = as_read(different_crossings(3))
    good = rows[rows["line"] != 3]
    held = [replace(fault(3), original=rows["original"].iloc[1])]
    first = season.write_batch(batch_of(good, sha256="f" * 64, held_back=held))
    assert counts(first) == (3, 2, 0, 1)
    again = season.write_batch(batch_of(rows, sha256="f" * 64, ingested_at=LATER))
    assert counts(again) == (3, 1, 2, 0)
    assert again.message.endswith("1 rows held back then are stored now")
    assert len(season.held_back()) == 0
    assert len(season.trace("crossings", season.read("crossings")["record_key"].iloc[2]).sources) == 1
    third = season.write_batch(batch_of(rows, sha256="f" * 64))
    assert counts(third) == (3, 0, 3, 0)


def test_unknown_columns_are_kept_as_they_came(season):
    put(season, [crossing(other=json.dumps({"Röhre": "=1+1"}))])
    assert json.loads(season.read("crossings")["other"].iloc[0]) == {"Röhre": "=1+1"}


def test_a_character_seen_for_the_first_time_gets_its_column(season):
    put(season, [crossing()])
    put(season, [crossing(seen_hinge="present", latitude=29.7)], file="b.csv")
    assert season.read("crossings")["seen_hinge"].tolist() == [None, "present"]


def test_columns_of_other_rooms_are_not_stored(season):
    put(season, [crossing(snapped_edge=4.0, distance_m=3.0)])
    assert not {"snapped_edge", "distance_m", "line", "original", "source"} & set(season.read("crossings").columns)


def test_a_column_name_that_cannot_be_kept_stores_nothing_of_the_file(season):
    put(season, [crossing()])
    before = season.path.read_bytes()
    with pytest.raises(UnfitFileError, match="cannot be kept"):
        put(season, [crossing(**{"seen_x y": "a"})], file="b.csv")
    assert season.path.read_bytes() == before


def test_a_layer_is_not_a_batch(season):
    with pytest.raises(UsageError, match="'roads' are not records; take in one of crossings"):
        put(season, [crossing()], kind="roads")


def test_a_file_without_a_good_row_is_still_noted(season):
    empty = as_read(different_crossings(1)).iloc[:0]
    report = season.write_batch(batch_of(empty, held_back=[fault(2)]))
    assert counts(report) == (1, 0, 0, 1)
    assert season.batches()["held_back"].tolist() == [1]


def test_checks_and_temperatures_are_named_by_their_content(season):
    check = {"nest_id": "n1", "checked_at": "2025-06-01", "outcome": "intact"}
    reading = {"series_id": "t1", "at": "2025-06-01T12:00:00-04:00", "temp_c": 27.5}
    for kind, row, field in (("checks", check, "outcome"), ("temperatures", reading, "temp_c")):
        put(season, [row], kind=kind, file=f"{kind}.csv")
        report = put(season, [row, {**row, field: None}], kind=kind, file=f"more {kind}.csv")
        assert counts(report) == (2, 1, 1, 0)


@pytest.mark.parametrize(
    "text", ["'; DROP TABLE crossings; --", '"', "%s ?1 :name", "a\nb", "\x00", "🐢 Ñandú", "=1+1"]
)
def test_text_stays_text(season, text):
    put(season, [crossing(record_id=text, notes=text, observer=text)])
    (row,) = season.read("crossings").to_dict("records")
    assert (row["record_key"], row["notes"], row["observer"]) == (text, text, text)
    assert season.known("crossings") == {text}


TEXT = st.none() | st.text(min_size=1, max_size=30)
ROWS = st.lists(
    st.fixed_dictionaries(
        {
            "latitude": st.floats(-90, 90, allow_subnormal=False),
            "longitude": st.floats(-180, 180, allow_subnormal=False),
            "notes": TEXT,
            "observer": TEXT,
            "gravid": st.sampled_from([True, False, None]),
            "count": st.none() | st.integers(1, 1000),
            "other": TEXT,
        }
    ),
    min_size=1,
    max_size=8,
)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(rows=ROWS)
def test_what_goes_in_comes_out_and_the_second_time_adds_nothing(tmp_path_factory, rows):
    season = new_season(tmp_path_factory.mktemp("trip"))
    assert put(season, rows).accepted == len(rows)
    assert put(season, rows[::-1], file="reversed.csv").accepted == 0
    found = season.read("crossings")
    for name in ("notes", "observer", "gravid", "other"):
        assert found[name].tolist() == [row[name] for row in rows]
    assert found["latitude"].tolist() == [row["latitude"] for row in rows]
    assert [None if pd.isna(n) else int(n) for n in found["count"]] == [row["count"] for row in rows]
