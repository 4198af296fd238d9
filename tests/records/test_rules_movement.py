import numpy as np
import pandas as pd
import pytest
from pyproj import Geod
from records.record_cases import context, typed
from records.rule_cases import breaks, rule_named

from roadwatch.records.rules import complaints_of
from roadwatch.records.rules_movement import speeds_kmh

SPEED = "an observer travels at most 150 km/h from one record to the next"
NIGHT = "a turtle that basks does not cross at night"
MIDNIGHT = "a time of day is not midnight to the second"
RACE = "a search is not faster than its method allows"
NOWHERE = "a search says where it went"


def seen(clock, longitude=-82.3, latitude=29.6, observer="Ada"):
    time = f"2025-05-12T{clock}:00-04:00" if clock else "2025-05-12"
    return {"observed_at": time, "longitude": longitude, "latitude": latitude, "observer": observer}


def asked(*rows):
    complaints = complaints_of(rule_named(SPEED, "crossings"), typed("crossings", *rows), context())
    return [complaint.row for complaint in complaints]


def test_speed_is_distance_over_time():
    # 0.4 degrees of longitude at 29.6 north; the geodesic is pyproj's, and a minute is added for the clocks
    rows = [seen("09:01"), seen("09:30", longitude=-81.9)]
    length_km = Geod(ellps="WGS84").inv(-82.3, 29.6, -81.9, 29.6)[2] / 1000
    speed = speeds_kmh(typed("crossings", *rows), "observed_at")
    assert np.isnan(speed[0])
    assert speed[1] == pytest.approx(length_km / 0.5, rel=3e-3)


def test_the_later_of_two_records_too_far_apart_is_asked_about_whatever_their_order():
    # 38.7 km apart: in 14 + 1 minutes 155 km/h, in 15 + 1 minutes 145 km/h
    assert asked(seen("09:15", longitude=-82.7), seen("09:01", longitude=-82.3)) == [0]
    assert asked(seen("09:01"), seen("09:16", longitude=-82.7)) == []
    assert rule_named(SPEED, "crossings").severity == "ask"


@pytest.mark.parametrize(
    ("clock", "asked_about"),
    [("09:15", True), ("08:45", True), ("09:16", False), ("08:44", False), (None, False)],
    ids=["after it", "before it", "slowly after it", "slowly before it", "a day alone"],
)
def test_a_record_is_held_against_those_of_its_observer_in_the_season(clock, asked_about):
    # 38.7 km apart: in 14 + 1 minutes 155 km/h, in 15 + 1 minutes 145 km/h; five-minute times are good to 5 minutes
    earlier = typed("crossings", seen("09:01" if clock == "09:15" else "08:59" if clock == "08:45" else "09:00"))
    elsewhere = typed("crossings", seen(clock, longitude=-82.7))
    speed = rule_named(SPEED, "crossings")
    assert bool(complaints_of(speed, elsewhere, context(earlier=earlier))) == asked_about
    assert not complaints_of(speed, elsewhere, context(earlier=earlier.assign(observer="Bo")))
    assert not complaints_of(speed, elsewhere, context(earlier=earlier.iloc[:0]))


def test_records_of_the_season_itself_are_not_asked_about():
    earlier = typed("crossings", seen("07:01"), seen("07:02", longitude=-82.7))
    assert not complaints_of(
        rule_named(SPEED, "crossings"), typed("crossings", seen("09:31")), context(earlier=earlier)
    )


def test_each_observer_is_followed_alone():
    assert asked(seen("09:00"), seen("09:01", longitude=-82.7, observer="Bo")) == []
    assert asked(seen("09:00"), seen("09:30", observer="Bo", longitude=-82.7), seen("09:01", longitude=-82.7)) == [2]


def test_two_times_on_five_minutes_are_taken_as_rounded():
    # 9.68 km apart: in no time by clocks rounded to five minutes 116 km/h, by clocks good to a minute 581 km/h
    assert asked(seen("09:00"), seen("09:00", longitude=-82.4)) == []
    assert asked(seen("09:01"), seen("09:01", longitude=-82.4)) == [1]
    assert asked(seen("09:00"), seen("09:01", longitude=-82.4)) == [1]


@pytest.mark.parametrize(("longitude", "latitude"), [(0.0, 0.0), (-81.0, 29.6), (29.6, -82.3), (82.3, 29.6)])
def test_a_place_that_is_wrong_itself_says_nothing_of_speed(longitude, latitude):
    assert asked(seen("09:00"), seen("09:01", longitude=longitude, latitude=latitude), seen("09:02")) == []


