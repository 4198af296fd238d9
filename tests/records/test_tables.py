"""Raw tables keep rows, lines and originals together."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

from roadwatch.records.tables import RawTable, RowFault


def test_lines_count_from_two_because_the_header_is_line_one():
    table = RawTable.of_columns("a.csv", {"taxon": ["wood turtle", None]})
    assert table.lines.tolist() == [2, 3]


def test_originals_join_the_cells_where_none_are_given():
    table = RawTable.of_columns("a.csv", {"taxon": ["wood turtle"], "count": [None]})
    assert table.originals == ["wood turtle,"]


def test_given_lines_originals_and_notes_are_kept():
    table = RawTable.of_columns("a", {"x": ["1"]}, lines=[9], originals=["one"], notes=("n",), kind="nests")
    assert (table.lines.tolist(), table.originals, table.notes, table.kind) == ([9], ["one"], ("n",), "nests")


def test_a_table_without_columns_or_rows_is_possible():
    assert len(RawTable.of_columns("a", {}).rows) == 0


def test_rows_lines_and_originals_of_different_length_are_refused():
    with pytest.raises(ValueError, match="1 rows, 2 lines, 1 originals"):
        RawTable("a", pd.DataFrame({"x": ["1"]}), np.array([2, 3]), ["1"])


def test_blank_cells_stay_none():
    table = RawTable.of_columns("a", {"x": [None, "2"]})
    assert table.rows["x"].tolist() == [None, "2"]


def test_a_fault_reads_as_one_line_with_file_line_and_reason():
    fault = RowFault("crossings.csv", 3, "N45.1,x", "latitude", "N45.1", "latitude 'N45.1' is not a number; write 45.1")
    assert str(fault) == "crossings.csv, line 3: latitude 'N45.1' is not a number; write 45.1"


def test_a_fault_holds_its_row_back_unless_told_otherwise():
    assert RowFault("a", 1, "", "", "", "x").severity == "hold back"


def test_tables_and_faults_cannot_be_changed():
    table = RawTable.of_columns("a", {"x": ["1"]})
    with pytest.raises(dataclasses.FrozenInstanceError, match="source"):
        table.source = "b"  # type: ignore[misc]
