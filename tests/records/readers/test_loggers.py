"""Loggers: files built here with known readings; they are invented."""

import numpy as np
import pytest
from records.readers.weather_files import autumn_logger

from roadwatch.errors import UnfitFileError

HEADER = '"#","Date Time, GMT-04:00","Temp, °C (S/N 998)"\n'


def hours(n_hours, *, value="20.5"):
    return "".join(f"{n + 1},2024-06-{1 + n // 24:02d} {n % 24:02d}:00,{value}\n" for n in range(n_hours))


@pytest.fixture
def autumn(read_text):
    return read_text(autumn_logger(), name="A12.csv")


def test_the_autumn_file_has_78_lines():
    assert len(autumn_logger().splitlines()) == 78 + 1  # the end mark comes on top


def test_73_true_readings_come_out_of_the_25_hour_weekend(autumn):
    assert len(autumn.rows) == 73


def test_their_mean_and_warmth_are_those_built_in(autumn):
    """37 readings of 68 F = 20 C and 36 of 50 F = 10 C; above 15.74 C each of the 37 gives 4.26."""
    values = autumn.rows["temp_c"].astype(float).to_numpy()
    assert values.mean() == pytest.approx((37 * 20 + 36 * 10) / 73)
    assert np.maximum(values - 15.74, 0).sum() / 24 == pytest.approx(37 * 4.26 / 24)


def test_the_hour_that_came_twice_is_kept_twice_and_the_second_marked(autumn):
    twice = autumn.rows[autumn.rows["at"] == "2013-11-03T01:00:00"]
    assert twice["temp_c"].tolist() == ["10", "20"]
    assert twice["second_time_on_clock"].tolist() == [None, "yes"]
    assert autumn.rows["second_time_on_clock"].notna().sum() == 1


def test_events_the_end_mark_and_the_double_are_notes_with_their_lines(autumn):
    told = [(fault.line, fault.severity) for fault in autumn.faults]
    assert told == [(33, "note"), (78, "note"), (79, "note"), (45, "note")]
    assert "event of the logger" in autumn.faults[0].reason
    assert "end of the file" in autumn.faults[2].reason
    assert "repeats an earlier one" in autumn.faults[3].reason


def test_serial_unit_order_and_place_are_stated(autumn):
    assert autumn.rows["series_id"].unique().tolist() == ["10234567"]
    assert "series_id: 10234567, from the header" in autumn.notes
    assert "times: month first, local times" in autumn.notes
    assert any(note.startswith("temperatures: degrees F, as the header says") for note in autumn.notes)


def test_without_an_index_the_hour_that_came_twice_is_still_kept(read_text):
    rows = ["Date Time,Temp (C)", *(f"2013-11-03 {hour}:00,15.5" for hour in ("00", "01", "01", "02"))]
    table = read_text("\n".join(rows))
    assert len(table.rows) == 4
    assert table.rows["second_time_on_clock"].tolist() == [None, None, "yes", None]


