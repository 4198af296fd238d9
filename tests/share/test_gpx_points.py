"""Waypoints by the published schema of GPX 1.1, and as an independent reader finds them."""

import gpxpy
import pandas as pd
import pytest
from gpx_schema import assert_valid_gpx

from roadwatch.share.gpx_points import waypoints
from roadwatch.share.team_points import team_points, utc_time


def write(rows, **changes):
    told = {"title": "Invented", "words": ("Team only.", "Mind the traffic."), "made_on": "2025-07-01"} | changes
    return waypoints(pd.DataFrame(rows), **told).decode("utf-8")


def point(**changes):
    row = {"longitude": -82.3, "latitude": 29.6, "name": "c1", "comment": "dead", "kind": "crossing", "time": None}
    return row | changes


def test_points_with_awkward_text_are_valid_and_read_back():
    text = write([point(name="a & <b>", comment="line\x00break \U0001f422"), point(time="2025-05-12T11:40:00Z")])
    assert_valid_gpx(text)
    one, other = gpxpy.parse(text).waypoints
    assert (one.longitude, one.latitude, one.name) == (-82.3, 29.6, "a & <b>")
    assert one.comment == "line\ufffdbreak \U0001f422"
    assert other.time.isoformat() == "2025-05-12T11:40:00+00:00"


def test_a_point_without_a_place_is_left_out():
    assert write([point(longitude=float("nan")), point()]).count("<wpt ") == 1


def test_what_belongs_beside_the_points_stands_in_the_file():
    assert gpxpy.parse(write([point()])).description == "Team only. Mind the traffic."


@pytest.mark.parametrize(
    ("written", "utc"),
    [
        ("2025-05-12T07:40:00-04:00", "2025-05-12T11:40:00Z"),
        ("2025-12-31T23:30:00-05:00", "2026-01-01T04:30:00Z"),
        ("2025-05-12", None),
        ("2025-05-12T07:40:00", None),
        (None, None),
        (float("nan"), None),
    ],
)
def test_a_time_is_turned_into_universal_time_and_a_day_is_not(written, utc):
    assert utc_time(written) == utc


def test_the_team_gets_crossings_and_nests_with_what_was_seen(crossings, nests):
    animals = crossings([(-82.3, 29.6)])
    points = team_points(animals.assign(record_key=animals["record_id"]), nests([(-82.4, 29.7)], exposure="open"))
    assert points["name"].tolist() == ["R0", "N0"]
    assert points["kind"].tolist() == ["crossing (team only)", "nest (team only)"]
    assert points["comment"].tolist() == [
        "Trachemys scripta; 2025-05-12T07:40:00-04:00; dead; by the culvert of farm 9",
        "Trachemys scripta; 2025-05-12; open; under the third oak",
    ]
