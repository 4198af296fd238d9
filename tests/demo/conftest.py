"""The invented county as its files stand, read by hand: nothing here uses the package."""

from __future__ import annotations

import csv
import io
import json
import re
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pandas as pd
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).resolve().parents[2]
COLUMNS_2024 = {"lat": "latitude", "lng": "longitude", "species": "taxon", "dead/alive": "condition"}
COLUMNS_2025 = {
    "decimalLatitude": "latitude",
    "decimalLongitude": "longitude",
    "scientificName": "taxon",
    "vitality": "condition",
    "eventDate": "observed_at",
    "eventID": "search_id",
    "occurrenceID": "record_id",
}


@pytest.fixture(scope="session")
def demo() -> Path:
    return ROOT / "demo"


@pytest.fixture(scope="session")
def layers() -> Path:
    return ROOT / "layers"


@pytest.fixture(scope="session")
def made_again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("county")
    command = [sys.executable, str(ROOT / "demo" / "make_demo.py"), str(folder)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return folder


@pytest.fixture(scope="session")
def table(demo: Path) -> Callable[[str], pd.DataFrame]:
    """Rows of one CSV of the demo as text, with the line on which each stands."""

    def read(name: str) -> pd.DataFrame:
        text = (demo / name).read_bytes().decode("utf-8-sig")
        rows = list(csv.DictReader(io.StringIO(text), delimiter=";" if "2023" in name and "cross" in name else ","))
        return pd.DataFrame(rows).assign(file=name, line=range(2, len(rows) + 2))

    return read


@pytest.fixture(scope="session")
def faults(demo: Path) -> pd.DataFrame:
    """The table of deliberate faults that README.md promises."""
    pattern = r"^\| `([\w.]+)` \| (\d+) \| (\w*) \| (.+) \| (held back|mended) \|$"
    rows = re.findall(pattern, (demo / "README.md").read_text(encoding="utf-8"), re.MULTILINE)
    promised = pd.DataFrame(rows, columns=["file", "line", "column", "fault", "becomes"])
    promised = promised[~promised["fault"].str.contains("\\|")]
    return promised.assign(line=promised["line"].astype(int))


@pytest.fixture(scope="session")
def crossings(demo: Path, table: Callable[[str], pd.DataFrame]) -> pd.DataFrame:
    """Every row of the six files of crossings under the same few names, faulty rows included."""
    everyday = table("crossings_2024.csv").rename(columns={**COLUMNS_2024, "survey": "search_id"})
    when = everyday["date"] + " " + everyday["time"].replace("", "12:00 AM")
    dates = pd.to_datetime(when, format="%m/%d/%Y %I:%M %p", errors="coerce")
    everyday["observed_at"] = dates.dt.strftime("%Y-%m-%d").fillna("")
    parts = [
        table("crossings_2022.csv"),
        table("crossings_2023.csv"),
        everyday,
        table("crossings_2025.csv").rename(columns=COLUMNS_2025),
        _waypoints(demo / "waypoints_2024.gpx"),
        _phone(demo / "phone_2025.geojson"),
    ]
    wanted = ["file", "line", "record_id", "observed_at", "longitude", "latitude", "taxon", "condition", "search_id"]
    rows = pd.concat([part.reindex(columns=wanted) for part in parts], ignore_index=True).fillna("")
    for name in ("longitude", "latitude"):
        rows[name] = pd.to_numeric(rows[name].astype(str).str.replace(",", "."), errors="coerce")
    return rows


@pytest.fixture(scope="session")
def good_crossings(crossings: pd.DataFrame, faults: pd.DataFrame) -> pd.DataFrame:
    """The crossings without the rows that are faulty on purpose."""
    marked = crossings.merge(faults[["file", "line", "fault"]], on=["file", "line"], how="left")
    return crossings[marked["fault"].isna().to_numpy()]


def _waypoints(path: Path) -> pd.DataFrame:
    space = {"g": "http://www.topografix.com/GPX/1/1"}
    rows = []
    for number, point in enumerate(ET.parse(path).getroot().findall("g:wpt", space), 1):
        name, comment = point.findtext("g:name", "", space), point.findtext("g:cmt", "", space)
        if name.isdigit():
            name, comment = comment.split(", ", 1)
        when = datetime.fromisoformat(point.findtext("g:time", "", space))
        place = {"longitude": point.get("lon"), "latitude": point.get("lat")}
        row = {"line": number, "observed_at": when.isoformat(), "taxon": name, "condition": comment.split(";")[0]}
        rows.append(row | place)
    return pd.DataFrame(rows).assign(file=path.name)


def _phone(path: Path) -> pd.DataFrame:
    rows = []
    for number, feature in enumerate(json.loads(path.read_text(encoding="utf-8"))["features"], 1):
        place = (feature["geometry"] or {"coordinates": ["", ""]})["coordinates"]
        rows.append({**feature["properties"], "line": number, "longitude": place[0], "latitude": place[1]})
    return pd.DataFrame(rows).assign(file=path.name)
