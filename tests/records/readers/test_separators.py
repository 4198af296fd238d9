"""Separators and decimal commas are found from the rows, not from the country."""

import pytest

from roadwatch.records.readers.separators import has_decimal_comma, sniff_separator


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_each_separator_is_found(separator):
    lines = [separator.join(row) + "\n" for row in (("a", "b", "c"), ("1", "2", "3"))]
    assert sniff_separator(lines) == separator


def test_decimal_commas_do_not_pass_for_separators():
    assert sniff_separator(["lat;lon\n", "42,37;-72,51\n", "42,38;-72,52\n"]) == ";"


def test_commas_in_quoted_notes_do_not_pass_for_separators():
    assert sniff_separator(["notes;n\n", '"wet, cold, windy";1\n', '"wet, cold, windy";2\n']) == ";"


def test_a_declared_separator_is_obeyed():
    assert sniff_separator(["sep=;\n", "a,b;c\n"]) == ";"


def test_title_lines_do_not_disturb():
    assert sniff_separator(["Nest logger, north\n", "a;b;c\n", "1;2;3\n", "1;2;3\n"]) == ";"


@pytest.mark.parametrize("lines", [["one column\n", "only\n"], [], ["\n", "\n"]])
def test_a_single_column_has_no_separator(lines):
    assert sniff_separator(lines) is None


@pytest.mark.parametrize(
    ("columns", "expected"),
    [
        ([["42,37", "-72,5", None], ["wet, cold", "dry", None]], True),
        ([["42,37", "42.38"]], False),
        ([["42,37"], ["42.38"]], False),
        ([["42", "43"]], False),
        ([["wet, cold"]], False),
        ([["03.06.2024"], ["42,37"]], True),
        ([[None, None]], False),
        ([], False),
        ([["1,5"] * 300 + ["note"]], False),
    ],
)
def test_a_decimal_comma_counts_only_where_the_whole_table_agrees(columns, expected):
    assert has_decimal_comma(columns) is expected
