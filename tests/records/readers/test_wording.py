"""Refusals are one line: where, found, expected, cure."""

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.wording import counted, line_list, unfit


def test_a_refusal_has_four_parts_in_order():
    assert str(unfit("a.csv", found="x", expected="y", cure="z")) == "a.csv: found x, expected y; z"


def test_a_refusal_stays_on_one_line_whatever_is_put_in():
    assert "\n" not in str(unfit("a\nb.csv", found="x\r\ny", expected="y", cure="z"))


def test_a_refusal_ends_the_command_with_exit_code_four():
    error = unfit("a", found="x", expected="y", cure="z")
    assert isinstance(error, UnfitFileError)
    assert error.exit_code == 4


def test_one_line_is_named_in_the_singular():
    assert line_list([7]) == "line 7"


def test_no_more_than_five_lines_are_named():
    assert line_list([1, 2, 3, 4, 5, 6]) == "lines 1, 2, 3, 4, 5, ..."


@pytest.mark.parametrize(
    ("n", "words", "told"),
    [
        *[(1, ("feature",), "1 feature"), (2, ("feature",), "2 features"), (0, ("feature",), "0 features")],
        *[(1, ("row takes", "rows take"), "1 row takes"), (21, ("row takes", "rows take"), "21 rows take")],
    ],
)
def test_one_thing_is_counted_in_the_singular_and_all_else_in_the_plural(n, words, told):
    assert counted(n, *words) == told
