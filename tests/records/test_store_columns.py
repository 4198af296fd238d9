"""Values on their way between tables and SQL."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.errors import UnfitFileError
from roadwatch.records.store_columns import Column, columns_of, from_sql, none_where, seen_columns, sql_type_of, to_sql


@given(st.lists(st.none() | st.text(min_size=1), max_size=20))
def test_text_comes_back_as_written(cells):
    assert from_sql(to_sql(pd.Series(cells, dtype=object), "TEXT"), "TEXT").tolist() == cells


@given(st.lists(st.floats(allow_nan=True), max_size=20))
def test_numbers_come_back_bit_for_bit(cells):
    found = from_sql(to_sql(pd.Series(cells, dtype=float), "REAL"), "REAL")
    np.testing.assert_array_equal(found.to_numpy(), np.array(cells, dtype=float))


@given(st.lists(st.sampled_from([True, False, None]), max_size=20))
def test_booleans_come_back_as_booleans(cells):
    assert from_sql(to_sql(pd.Series(cells, dtype=object), "BOOLEAN"), "BOOLEAN").tolist() == cells


@pytest.mark.parametrize("blank", [None, math.nan, "", pd.NA, pd.NaT])
def test_every_way_of_being_blank_becomes_none(blank):
    assert to_sql(pd.Series([blank, "x"], dtype=object), "TEXT") == [None, "x"]


@pytest.mark.parametrize("sql_type", ["TEXT", "REAL", "INTEGER", "BOOLEAN"])
def test_a_column_of_blanks_stays_blank(sql_type):
    assert to_sql(pd.Series([None, None], dtype=object), sql_type) == [None, None]
    assert from_sql([None, None], sql_type).isna().all()


@pytest.mark.parametrize("sql_type", ["TEXT", "REAL", "INTEGER", "BOOLEAN"])
def test_an_empty_column_stays_empty(sql_type):
    assert len(from_sql(to_sql(pd.Series([], dtype=object), sql_type), sql_type)) == 0


def test_the_text_type_of_pandas_is_accepted_like_objects():
    assert to_sql(pd.Series(["a", None], dtype="str"), "TEXT") == ["a", None]


def test_text_is_an_object_column_and_numbers_are_float64():
    assert from_sql(["a"], "TEXT").dtype == object
    assert from_sql([1, None], "INTEGER").dtype == np.float64


def test_a_key_that_became_a_float_is_written_as_a_whole_number():
    """A layer's whole-number ids become floats in pandas as soon as one is missing."""
    assert to_sql(pd.Series([110442.0, None]), "TEXT") == ["110442", None]


def test_nullable_integers_are_accepted():
    assert to_sql(pd.Series([3, None], dtype="Int64"), "INTEGER") == [3.0, None]


@pytest.mark.parametrize(
    ("values", "sql_type"),
    [([True, False], "BOOLEAN"), ([1, 2], "REAL"), ([1.5, 2.0], "REAL"), (["a", "b"], "TEXT"), ([1, "b"], "TEXT")],
)
def test_a_layers_column_gets_the_type_of_its_values(values, sql_type):
    assert sql_type_of(pd.Series(values)) == sql_type


def test_none_where_leaves_its_argument_alone():
    values = np.array(["a", "b"], dtype=object)
    assert none_where(np.array([True, False]), values).tolist() == [None, "b"]
    assert values.tolist() == ["a", "b"]


def test_every_taxon_has_a_column_for_the_words_it_was_written_in():
    as_written = {kind: {c.name for c in columns_of(kind) if "as_written" in c.name} for kind in ("nests", "checks")}
    assert as_written == {"nests": {"taxon_as_written", "verified_taxon_as_written"}, "checks": set()}


def test_characters_seen_become_text_columns():
    names = ["taxon", "seen_hinge", "seen_head_stripes2"]
    assert seen_columns(names, source="x.csv") == (Column("seen_hinge", "TEXT"), Column("seen_head_stripes2", "TEXT"))


@pytest.mark.parametrize(
    "name", ['seen_a"; DROP TABLE crossings; --', "seen_", "seen_Hinge", "seen_a b", "seen_é", "seen_" + "a" * 59]
)
def test_a_column_name_that_sql_could_misread_is_refused(name):
    with pytest.raises(UnfitFileError, match=r"x\.csv: the column name .* cannot be kept; write seen_"):
        seen_columns([name], source="x.csv")
