"""Daily climate archive, form after its readme; values are Clemson's of 2010, station and flags are invented."""

import numpy as np
import pytest
from records.readers.weather_files import STATION, clemson_tenths, dly_2010, dly_line

from roadwatch.errors import UnfitFileError

BY_STATION = (
    f"{STATION},20100701,TMAX,311,,,7,0700\n"
    f"{STATION},20100701,TMIN,200,,,7,0700\n"
    f"{STATION},20100701,PRCP,12,,,7,0700\n"
    f"{STATION},20100702,TMAX,611,,X,7,0700\n"
    f"{STATION},20100702,TMIN,-5,,,7,0700\n"
)


@pytest.fixture
def year_2010(read_text):
    return read_text(dly_2010(), name="XXC00000001.dly")


def test_the_lines_are_as_wide_as_the_readme_says():
    assert {len(line) for line in dly_2010().splitlines()} == {269}


def test_a_year_with_one_flagged_and_one_missing_value_has_363_whole_days(year_2010):
    both = year_2010.rows[["tmin_c", "tmax_c"]].notna().all(axis=1)
    assert (len(year_2010.rows), int(both.sum())) == (365, 363)


def test_every_other_value_is_the_archives(year_2010):
    days = clemson_tenths(2010)
    assert year_2010.rows["date"].tolist() == days["date"].tolist()
    for column, tenths in (("tmin_c", days["tmin"]), ("tmax_c", days["tmax"])):
        read = year_2010.rows[column].astype(float).to_numpy()
        present = ~np.isnan(read)
        np.testing.assert_allclose(read[present], tenths.to_numpy()[present] / 10)


def test_the_flagged_value_is_told_with_flag_day_and_wording(year_2010):
    (fault,) = year_2010.faults
    assert (fault.column, fault.found, fault.severity, fault.line) == ("tmax_c", "611 X", "note", 13)
    assert "TMAX of 2010-07-04: the value carries the archive's quality flag X (bounds)" in fault.reason
    assert fault.original == f"{STATION}201007TMAX day 4:   611 X"


def test_station_kind_and_unit_are_stated(year_2010):
    assert year_2010.kind == "temperatures"
    assert year_2010.rows["series_id"].unique().tolist() == [STATION]
    assert year_2010.rows["kind"].unique().tolist() == ["air"]
    assert any("tenths of degrees C" in note for note in year_2010.notes)
    assert any("read in the morning" in note for note in year_2010.notes)


def test_a_day_whose_values_are_all_flagged_is_held_back(read_text):
    table = read_text(dly_line("2010-07", "TMAX", [(611, "X"), (311, " ")]) + "\n")
    assert table.rows["date"].tolist() == ["2010-07-02"]
    assert [fault.severity for fault in table.faults] == ["hold back"]


def test_other_elements_are_passed_over_and_named(read_text):
    lines = [dly_line("2010-07", "TMAX", [(311, " ")]), dly_line("2010-07", "PRCP", [(12, " ")])]
    table = read_text("\n".join(lines))
    assert len(table.rows) == 1
    assert "elements passed over: PRCP" in table.notes


def test_a_line_cut_short_is_held_back(read_text):
    lines = [dly_line("2010-07", "TMAX", [(311, " ")]), dly_line("2010-07", "TMIN", [(200, " ")])[:100]]
    table = read_text("\n".join(lines))
    (fault,) = table.faults
    assert (fault.line, fault.original) == (2, lines[1])
    assert "cut short" in fault.reason


def test_a_value_on_a_day_that_is_not_in_the_calendar_is_held_back(read_text):
    table = read_text(dly_line("2010-06", "TMAX", [(311, " ")] * 31) + "\n")
    assert len(table.rows) == 30
    assert "its day is not in the calendar" in table.faults[0].reason


@pytest.mark.parametrize("value", [(-9999, " "), (311, "X"), (99999, "G")])
def test_a_month_without_a_single_usable_value_is_refused(read_text, value):
    with pytest.raises(UnfitFileError, match="without usable lows and highs"):
        read_text(dly_line("2010-07", "TMAX", [value] * 31) + "\n")


def test_trailing_blanks_may_be_missing(read_text):
    assert len(read_text(dly_line("2010-07", "TMAX", [(311, " ")] * 31).rstrip()).rows) == 31


def test_a_station_without_temperatures_is_refused(read_text):
    with pytest.raises(UnfitFileError, match="without usable lows and highs, expected elements TMIN and TMAX"):
        read_text(dly_line("2010-07", "PRCP", [(12, " ")]))


def test_by_station_rows_without_header_become_days(read_text):
    table = read_text(BY_STATION)
    assert table.rows[["date", "tmin_c", "tmax_c"]].values.tolist() == [
        ["2010-07-01", "20", "31.1"],
        ["2010-07-02", "-0.5", None],
    ]
    assert table.lines.tolist() == [1, 5]
    assert table.originals[0] == f"{STATION},20100701,TMIN,200,,,7,0700 | {STATION},20100701,TMAX,311,,,7,0700"


def test_a_flagged_by_station_value_is_a_note_with_its_line(read_text):
    (fault,) = read_text(BY_STATION).faults
    assert (fault.line, fault.severity, fault.found) == (4, "note", "611 X")
    assert fault.original == f"{STATION},20100702,TMAX,611,,X,7,0700"


@pytest.mark.parametrize(
    "row",
    [f"{STATION},20100702,TMIN,-5,,,7,0700", f"{STATION},20100230,TMIN,1,,,7,", f"{STATION},20100701,TMIN,warm,,,7,"],
)
def test_a_by_station_row_that_cannot_be_used_is_told(read_text, row):
    table = read_text(BY_STATION + row + "\n")
    assert (table.faults[-1].line, table.faults[-1].original) == (6, row)


def test_a_by_station_row_of_other_width_is_told(read_text):
    table = read_text(BY_STATION + f"{STATION},20100703,TMAX\n")
    assert table.faults[0].line == 6


def test_two_stations_in_one_file_stay_apart(read_text):
    table = read_text(BY_STATION + BY_STATION.replace(STATION, "XXC00000002"))
    assert table.rows["series_id"].tolist() == [STATION, STATION, "XXC00000002", "XXC00000002"]