@pytest.mark.parametrize(
    "row",
    [
        seen("09:01", longitude=-82.7, observer=None),
        seen("", longitude=-82.7),
        seen("09:01", longitude=None),
        seen("09:00", longitude=-82.295),  # half a kilometre: clocks and positions err
    ],
)
def test_what_is_not_known_or_near_is_not_asked_about(row):
    assert asked(seen("09:00"), row) == []


def test_one_minute_and_two_places_far_apart_are_asked_about():
    assert asked(seen("09:01"), seen("09:01", longitude=-82.25)) == [1]  # 4.8 km in at most a minute


def test_offsets_count_and_not_the_hours_on_the_wall():
    utc = seen("09:00") | {"observed_at": "2025-05-12T13:05:00+00:00", "longitude": -82.7}  # 9:05 in the morning
    assert asked(seen("09:00"), utc) == [1]


def test_finders_of_nests_are_followed_too():
    rows = [
        {"found_at": f"2025-05-12T09:0{k}:00-04:00", "longitude": -82.3 - 0.4 * k, "observer": "Ada"} for k in (0, 1)
    ]
    assert len(complaints_of(rule_named(SPEED, "nests"), typed("nests", *rows), context())) == 1


@pytest.mark.parametrize(
    ("clock", "taxon", "condition", "broken"),
    [
        ("23:10", "Trachemys scripta", "alive", True),
        ("04:59", "Pseudemys nelsoni", "alive", True),
        ("05:00", "Trachemys scripta", "alive", False),
        ("21:59", "Trachemys scripta", "alive", False),
        ("23:10", "Kinosternon", "alive", False),
        ("23:10", "Trachemys scripta", "dead", False),
        ("23:10", "Testudines", "alive", False),
        ("00:00", "Trachemys scripta", "alive", False),  # midnight to the second: the other rule says so
    ],
)
def test_a_basking_turtle_on_foot_at_night_is_noted(clock, taxon, condition, broken):
    change = {"observed_at": f"2025-05-12T{clock}:00-04:00", "taxon": taxon, "condition": condition}
    assert breaks(NIGHT, "crossings", change) is broken
    assert rule_named(NIGHT, "crossings").severity == "note"


@pytest.mark.parametrize(
    ("time", "broken"),
    [
        ("2025-05-12T00:00:00-04:00", True),
        ("2025-05-12T00:00:01-04:00", False),
        ("2025-05-12", False),
    ],
)
def test_midnight_to_the_second_is_noted(time, broken):
    assert breaks(MIDNIGHT, "crossings", {"observed_at": time}) is broken


@pytest.mark.parametrize(
    ("method", "distance_km", "broken"),
    [
        *(("foot", 8.0, False), ("foot", 8.1, True), ("bicycle", 40.0, False), ("bicycle", 41.0, True)),
        *(("car", 110.0, False), ("car", 111.0, True), (None, 500.0, False), ("foot", None, False)),
    ],
)
def test_a_search_faster_than_its_method_is_asked_about(method, distance_km, broken):
    hour = {"started_at": "2025-05-12T07:00:00-04:00", "ended_at": "2025-05-12T08:00:00-04:00"}
    assert breaks(RACE, "searches", {**hour, "method": method, "distance_km": distance_km}) is broken


def test_a_search_without_its_times_has_no_speed():
    for hours in ({"started_at": "2025-05-12", "ended_at": "2025-05-12"}, {"started_at": "2025-05-12T07:00:00-04:00"}):
        assert not breaks(RACE, "searches", {**hours, "method": "foot", "distance_km": 90.0})


@pytest.mark.parametrize(
    ("roads", "track", "broken"),
    [(None, None, True), ("Lornby Road", None, False), (None, "LINESTRING (0 0, 1 1)", False)],
)
def test_a_search_that_says_not_where_it_went_is_asked_about(roads, track, broken):
    change = {"roads": roads, "track": track, "distance_km": 3.0}
    assert breaks(NOWHERE, "searches", change) is broken


def test_one_record_alone_has_no_speed():
    assert np.isnan(speeds_kmh(typed("crossings", seen("09:00")), "observed_at")).all()
    assert len(speeds_kmh(pd.DataFrame({"observed_at": [], "observer": []}), "observed_at")) == 0
