"""Names of records: the same content has the same name, whatever the order of rows or columns."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from records.store_cases import crossing, different_crossings

from roadwatch.records.store_columns import columns_of
from roadwatch.records.store_identity import differences, record_keys

COLUMNS = columns_of("crossings")


def table_of(*rows):
    return pd.DataFrame([{**dict.fromkeys(["record_id", "other"]), **row} for row in rows], dtype=object)


def keys_of(*rows):
    return record_keys(table_of(*rows), COLUMNS, kind="crossings").tolist()


def test_a_record_with_a_name_keeps_it():
    assert keys_of(crossing(record_id="c12"), crossing(record_id="7"))[:2] == ["c12", "7"]


def test_a_record_without_a_name_gets_one_of_letters_and_digits():
    (key,) = keys_of(crossing())
    assert key.startswith("r")
    assert len(key) == 25
    assert key.isalnum()


def test_identical_rows_of_one_file_are_two_records():
    first, second = keys_of(crossing(), crossing())
    assert first != second


def test_the_name_does_not_depend_on_the_order_of_rows():
    rows = different_crossings(6)
    assert keys_of(*rows[::-1]) == keys_of(*rows)[::-1]


def test_the_name_does_not_depend_on_the_order_of_columns():
    assert keys_of(dict(reversed(crossing().items()))) == keys_of(crossing())


def test_an_added_empty_column_changes_nothing():
    assert keys_of(crossing(carapace_mm=None, seen_hinge=None)) == keys_of(crossing())


def test_spelling_of_a_known_taxon_changes_nothing():
    assert keys_of(crossing(taxon_as_written="Box Turtle")) == keys_of(crossing())


def test_spelling_of_an_unknown_taxon_tells_records_apart():
    first, second = (crossing(taxon=None, taxon_as_written=name) for name in ("turtel", "trutle"))
    assert keys_of(first) != keys_of(second)


@pytest.mark.parametrize(
    "changes",
    [
        {"latitude": 29.6513},
        {"observed_at": "2025-05-13T07:40:00-04:00"},
        {"taxon": "Trachemys scripta"},
        {"notes": "on the centre line"},
        {"gravid": False},
        {"observer": "Ben"},
        {"other": '{"tag": "12"}'},
    ],
)
def test_other_content_has_another_name(changes):
    assert keys_of(crossing(**changes)) != keys_of(crossing())


def test_coordinates_are_compared_to_a_tenth_of_a_metre():
    """Six decimals of a degree: 1e-6 degree of latitude is 0.11 m (a degree is about 111 km)."""
    assert keys_of(crossing(latitude=29.6512000001)) == keys_of(crossing())
    assert keys_of(crossing(latitude=29.651202)) != keys_of(crossing())


def test_unknown_columns_count_whatever_their_order():
    first, second = (crossing(other=text) for text in ('{"a": "1", "b": "2"}', '{"b": "2", "a": "1"}'))
    assert keys_of(first) == keys_of(second)


def test_unknown_columns_that_are_no_json_still_count():
    assert keys_of(crossing(other="{cut short")) != keys_of(crossing())


def test_kinds_do_not_share_names():
    rows = pd.DataFrame({"observer": ["Ana"], "notes": ["x"]}, dtype=object)
    as_check, as_search = (record_keys(rows, columns_of(kind), kind=kind)[0] for kind in ("checks", "searches"))
    assert as_check != as_search


def test_no_rows_have_no_names():
    assert len(record_keys(table_of(), COLUMNS, kind="crossings")) == 0


@given(st.permutations([0, 0, 0, 1, 1, 2]))
def test_shuffling_identical_rows_gives_the_same_set_of_names(order):
    rows = different_crossings(3)
    assert set(keys_of(*(rows[k] for k in order))) == set(keys_of(*(rows[k] for k in sorted(order))))


@given(
    st.dictionaries(st.sampled_from(["observer", "notes", "photo"]), st.none() | st.text(), max_size=3),
    st.dictionaries(st.sampled_from(["observer", "notes", "photo"]), st.none() | st.text(), max_size=3),
)
def test_names_are_equal_exactly_when_the_content_is(first, second):
    separators = {"\x1d", "\x1e", "\x1f"}  # a text that holds them is no reading of a person
    if any(separators & set(value or "") for value in (*first.values(), *second.values())):
        return
    blank = dict.fromkeys(["observer", "notes", "photo"])
    same = {**blank, **first} == {**blank, **second}
    found = [record_keys(table_of({**blank, **row}), COLUMNS, kind="crossings")[0] for row in (first, second)]
    assert (found[0] == found[1]) == same


def compare(found, *stored):
    versions = [pd.DataFrame([row], dtype=object) for row in stored]
    return differences(pd.DataFrame([found], dtype=object), versions, COLUMNS)


def test_a_record_does_not_differ_from_itself():
    assert compare(crossing(), crossing()) == []


def test_a_difference_names_the_column_and_both_values():
    (found,) = compare(crossing(latitude=30.0), crossing())
    assert (found.column, found.found, found.stored) == ("latitude", "30", "29.6512")


def test_a_blank_cell_says_nothing_and_differs_from_nothing():
    assert compare(crossing(condition=None, latitude=np.nan), crossing()) == []


def test_a_cell_that_the_stored_record_lacks_is_a_difference():
    (found,) = compare(crossing(notes="tag 7"), crossing())
    assert (found.column, found.stored) == ("notes", "blank")


def test_a_character_never_stored_before_is_a_difference():
    columns = (*COLUMNS, type(COLUMNS[0])("seen_hinge", "TEXT"))
    rows = [pd.DataFrame([row], dtype=object) for row in (crossing(seen_hinge="yes"), crossing())]
    assert [found.column for found in differences(rows[0], rows[1:], columns)] == ["seen_hinge"]


def test_agreeing_with_the_amended_or_the_first_version_is_enough():
    amended = crossing(latitude=29.7)
    assert compare(crossing(), amended, crossing()) == []
    assert compare(amended, amended, crossing()) == []
    assert len(compare(crossing(latitude=29.8), amended, crossing())) == 1
