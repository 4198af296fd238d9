"""Shipped tables and a coordinator's are read as one."""

from importlib.resources import files

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.identify.table_files import TABLE_FILES, Row, complain, digest, number_in, read_table


def row(**cells):
    return Row("skills.csv", 2, cells)


@pytest.mark.parametrize("name", TABLE_FILES)
def test_shipped_tables_have_their_columns_and_no_others(name):
    header = (files("roadwatch") / "data" / name).read_text(encoding="utf-8").splitlines()[0].split(",")
    assert header == list(TABLE_FILES[name].columns)


@pytest.mark.parametrize("name", TABLE_FILES)
def test_no_row_is_there_twice(name):
    rows = [tuple(sorted(row.cells.items())) for row in read_table(name, folder=None)]
    assert len(rows) == len(set(rows))


def test_rows_of_the_same_key_are_replaced_and_others_added(tmp_path):
    (tmp_path / "skills.csv").write_text("skill,slip,source\nnovice,0.3,eab\nteacher,0.05,eab\n", encoding="utf-8")
    found = {row["skill"]: row["slip"] for row in read_table("skills.csv", folder=tmp_path)}
    assert found == {"novice": "0.3", "trained": "0.07", "expert": "0.02", "teacher": "0.05"}


def test_all_states_of_a_character_are_replaced_together(tmp_path):
    (tmp_path / "states.csv").write_text(
        "character,state,plain_words,absent,both_of\nkeel,flat,flat,1,\nkeel,ridged,ridged,0,\n", encoding="utf-8"
    )
    states = [row["state"] for row in read_table("states.csv", folder=tmp_path) if row["character"] == "keel"]
    assert states == ["flat", "ridged"]


@pytest.mark.parametrize(
    "text",
    [
        "skill,slip,source\r\nnovice,0.3,eab\r\n",
        "\ufeffskill,slip,source\nnovice,0.3,eab\n",
        "source,skill,slip\neab,novice,0.3\n",
        "skill,slip,source,remark\nnovice,0.3,eab,measured twice\n",
        "skill,slip,source\n\n novice , 0.3 ,eab\n,,\n",
    ],
    ids=["line ends", "byte order mark", "other order", "one column more", "blank lines and spaces"],
)
def test_files_as_spreadsheets_write_them_are_read(tmp_path, text):
    (tmp_path / "skills.csv").write_bytes(text.encode("utf-8"))
    assert {row["skill"]: row["slip"] for row in read_table("skills.csv", folder=tmp_path)}["novice"] == "0.3"


def test_a_folder_without_the_file_leaves_the_shipped_table(tmp_path):
    assert read_table("skills.csv", folder=tmp_path) == read_table("skills.csv", folder=None)


def test_the_line_is_the_one_a_person_finds(tmp_path):
    (tmp_path / "skills.csv").write_text('skill,slip,source\n\n"novice",0.3,"two\nlines"\nexpert,0.1,eab\n', "utf-8")
    lines = {row["skill"]: row.line for row in read_table("skills.csv", folder=tmp_path)}
    assert lines["expert"] == 5


@pytest.mark.parametrize(("cell", "value"), [("0", 0.0), ("0.5", 0.5), ("1", 1.0), ("1e-3", 0.001)])
def test_numbers_within_their_range_are_taken(cell, value):
    faults = []
    assert number_in(row(slip=cell), "slip", low=0, high=1, faults=faults) == value
    assert not faults


@pytest.mark.parametrize("cell", ["", "x", "1.5", "-0.1", "nan", "inf", "0,5"])
def test_numbers_outside_are_faults_with_their_place(cell):
    faults = []
    number_in(row(slip=cell), "slip", low=0, high=1, faults=faults)
    assert faults == [f"skills.csv, line 2: slip '{cell}' is no number from 0 to 1; correct the cell"]


def test_no_fault_is_no_complaint():
    complain([])


def test_one_complaint_counts_the_others():
    with pytest.raises(UnfitFileError, match=r"^first \(2 more faults in these tables\)$"):
        complain(["first", "second", "third"])


def test_the_digest_knows_content_and_not_order():
    one, two = row(skill="a", slip="1"), row(skill="b", slip="2")
    assert digest([one, two]) == digest([two, one])
    assert digest([one]) != digest([two])
    assert digest([Row("other.csv", 2, one.cells)]) != digest([one])
    assert digest([Row("skills.csv", 9, one.cells)]) == digest([one])
