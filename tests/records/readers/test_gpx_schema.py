"""The GPX that the readers' tests read is GPX: checked against the published schema of GPX 1.1 (tests/golden)."""

import gpxpy
import pytest
from gpx_schema import assert_valid_gpx, faults_of_gpx
from records.readers.fuzz_files import GPX
from records.readers.test_gpx import NAMESPACE, TRACK, WAYPOINT

from roadwatch.records.readers import read_file


def gpx(body: str, root: str = f'<gpx version="1.1" creator="test" {NAMESPACE}>') -> str:
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{root}{body}</gpx>'


SEEDS = {
    "waypoint": gpx(WAYPOINT),
    "track": gpx(TRACK),
    "waypoint and track": gpx(WAYPOINT + TRACK),
    "seed of the damaged files": GPX,
}


@pytest.mark.parametrize("seed", SEEDS)
def test_what_our_tests_read_conforms_to_the_schema(seed):
    assert_valid_gpx(SEEDS[seed])


BROKEN = {
    "the name before the elevation": (
        WAYPOINT.replace("<name>001</name>", "").replace("<ele>", "<name>001</name><ele>"),
        "ele",
    ),
    "a comment after the description": (
        WAYPOINT.replace("<cmt>box turtle dead</cmt>", "").replace("<sym>", "<cmt>box turtle dead</cmt><sym>"),
        "cmt",
    ),
    "no latitude": (WAYPOINT.replace(' lat="29.6512"', ""), "lat"),
    "no longitude": (WAYPOINT.replace(' lon="-82.3725"', ""), "lon"),
    "a latitude beyond the pole": (WAYPOINT.replace("29.6512", "90.5"), "90"),
    "a longitude of 180, which is written as -180": (WAYPOINT.replace("-82.3725", "180"), "180"),
    "a time that is a date alone": (WAYPOINT.replace("T11:40:00Z", ""), "2025-05-12"),
    "a word of our own outside of extensions": (WAYPOINT.replace("<sym>", "<taxon>box turtle</taxon><sym>"), "taxon"),
    "a waypoint after a track": (TRACK + WAYPOINT, "wpt"),
    "a point of a track outside of a segment": ('<trk><trkpt lat="1" lon="2"/></trk>', "trkpt"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_the_schema_objects_to_what_the_standard_forbids(case):
    body, named = BROKEN[case]
    faults = faults_of_gpx(gpx(body))
    assert any(named in fault for fault in faults), faults


@pytest.mark.parametrize(
    ("root", "named"),
    [(f'<gpx version="1.1" {NAMESPACE}>', "creator"), (f'<gpx version="1.0" creator="test" {NAMESPACE}>', "version")],
)
def test_the_schema_wants_version_1_1_and_a_creator(root, named):
    assert any(named in fault for fault in faults_of_gpx(gpx(WAYPOINT, root)))


def test_a_file_that_fails_is_told_with_its_place():
    with pytest.raises(AssertionError, match=r"/gpx/wpt: missing required attribute 'lat'"):
        assert_valid_gpx(gpx(WAYPOINT.replace(' lat="29.6512"', "")))


@pytest.mark.parametrize("seed", SEEDS)
def test_an_independent_reader_finds_the_same_places_and_lines(make_file, seed):
    independent = gpxpy.parse(SEEDS[seed])
    tables = {table.kind: table for table in read_file(make_file("walk.gpx", SEEDS[seed]))}
    places = [(point.longitude, point.latitude) for point in independent.waypoints]
    lines = [[(point.longitude, point.latitude) for point in track.segments[0].points] for track in independent.tracks]
    if places:
        rows = tables["crossings"].rows
        assert list(zip(rows["longitude"].astype(float), rows["latitude"].astype(float), strict=True)) == places
    if lines:
        written = ["LINESTRING (" + ", ".join(f"{x!r} {y!r}" for x, y in line) + ")" for line in lines]
        assert tables["searches"].rows["track"].tolist() == written
    assert len(tables) == bool(places) + bool(lines)
