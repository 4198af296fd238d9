import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from records.record_cases import GOOD, TIMEZONE, raw

from roadwatch.errors import UsageError
from roadwatch.records.fields import RECORD_KINDS, fields_of
from roadwatch.records.tables import RawTable
from roadwatch.records.values import parse_values, read_values

ODD_CELLS = st.sampled_from(
    [
        None,
        "",
        "NA",
        "29.6",
        "-82.3",
        "29,6",
        "6/8/2025",
        "13/6/2025",
        "2025-05-12T07:40Z",
        "slider?",
        "x",
        "80%",
        "DOR",
    ]
)


def parse(table, kind="crossings", **options):
    return parse_values(table, kind, timezone=TIMEZONE, **options)


def only_row(table, kind="crossings", **options):
    rows, faults = parse(table, kind, **options)
    assert [fault for fault in faults if fault.severity == "hold back"] == []
    assert len(rows) == 1
    return rows.iloc[0]


def only_fault(table, kind="crossings", **options):
    rows, faults = parse(table, kind, **options)
    assert (len(rows), len(faults)) == (0, 1)
    return faults[0]


@pytest.mark.parametrize("kind", RECORD_KINDS)
def test_a_good_row_of_every_kind_has_all_columns_in_their_order_and_types(kind):
    rows, faults = parse(raw(kind), kind)
    assert faults == []
    named = [name for name in rows if name in fields_of(kind)]
    assert named == list(fields_of(kind))
    for name, field in fields_of(kind).items():
        is_number = field.type in ("number", "integer", "probability")
        assert (rows[name].dtype == np.float64) == is_number
    assert rows[["source", "line"]].to_numpy().tolist() == [[f"{kind}.csv", 2]]


def test_a_row_of_everyday_columns_is_read():
    table = RawTable.of_columns(
        "club.csv",
        {
            "Date Found": ["May 12, 2025"],
            "time": ["7:40 pm"],
            "Lat": ["29.6"],
            "lng": ["-82.3"],
            "Species": ["Yellowbelly slider"],
            "dead/alive": ["DOR"],
            "SCL (in)": ["8"],
            "How many": ["2"],
            "eggs": ["y"],
            "how sure": ["probable"],
            "who": ["Ada"],
            "seen_Tail": ["short"],
            "weather": ["hot"],
        },
    )
    row = only_row(table)
    assert row["observed_at"] == "2025-05-12T19:40:00-04:00"
    assert (row["longitude"], row["latitude"], row["count"], row["id_confidence"]) == (-82.3, 29.6, 2, 0.8)
    assert (row["taxon"], row["taxon_as_written"]) == ("Trachemys scripta scripta", "Yellowbelly slider")
    assert (row["condition"], row["observer"], row["seen_tail"]) == ("dead", "Ada", "short")
    assert row["gravid"] is True
    assert row["carapace_mm"] == pytest.approx(203.2)
    assert json.loads(row["other"]) == {"weather": "hot"}


def test_blanks_stay_blank():
    row = only_row(raw("crossings", {"count": "", "sex": "NA", "notes": "  ", "gravid": None, "id_confidence": "-"}))
    assert pd.isna(row["count"])
    assert pd.isna(row["id_confidence"])
    assert [row["sex"], row["notes"], row["gravid"], row["other"]] == [None] * 4


def test_free_text_is_kept_as_written():
    assert only_row(raw("crossings", {"notes": "NA", "observer": "Ada; Bo – 🐢"}))["notes"] == "NA"
    assert only_row(raw("crossings", {"observer": "Ada; Bo – 🐢"}))["observer"] == "Ada; Bo – 🐢"


@pytest.mark.parametrize(
    ("kind", "name"), [(kind, name) for kind in RECORD_KINDS for name, one in fields_of(kind).items() if one.required]
)
def test_a_missing_required_field_holds_the_row_back_with_its_cure(kind, name):
    for blank in (None, "", "n/a"):
        if blank == "n/a" and fields_of(kind)[name].type == "text":
            continue  # a name may be anything
        fault = only_fault(raw(kind, {name: blank}), kind)
        assert fault.column == name
        assert fault.reason.startswith(f"{name} is missing; write ")
        assert fault.line == 2


def test_a_file_without_a_required_column_has_every_row_held_back():
    table = RawTable.of_columns("a.csv", {"date": ["2025-05-12"] * 3, "species": ["slider"] * 3, "lat": ["29.6"] * 3})
    rows, faults = parse(table)
    assert len(rows) == 0
    assert {fault.reason for fault in faults} == {"longitude is missing; write decimal degrees, such as -82.3248"}


