"""The fit command: a row of parameters from a file of durations, or the reasons against one."""

import csv

import pytest

from roadwatch.hatch.development import hatch_tables, parameters_for

ALABAMA = "temp_c,days,n\n24,98.94,17\n26,78.47,17\n28,64.75,16\n30,55.94,16\n32,50.23,13\n"
"""Treatment means of a slider-like emydid (Folkerts Caldwell 2026, open data)."""


@pytest.fixture
def means(folder):
    return folder.write("durations.csv", ALABAMA)


def test_base_and_sum_are_shown_with_their_errors(folder, means):
    found = folder.json("fit", means)
    assert found["fit"]["base_c"] == pytest.approx(15.7, abs=0.4)
    assert found["fit"]["sum_dd"] == pytest.approx(808, abs=25)
    assert [row["temp_c"] for row in found["durations"]] == [24, 26, 28, 30, 32]
    assert any("do not carry it further" in note for note in found["notes"])


def test_the_row_that_is_written_serves_as_a_table_of_ones_own(folder, means):
    (folder.folder / "tables").mkdir()
    out = folder.folder / "tables" / "development.csv"
    result = folder.run("fit", means, "--taxon", "Trachemys scripta", "--region", "deep_south", "-o", out)
    assert result.exit_code == 0, result.output
    assert len(list(csv.DictReader(out.read_text("utf-8-sig").splitlines()))) == 1
    chosen = parameters_for(
        "Trachemys scripta", development_region="deep_south", tables=hatch_tables(folder.folder / "tables")
    )
    assert chosen.base_c == pytest.approx(15.7, abs=0.4)
    assert chosen.basis == "linear"


def test_durations_that_carry_no_fit_end_with_exit_code_5_and_every_reason(folder):
    path = folder.write("few.csv", "temp_c,days\n28,60\n28,61\n29,70\nwarm,3\n")
    result = folder.run("fit", path)
    assert result.exit_code == 5
    for words in ("few.csv", "2 temperatures", "span 1 °C", "does not rise", "line 5: temperature 'warm'"):
        assert words in result.output


def test_eggs_kept_too_hot_can_be_left_out(folder):
    rows = "26,112.6\n28,94.9\n29,88.6\n30,83.1\n31,79.9\n34,85.0\n"  # gopher tortoise, Demuth 2001
    path = folder.write("gopher.csv", "temp_c,days\n" + rows)
    assert folder.run("fit", path).exit_code == 5
    found = folder.json("fit", path, "--highest", "31")
    assert found["fit"]["base_c"] == pytest.approx(13.86, abs=0.5)
    assert any("1 left out" in note for note in found["notes"])


def test_a_file_that_is_not_there_is_named(folder):
    result = folder.run("fit", folder.folder / "none.csv")
    assert result.exit_code == 2
    assert "none.csv" in result.output


def test_rows_without_a_clutch_beside_rows_with_one_are_told(folder):
    path = folder.write("mixed.csv", "temp_c,days,clutch\n24,98.9,A\n28,64.75,A\n32,50.2,\n30,56,B\n")
    assert any("1 rows name no clutch" in note for note in folder.json("fit", path)["notes"])
