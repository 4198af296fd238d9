"""The program itself on the demo: it holds back what README.md says is faulty, and finds what was planted."""

from __future__ import annotations

import re
import tomllib
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pyproj
import pytest

from roadwatch.records.store import Season
from roadwatch.season.intake import FileReport, Intake
from roadwatch.season.mortality import season_hotspots
from roadwatch.season.setup import start_season

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

DEMO_DAY = date(2025, 7, 15)
EARTH = pyproj.Geod(ellps="WGS84")


def ingested_files(demo: Path) -> list[str]:
    steps = tomllib.loads((demo / "steps.toml").read_text(encoding="utf-8"))["steps"]
    words = [word for step in steps if step["args"][0] == "ingest" for word in step["args"]]
    return [word.removeprefix("{demo}/") for word in words if word.startswith("{demo}/")]


@pytest.fixture(scope="module")
def season_path(tmp_path_factory: pytest.TempPathFactory, layers: Path) -> Path:
    path = tmp_path_factory.mktemp("season") / "season.gpkg"
    start_season(
        path,
        roads_file=layers / "roads.geojson",
        timezone="America/New_York",
        water_file=layers / "water.geojson",
        region="SC_GA_coastal_plain",
    )
    return path


@pytest.fixture(scope="module")
def reports(season_path: Path, demo: Path) -> dict[str, FileReport]:
    intake = Intake.open(season_path, today=DEMO_DAY, now="2025-07-15T12:00:00-04:00")
    return {name: report for name in ingested_files(demo) for report in intake.take(demo / name)}


def test_exactly_the_promised_rows_are_held_back(
    season_path: Path, reports: dict[str, FileReport], faults: pd.DataFrame
) -> None:
    assert len(reports) == 18
    held = Season.open(season_path).held_back()
    found = sorted(zip(held["file_name"], held["line"].astype(int), strict=True))
    promised = faults[faults["becomes"] == "held back"]
    assert found == sorted(zip(promised["file"], promised["line"], strict=True))


def test_slips_with_one_cure_are_mended_and_the_change_is_recorded(
    season_path: Path, reports: dict[str, FileReport], faults: pd.DataFrame
) -> None:
    assert len(reports) == 18
    mended = faults[faults["becomes"] == "mended"]
    changes = Season.open(season_path).changes()
    assert len(changes["record_key"].unique()) == len(mended) == 4
    assert set(changes["field"]) == {"longitude", "latitude"}


def test_rows_in_two_files_count_once(reports: dict[str, FileReport]) -> None:
    known = {name: report.known for name, report in reports.items() if report.known}
    assert known == {"crossings_2023.csv": 1, "phone_2025.geojson": 4}


def test_the_shell_in_the_woods_is_kept_and_placed_on_no_road(reports: dict[str, FileReport]) -> None:
    remarks = [f for report in reports.values() for f in report.faults if f.reason.startswith("not placed")]
    assert [remark.source for remark in remarks] == ["crossings_2024.csv"]
    assert "woods" in remarks[0].original


def test_the_three_planted_hotspots_are_confirmed_and_no_other(
    season_path: Path, reports: dict[str, FileReport], demo: Path
) -> None:
    assert len(reports) == 18
    planted = re.findall(
        r"\| ([\w ]+) \| (-[\d.]+), ([\d.]+) \| (\d+) m \|", (demo / "README.md").read_text(encoding="utf-8")
    )
    table = season_hotspots(season_path, rng=np.random.default_rng(1), n_draws=199).hotspots
    confirmed = table[table["status"] == "confirmed"]
    assert sorted(confirmed["road"]) == sorted(road for road, *_ in planted)
    for road, lon, lat, length in planted:
        row = confirmed[confirmed["road"] == road].iloc[0]
        middle_lon = (row["longitude_from"] + row["longitude_to"]) / 2
        middle_lat = (row["latitude_from"] + row["latitude_to"]) / 2
        _, _, off_m = EARTH.inv(float(lon), float(lat), middle_lon, middle_lat)
        assert off_m < float(length) / 2  # the middle found lies inside the stretch planted
