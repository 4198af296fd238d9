"""GPX 1.1 by its schema's order of elements (topografix GPX 1.1, written down from memory)."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

if TYPE_CHECKING:
    from pathlib import Path

SPACE = "{http://www.topografix.com/GPX/1/1}"
ORDER_OF_GPX = ["metadata", "wpt", "rte", "trk", "extensions"]
ORDER_OF_POINT = [
    "ele",
    "time",
    "magvar",
    "geoidheight",
    "name",
    "cmt",
    "desc",
    "src",
    "link",
    "sym",
    "type",
    "fix",
    "sat",
    "hdop",
    "vdop",
    "pdop",
    "ageofdgpsdata",
    "dgpsid",
    "extensions",
]
ORDER_OF_TRACK = ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "trkseg"]


def children(element: ET.Element) -> list[str]:
    assert all(child.tag.startswith(SPACE) for child in element)
    return [child.tag.removeprefix(SPACE) for child in element]


def is_in_order(found: list[str], order: list[str]) -> bool:
    return found == sorted(found, key=order.index)


@pytest.fixture(params=["waypoints_2024.gpx", "track_2023.gpx", "track_2024.gpx"])
def gpx(demo: Path, request: pytest.FixtureRequest) -> ET.Element:
    return ET.parse(demo / request.param).getroot()


def test_the_root_is_gpx_1_1_and_names_its_creator(gpx: ET.Element) -> None:
    assert gpx.tag == f"{SPACE}gpx"
    assert gpx.get("version") == "1.1"
    assert "invented" in gpx.get("creator", "")


def test_elements_stand_in_the_order_of_the_schema(gpx: ET.Element) -> None:
    assert is_in_order(children(gpx), ORDER_OF_GPX)
    for point in [*gpx.iter(f"{SPACE}wpt"), *gpx.iter(f"{SPACE}trkpt")]:
        assert is_in_order(children(point), ORDER_OF_POINT)
    for track in gpx.iter(f"{SPACE}trk"):
        assert is_in_order(children(track), ORDER_OF_TRACK)


def test_every_point_has_a_place_and_a_time_in_utc(gpx: ET.Element) -> None:
    points = [*gpx.iter(f"{SPACE}wpt"), *gpx.iter(f"{SPACE}trkpt")]
    assert len(points) > 20
    for point in points:
        assert -90 <= float(point.attrib["lat"]) <= 90
        assert -180 <= float(point.attrib["lon"]) <= 180
        time = point.findtext(f"{SPACE}time", "")
        assert time.endswith("Z")
        assert datetime.fromisoformat(time).year in (2023, 2024)


def test_some_waypoints_are_named_by_the_receiver_and_the_comment_tells_the_animal(demo: Path) -> None:
    points = list(ET.parse(demo / "waypoints_2024.gpx").getroot().iter(f"{SPACE}wpt"))
    serial = [point for point in points if point.findtext(f"{SPACE}name", "").isdigit()]
    assert 5 <= len(serial) < len(points)
    assert all(", " in point.findtext(f"{SPACE}cmt", "") for point in serial)