def test_the_message_says_where_what_is_expected_and_what_to_do():
    fault = only_fault(raw("crossings", {"latitude": "by the oak"}))
    expected = "latitude 'by the oak' is not a coordinate that can be read; write decimal degrees, such as 29.6516"
    assert str(fault).startswith(f"crossings.csv, line 2: {expected}")
    assert (fault.column, fault.found) == ("latitude", "by the oak")
    assert fault.original == "2025-05-12,-82.3,by the oak,slider"


def test_all_that_is_wrong_with_a_row_is_told_at_once():
    fault = only_fault(raw("crossings", {"latitude": "by the oak", "taxon": "raccoon", "condition": "sleepy"}))
    assert fault.column == "latitude, taxon, condition"
    assert fault.reason.count("Also: ") == 2


def test_a_good_row_is_not_harmed_by_a_bad_one():
    rows, faults = parse(raw("crossings", {}, {"latitude": "by the oak"}, {}))
    assert rows["line"].tolist() == [2, 4]
    assert [fault.line for fault in faults] == [3]


def test_an_unknown_taxon_is_held_back_with_a_suggestion_and_a_proposal():
    fault = only_fault(raw("crossings", {"taxon": "gofer tortoise"}))
    assert "perhaps 'gopher tortoise'" in fault.reason
    assert fault.proposal == {"taxon": "gopher tortoise"}
    assert only_fault(raw("crossings", {"taxon": "raccoon"})).proposal is None


def test_a_slip_of_the_pen_is_taken_for_what_is_meant_and_noted():
    rows, (fault,) = parse(raw("crossings", {"taxon": "snaping turtle"}))
    assert rows[["taxon", "taxon_as_written"]].to_numpy().tolist() == [["Chelydra serpentina", "snaping turtle"]]
    assert (fault.severity, fault.line) == ("note", 2)
    assert "'snaping turtle' is taken as 'snapping turtle'" in fault.reason


@pytest.mark.parametrize(
    ("written", "taxon", "qualifier"),
    [
        ("Pseudemys cf. nelsoni", "Pseudemys", "cf. nelsoni"),
        ("cooter sp.", "Pseudemys", "sp."),
        ("slider?", "Trachemys scripta", "?"),
        ("slider", "Trachemys scripta", None),
    ],
)
def test_what_expresses_doubt_in_a_name_is_kept_in_a_column_of_its_own(written, taxon, qualifier):
    row = only_row(raw("crossings", {"taxon": written, "id_confidence": "likely"}))
    assert (row["taxon"], row["identification_qualifier"]) == (taxon, qualifier)
    own = raw("crossings", {"taxon": written, "identificationQualifier": "aff. x", "id_confidence": "likely"})
    assert only_row(own)["identification_qualifier"] == "aff. x"


def test_names_that_authors_use_for_different_taxa_are_said_once_a_file():
    rows, faults = parse(raw("crossings", {"taxon": "Pseudemys concinna floridana"}, {"taxon": "slider"}))
    assert faults == []
    (said,) = (note for note in rows.attrs["notes"] if "authors differ" in note)
    assert said.startswith("'Pseudemys concinna floridana' is read as Pseudemys floridana, though authors differ: Held")


def test_doubt_in_a_name_is_noted_and_no_confidence_made_of_it():
    rows, faults = parse(raw("crossings", {"taxon": "slider?"}))
    assert rows["id_confidence"].isna().all()
    assert [(fault.severity, fault.line) for fault in faults] == [("note", 2)]
    assert rows["taxon_as_written"].tolist() == ["slider?"]


def test_doubt_needs_no_note_where_the_confidence_is_given():
    assert parse(raw("crossings", {"taxon": "slider?", "id_confidence": "unsure"}))[1] == []


def test_the_order_of_day_and_month_is_taken_from_the_whole_file_and_said():
    rows, faults = parse(raw("crossings", {"observed_at": "6/8/2025"}, {"observed_at": "13/6/2025"}))
    assert faults == []
    assert rows["observed_at"].tolist() == ["2025-08-06", "2025-06-13"]
    assert "dates are read as day/month/year: 1 can be nothing else" in rows.attrs["notes"]


def test_one_date_column_tells_the_order_for_another():
    rows, _ = parse(raw("nests", {"found_at": "6/8/2025", "laid_on": "5/31/2025"}), "nests")
    assert rows.loc[0, ["found_at", "laid_on"]].tolist() == ["2025-06-08", "2025-05-31"]


def test_dates_that_contradict_each_other_hold_back_the_ones_that_can_be_either():
    days = ["6/8/2025", "13/6/2025", "6/13/2025", "5/5/2025"]
    rows, faults = parse(raw("crossings", *({"observed_at": day} for day in days)))
    assert rows["observed_at"].tolist() == ["2025-06-13", "2025-06-13", "2025-05-05"]
    assert "2025-06-08 or 2025-08-06" in faults[0].reason


