"""Numbers and their texts."""

import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.readers.numbers import as_number, as_numbers, number_text, number_texts


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_a_number_written_and_read_is_the_same(value):
    assert float(number_text(value) or "nan") == value


@pytest.mark.parametrize(
    ("value", "text"), [(3.0, "3"), (-0.5, "-0.5"), (1e20, "1e+20"), (2.0**53, "9007199254740992"), (math.nan, None)]
)
def test_whole_numbers_have_no_point(value, text):
    assert number_text(value) == text


@pytest.mark.parametrize("text", ["N45", "", None, "4,5"])
def test_what_is_no_number_is_nan(text):
    assert math.isnan(as_number(text))


def test_a_column_is_read_at_once_with_blanks_as_nan():
    values = as_numbers(pd.Series(["1", None, "x", "-2.5"], dtype=object))
    np.testing.assert_array_equal(values, [1.0, np.nan, np.nan, -2.5])


def test_decimal_commas_are_read_where_the_table_has_them():
    np.testing.assert_array_equal(as_numbers(pd.Series(["20,5"]), decimal_comma=True), [20.5])


def test_decimals_are_cut_without_trailing_zeros_or_a_negative_zero():
    assert number_texts([1.23456, 2.0, -0.00001, float("nan")], decimals=2) == ["1.23", "2", "0", None]
