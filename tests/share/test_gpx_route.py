"""Routes as GPX 1.1 asks for them, read back by an independent reader and element by element."""

from datetime import date

import gpxpy
import pandas as pd
import pytest
from defusedxml.ElementTree import fromstring

from roadwatch.share.gpx_route import NAMESPACE, rounds_routes

GPX = f"{{{NAMESPACE}}}"
WPT_ORDER = ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym", "type"]
RTE_ORDER = ["name", "cmt", "desc", "src", "link", "number", "type", "extensions", "rtept"]
ROOT_ORDER = ["metadata", "wpt", "rte", "trk", "extensions"]
METADATA_ORDER = ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds", "extensions"]
"""Order of elements by the schema gpx.xsd of GPX 1.1 (wptType, rteType, gpxType, metadataType)."""


@pytest.fixture
def visits():
    rows = [
        ("2025-07-16", "n2", "Ada", 2, "outcome <b>&"),
        ("2025-07-16", "n1", "Ada", 1, "caged\x00"),
        ("2025-07-17", "n1", "Bo", 1, "🐢"),
    ]
    return pd.DataFrame(rows, columns=["date", "nest_id", "observer", "order", "reason"])


@pytest.fixture
def places():
    rows = [("n1", -81.9, 31.7, -81.901, 31.701), ("n2", -81.8, 31.6, -81.801, 31.601), ("n9", 0.0, 0.0, 0.0, 0.0)]
    return pd.DataFrame(rows, columns=["nest_id", "longitude", "latitude", "access_longitude", "access_latitude"])


def write(visits, places):
    return rounds_routes(visits, places, as_of=date(2025, 7, 15), cautions=("Never dig.",))


def names(element):
    return [child.tag.removeprefix(GPX) for child in element]


def test_an_independent_reader_finds_a_route_for_each_person_and_day(visits, places):
    read = gpxpy.parse(write(visits, places).decode("utf-8"))
    assert [route.name for route in read.routes] == ["2025-07-16 Ada", "2025-07-17 Bo"]
    points = [point for route in read.routes for point in route.points]
    assert [point.name for point in points] == ["1 n1", "2 n2", "1 n1", "n1"]
    assert [(point.longitude, point.latitude) for point in points[:2]] == [(-81.901, 31.701), (-81.801, 31.601)]
    assert [(point.longitude, point.latitude) for point in read.waypoints] == [(-81.9, 31.7), (-81.8, 31.6)]


@pytest.mark.parametrize(
    ("path", "order"),
    [(".", ROOT_ORDER), (f"{GPX}metadata", METADATA_ORDER), (f"{GPX}rte", RTE_ORDER), (f".//{GPX}rtept", WPT_ORDER),
     (f"{GPX}wpt", WPT_ORDER)],
)  # fmt: skip
def test_elements_stand_in_the_order_of_the_schema(visits, places, path, order):
    root = fromstring(write(visits, places))
    for element in root.findall(path):
        found = names(element)
        assert found == sorted(found, key=order.index)


def test_places_are_attributes_lat_and_lon(visits, places):
    root = fromstring(write(visits, places))
    for point in [*root.iter(f"{GPX}rtept"), *root.iter(f"{GPX}wpt")]:
        assert set(point.attrib) == {"lat", "lon"}
        assert -90 <= float(point.attrib["lat"]) <= 90


def test_the_file_says_its_version_its_maker_and_that_it_is_for_the_team(visits, places):
    root = fromstring(write(visits, places))
    assert root.tag == f"{GPX}gpx"
    assert root.attrib == {"version": "1.1", "creator": "Roadwatch"}
    said = root.findtext(f"{GPX}metadata/{GPX}desc")
    assert said.startswith("Team only")
    assert "Never dig." in said


def test_marks_and_control_characters_do_no_harm(visits, places):
    root = fromstring(write(visits, places))
    said = [point.findtext(f"{GPX}desc") for point in root.iter(f"{GPX}rtept")]
    assert said == ["caged\ufffd", "outcome <b>&", "🐢", None]


def test_the_same_plan_gives_the_same_bytes(visits, places):
    assert write(visits, places) == write(visits, places)


def test_an_empty_plan_has_no_routes(visits, places):
    root = fromstring(write(visits.iloc[:0], places))
    assert names(root) == ["metadata"]