def test_the_caller_may_give_the_order_where_the_file_does_not():
    row = only_row(raw("crossings", {"observed_at": "6/8/2025"}), date_order="month first")
    assert row["observed_at"] == "2025-06-08"
    assert only_fault(raw("crossings", {"observed_at": "6/8/2025"})).column == "observed_at"


def test_what_the_file_itself_tells_goes_before_what_the_caller_gives():
    rows, _ = parse(
        raw("crossings", {"observed_at": "6/8/2025"}, {"observed_at": "13/6/2025"}), date_order="month first"
    )
    assert rows["observed_at"].tolist()[0] == "2025-08-06"


def test_a_skipped_hour_is_held_back_and_a_repeated_one_noted():
    # clocks of the eastern United States: forward on 9 March 2025, back on 2 November 2025, at 2:00
    rows, faults = parse(raw("crossings", {"observed_at": "2025-03-09 02:30"}, {"observed_at": "2025-11-02 01:30"}))
    assert rows["line"].tolist() == [3]
    assert [fault.severity for fault in faults] == ["hold back", "note"]


def test_a_column_of_utc_times_is_turned_to_local_time():
    table = RawTable.of_columns(
        "a.csv", {"time (UTC)": ["2025-06-01 02:30"], "lat": ["29.6"], "lon": ["-82.3"], "species": ["slider"]}
    )
    assert only_row(table)["observed_at"] == "2025-05-31T22:30:00-04:00"


def test_a_search_borrows_its_day_for_both_hours():
    table = RawTable.of_columns(
        "s.csv",
        {"search": ["S1"], "date": ["5/31/2025"], "start time": ["7:05"], "end time": ["9:10"], "how": ["walk"]},
    )
    row = only_row(table, "searches")
    assert (row["started_at"], row["ended_at"]) == ("2025-05-31T07:05:00-04:00", "2025-05-31T09:10:00-04:00")
    assert (row["method"], row["other"]) == ("foot", None)


def test_decimal_commas_are_read_where_the_file_has_them():
    table = raw("crossings", {"latitude": "29,6", "longitude": "-82,3", "id_confidence": "0,8"}, decimal_comma=True)
    row = only_row(table)
    assert (row["latitude"], row["longitude"], row["id_confidence"]) == (29.6, -82.3, 0.8)
    assert only_fault(raw("crossings", {"id_confidence": "0,8"})).column == "id_confidence"


def test_a_column_that_can_only_be_per_cent_is_read_so_and_said():
    rows, faults = parse(raw("crossings", {"id_confidence": "80"}, {"id_confidence": "95"}, {"id_confidence": "sure"}))
    assert faults == []
    assert rows["id_confidence"].tolist() == [0.8, 0.95, 0.95]
    assert "id_confidence is read as per cent" in rows.attrs["notes"]


def test_eighty_among_fractions_is_held_back():
    rows, faults = parse(raw("crossings", {"id_confidence": "0.8"}, {"id_confidence": "80"}))
    assert rows["id_confidence"].tolist() == [0.8]
    assert "outside 0 to 1" in faults[0].reason


def test_a_clutch_of_more_than_110_eggs_is_held_back():
    assert only_row(raw("nests", {"clutch_size": "110"}), "nests")["clutch_size"] == 110
    assert "1 to 110" in only_fault(raw("nests", {"clutch_size": "111"}), "nests").reason


def test_a_unit_that_is_turned_is_said_and_one_that_is_not_known_too():
    table = RawTable.of_columns(
        "t.csv", {"station": ["T"], "date": ["2025-05-12"], "tmax (F)": ["86"], "tmin (K)": ["20"]}
    )
    row, notes = only_row(table, "temperatures"), parse(table, "temperatures")[0].attrs["notes"]
    assert row["tmax_c"] == pytest.approx(30)
    assert "column 'tmax (F)' is turned from f to tmax_c in degrees C" in notes
    assert "unit 'k' in column 'tmin (K)' is not known; its numbers are taken as degrees C" in notes


def test_two_columns_for_one_field_keep_the_losing_one_verbatim():
    row = only_row(raw("crossings", {"lat": "29.7"}))
    assert row["latitude"] == 29.6
    assert json.loads(row["other"]) == {"lat": "29.7"}


@pytest.mark.parametrize("name", ["latitude", "observed_at", "taxon", "condition"])
@pytest.mark.parametrize("text", ["1" * 100_000, "a" * 301, "9 " * 50_000])
def test_a_cell_of_endless_text_is_held_back_and_shown_in_short(name, text):
    fault = only_fault(raw("crossings", {name: text}))
    assert "is longer than 300 characters" in fault.reason
    assert len(fault.reason) < 250


