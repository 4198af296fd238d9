"""The invented station in GHCN-Daily's fixed columns, and the nest logger's file."""

from __future__ import annotations

import itertools
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest

if TYPE_CHECKING:
    from pathlib import Path

# NOAA, GHCN-Daily readme.txt, section III (layout written down from memory): ID 1-11, YEAR 12-15, MONTH 16-17,
# ELEMENT 18-21, then 31 times VALUE (5), MFLAG, QFLAG, SFLAG.
LINE_LENGTH = 11 + 4 + 2 + 4 + 31 * 8
QUALITY_FLAGS = set("DGIKLMNORSTWXZ")


@pytest.fixture(scope="module")
def lines(demo: Path) -> list[str]:
    return (demo / "station.dly").read_text(encoding="ascii").splitlines()


@pytest.fixture(scope="module")
def station(lines: list[str]) -> pd.DataFrame:
    """One row a day and element: value in tenths, quality flag; days that the month lacks left out."""
    rows = []
    for line in lines:
        for k in range(31):
            cell = line[21 + 8 * k : 29 + 8 * k]
            day = f"{line[11:15]}-{line[15:17]}-{k + 1:02d}"
            rows.append((day, line[17:21], int(cell[:5]), cell[5], cell[6], cell[7]))
    table = pd.DataFrame(rows, columns=["day", "element", "value", "mflag", "qflag", "sflag"])
    dates = pd.to_datetime(table["day"], errors="coerce")
    assert table.loc[dates.isna(), "value"].eq(-9999).all()
    return table.assign(day=dates)[dates.notna()]


@pytest.fixture(scope="module")
def daily_c(station: pd.DataFrame) -> pd.DataFrame:
    good = station[(station["value"] != -9999) & (station["qflag"] == " ")]
    return good.pivot(index="day", columns="element", values="value") / 10


def test_every_line_has_269_characters(lines: list[str]) -> None:
    assert LINE_LENGTH == 269
    assert {len(line) for line in lines} == {LINE_LENGTH}


def test_the_file_stays_below_three_hundred_kilobytes(demo: Path) -> None:
    assert (demo / "station.dly").stat().st_size < 300_000


def test_every_month_from_1996_to_july_2025_has_a_high_and_a_low(lines: list[str]) -> None:
    months = [f"{m:%Y%m}" for m in pd.date_range("1996-01-01", "2025-07-01", freq="MS")]
    assert [line[11:21] for line in lines] == [month + element for month in months for element in ("TMAX", "TMIN")]


def test_no_value_is_told_after_the_day_of_the_demo(station: pd.DataFrame) -> None:
    assert station.loc[station["day"] > "2025-07-15", "value"].eq(-9999).all()


def test_missing_values_have_blank_flags_and_told_ones_a_source(station: pd.DataFrame) -> None:
    lost = station["value"] == -9999
    assert (station.loc[lost, ["mflag", "qflag", "sflag"]] == " ").all(axis=None)
    assert station.loc[~lost, "sflag"].ne(" ").all()


def test_some_days_are_lost_and_some_values_are_flagged(station: pd.DataFrame) -> None:
    told = station[station["day"] <= "2025-07-15"]
    assert 0.004 < told["value"].eq(-9999).mean() < 0.012
    flags = set(told["qflag"]) - {" "}
    assert flags
    assert flags <= QUALITY_FLAGS
    assert 5 <= told["qflag"].ne(" ").sum() <= 20


def test_two_gaps_are_as_long_as_the_readme_says(daily_c: pd.DataFrame) -> None:
    for start, n_days in (("2011-02-08", 9), ("2025-06-09", 3)):
        gap = pd.date_range(start, periods=n_days)
        assert daily_c.reindex(gap).isna().all(axis=None)


def test_no_low_is_above_its_high(daily_c: pd.DataFrame) -> None:
    both = daily_c.dropna()
    assert (both["TMIN"] <= both["TMAX"]).all()


def test_summers_are_those_of_the_coastal_plain(daily_c: pd.DataFrame) -> None:
    """June to August near 26.5 degrees C on average and a daily range near 11 (regional climate, from memory)."""
    summer = daily_c[pd.DatetimeIndex(daily_c.index).month.isin([6, 7, 8])].dropna()
    assert summer.mean(axis=1).mean() == pytest.approx(26.5, abs=0.7)
    assert (summer["TMAX"] - summer["TMIN"]).mean() == pytest.approx(11, abs=1)
    assert daily_c["TMAX"].max() < 45
    assert daily_c["TMIN"].min() > -20


def test_one_day_is_like_the_next_and_years_differ(daily_c: pd.DataFrame) -> None:
    mean = daily_c.mean(axis=1)
    days = pd.DatetimeIndex(mean.index)
    unusual = mean - mean.groupby(days.day_of_year).transform("mean")
    assert 0.5 < unusual.autocorr(1) < 0.8
    assert unusual.groupby(days.year).mean().std() > 0.2


def test_the_logger_tells_more_than_a_fortnight_of_a_nest_in_fahrenheit(demo: Path) -> None:
    title, header, *rows = (demo / "logger_L07.csv").read_bytes().decode("utf-8").split("\r\n")[:-1]
    assert "nest N25-007" in title
    assert header == "series_id,kind,Date Time (GMT-04:00),Temperature (°F)"
    cells = [row.split(",") for row in rows]
    when = [datetime.strptime(f"{cell[2]} -0400", "%m/%d/%Y %I:%M:%S %p %z") for cell in cells]
    steps = {later - earlier for earlier, later in itertools.pairwise(when)}
    assert steps == {timedelta(hours=1)}
    assert when[-1] - when[0] > timedelta(days=14)
    celsius = (np.array([float(cell[3]) for cell in cells]) - 32) / 1.8
    assert 15 < celsius.min() < celsius.max() < 40