def test_half_hours_that_came_twice_are_all_marked(read_text):
    clock = ["00:00", "00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    table = read_text("\n".join(["Date Time,Temp (C)", *(f"2013-11-03 {hour},15.5" for hour in clock)]))
    assert table.rows["second_time_on_clock"].tolist() == [None, None, None, None, "yes", "yes", None]


def test_an_offset_in_the_header_makes_every_instant_exact(read_text):
    table = read_text(HEADER + hours(30))
    assert table.rows["at"].iloc[0] == "2024-06-01T00:00:00-04:00"
    assert "second_time_on_clock" not in table.rows


def test_a_block_read_out_twice_is_counted_once(read_text):
    table = read_text(HEADER + hours(48) + hours(24))
    assert len(table.rows) == 48
    assert len(table.faults) == 24


def test_the_same_value_at_another_time_is_no_repeat(read_text):
    assert len(read_text(HEADER + hours(48, value="20.5")).rows) == 48


@pytest.mark.parametrize(
    ("unit", "written", "why"),
    [("C", "85.0", "just switched on"), ("C", "-127", "disconnected"), ("F", "185", "just switched on"),
     ("F", "-196.6", "disconnected"), ("C", "-999", "missing value"), ("F", "-999", "missing value")],
)  # fmt: skip
def test_a_value_of_a_faulty_sensor_is_held_back(read_text, unit, written, why):
    table = read_text(f"time,temp ({unit})\n2024-06-30 10:00,60\n2024-06-30 11:00,{written}\n")
    assert len(table.rows) == 1
    (fault,) = table.faults
    assert (fault.line, fault.severity, fault.found) == (3, "hold back", written)
    assert why in fault.reason


def test_85_degrees_fahrenheit_is_an_ordinary_day(read_text):
    assert len(read_text("time,temp (F)\n2024-06-30 10:00,85\n").rows) == 1


def test_semicolons_decimal_commas_and_the_western_code_page(read_text):
    text = "Logger 7\nDate/Time;Temp (°C)\n13.06.2024 00:00;20,5\n13.06.2024 01:00;21,25\n"
    table = read_text(text, encoding="cp1252")
    assert table.rows["temp_c"].tolist() == ["20.5", "21.25"]
    assert table.rows["at"].tolist() == ["2024-06-13T00:00:00", "2024-06-13T01:00:00"]


def test_date_and_time_in_two_columns_are_joined(read_text):
    table = read_text("Date,Time,Temp (C)\n06/30/2024,1:00 PM,20\n")
    assert table.rows["at"].tolist() == ["2024-06-30T13:00:00"]


@pytest.mark.parametrize(("name", "kind"), [("nest 12.csv", "nest"), ("soil10cm.csv", "soil"), ("A1.csv", None)])
def test_the_place_of_a_logger_is_told_by_its_name_or_left_blank_and_said(read_text, name, kind):
    table = read_text("time,temp (C)\n2024-06-30 10:00,20\n", name=name)
    assert table.rows["kind"].tolist() == [kind]
    assert any(note.startswith(f"kind: {kind or 'blank'}") for note in table.notes)


def test_a_second_temperature_column_is_kept_and_said(read_text):
    table = read_text("time,temp 1 (C),temp 2 (C)\n2024-06-30 10:00,20,21\n")
    assert table.rows["temp 2 (C)"].tolist() == ["21"]
    assert "other temperature columns kept as written: temp 2 (C)" in table.notes


def test_values_above_57_without_unit_are_fahrenheit(read_text):
    assert read_text("time,temp\n2024-06-30 10:00,77\n").rows["temp_c"].tolist() == ["25"]


def test_a_unit_that_could_be_either_is_asked_for(read_text):
    with pytest.raises(UnfitFileError, match=r"could be in more than one.*temp_c or temp_f"):
        read_text("time,temp\n2024-06-30 10:00,25\n")


def test_an_order_of_day_and_month_that_does_not_show_is_asked_for(read_text):
    with pytest.raises(UnfitFileError, match=r"month first or day first.*write time as 2025-06-08 13:00"):
        read_text("time,temp (C)\n06/08/24 10:00,25\n06/08/24 11:00,25\n")


def test_a_logger_without_a_reading_is_refused(read_text):
    with pytest.raises(UnfitFileError, match=r"found no value in temp \(C\)"):
        read_text("time,temp (C)\n2024-06-30 10:00,\n")


def test_a_value_that_is_a_word_stays_for_the_checks(read_text):
    table = read_text("time,temp (C)\n2024-06-30 10:00,20\n2024-06-30 11:00,cold\n")
    assert table.rows["temp_c"].tolist() == ["20", "cold"]


def test_readings_without_a_single_date_or_time_keep_their_blank(read_text):
    table = read_text("Date,Time,Temp (C)\n,,21.5\n,,22.5\n", name="nest.csv")
    assert table.rows["at"].tolist() == [None, None]
    assert table.rows["temp_c"].tolist() == ["21.5", "22.5"]


def test_a_logger_of_two_clock_columns_whose_rows_are_all_too_long_is_refused(read_text):
    with pytest.raises(UnfitFileError, match=r"found no value in Temp \(C\)"):
        read_text("Date,Time,Temp (C)\n2024-06-30,10:00,20,7,8\n", name="nest.csv")