def test_notes_may_be_long():
    assert only_row(raw("crossings", {"notes": "n" * 10_000}))["notes"] == "n" * 10_000


def test_two_columns_of_one_name_are_both_kept():
    rows = pd.DataFrame([["x", "2025-05-12", "-82", "29", "y", "slider", "z"]])
    rows.columns = ["note2", "date", "lon", "lat", "note2", "species", "note2"]
    row = only_row(RawTable("a.csv", rows, np.array([2]), ["as written"]))
    assert json.loads(row["other"]) == {"note2": "x", "note2 (2)": "y", "note2 (3)": "z"}


def test_a_name_that_looks_like_a_second_one_is_not_lost():
    rows = pd.DataFrame([["x", "2025-05-12", "-82", "29", "y", "slider", "z"]])
    rows.columns = ["note2", "date", "lon", "lat", "note2 (2)", "species", "note2"]
    row = only_row(RawTable("a.csv", rows, np.array([2]), ["as written"]))
    assert json.loads(row["other"]) == {"note2": "x", "note2 (2)": "y", "note2 (3)": "z"}


def test_rows_keep_their_place_whatever_the_index_and_the_blanks_are():
    rows = pd.DataFrame({"date": ["2025-05-12", "bad"], "lon": ["-82"] * 2, "lat": ["29"] * 2}, index=[9, 5])
    rows["species"], rows["notes"], rows["x"] = ["slider"] * 2, [float("nan"), "n"], [pd.NA, "y"]
    accepted, faults = parse(RawTable("a.csv", rows, np.array([2, 3]), ["one", "two"]))
    assert accepted[["notes", "other", "original"]].to_numpy().tolist() == [[None, None, "one"]]
    assert [(fault.line, fault.original) for fault in faults] == [(3, "two")]


def test_notes_of_the_reader_stay_in_front():
    rows, _ = parse(raw("crossings", notes=("separator ';'",)))
    assert rows.attrs["notes"][0] == "separator ';'"


def test_reading_keeps_all_rows_for_further_checks():
    read = read_values(raw("crossings", {"latitude": "by the oak"}, {}), "crossings", timezone=TIMEZONE)
    assert len(read.table) == 2
    assert np.isnan(read.table.loc[0, "latitude"])
    assert [complaint.row for complaint in read.complaints] == [0]


def test_an_unknown_timezone_is_the_caller_s_fault():
    with pytest.raises(UsageError, match="timezone 'Florida' is not known"):
        parse_values(raw(), "crossings", timezone="Florida")


def test_a_table_without_rows_gives_none():
    rows, faults = parse(RawTable.of_columns("empty.csv", {name: [] for name in GOOD["crossings"]}))
    assert (len(rows), faults) == (0, [])
    assert list(fields_of("crossings")) == [name for name in rows if name in fields_of("crossings")]


def test_a_table_without_columns_gives_none():
    rows, faults = parse(RawTable("nothing.csv", pd.DataFrame(), np.array([], dtype=np.int64), []))
    assert (len(rows), faults) == (0, [])


@given(data=st.data(), kind=st.sampled_from(RECORD_KINDS))
@settings(max_examples=50, deadline=None)
def test_whatever_the_cells_hold_every_row_is_accepted_or_held_back(data, kind):
    names = [*fields_of(kind), "time", "weather"]
    cells = st.fixed_dictionaries({name: ODD_CELLS | st.text(max_size=6) for name in names})
    rows = data.draw(st.lists(cells, max_size=4))
    table = RawTable.of_columns("odd.csv", {name: [row[name] for row in rows] for name in names})
    accepted, faults = parse(table, kind)
    held = [fault.line for fault in faults if fault.severity == "hold back"]
    assert sorted([*accepted["line"], *held]) == table.lines.tolist()
    assert len({fault.line for fault in faults}) == len(faults)


@given(st.permutations(range(4)))
@settings(deadline=None)
def test_the_order_of_rows_does_not_matter(order):
    changes = [{}, {"taxon": "cooter?"}, {"latitude": "oak"}, {"observed_at": "13/6/2025", "count": "3"}]
    straight, _ = parse(raw("crossings", *changes))
    shuffled, _ = parse(raw("crossings", *(changes[i] for i in order)))
    columns = ["observed_at", "taxon", "count", "taxon_as_written"]
    as_sets = [set(map(str, table[columns].itertuples(index=False, name=None))) for table in (straight, shuffled)]
    assert as_sets[0] == as_sets[1]
