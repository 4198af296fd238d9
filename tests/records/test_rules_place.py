import numpy as np
import pytest
from records.record_cases import context, typed
from records.rule_cases import breaks, holds_back, rule_named

from roadwatch.records.checks import check_records, rules_of
from roadwatch.records.rules import complaints_of

# The area of these tests reaches from 82.7 to 82.0 degrees west and from 29.4 to 29.9 degrees north.
OWN_PLACE = "latitude and longitude stand each in its own column, with its own sign"
INSIDE = "the place lies inside the season's area"
NOT_ZERO = "the place is not longitude 0, latitude 0"
NEAR_ROADS = "a crossing lies within 1000 m of a road"
ALL = {OWN_PLACE, INSIDE, NOT_ZERO}
EAST = {"west": 139.0, "south": 35.0, "east": 140.0, "north": 36.0}


def place(longitude, latitude):
    return {"longitude": longitude, "latitude": latitude}


def only_fault(longitude, latitude, **surroundings):
    (fault,) = check_records(typed("crossings", place(longitude, latitude)), "crossings", context(**surroundings))
    return fault


@pytest.mark.parametrize("kind", ["crossings", "nests"])
@pytest.mark.parametrize(
    ("longitude", "latitude", "broken"),
    [
        (-82.3, 29.6, None),
        (-82.7, 29.4, None),  # on the edge
        (-82.0, 29.9, None),
        (29.6, -82.3, OWN_PLACE),
        (82.3, 29.6, OWN_PLACE),
        (29.6, 82.3, OWN_PLACE),
        (-82.3, -29.6, OWN_PLACE),
        (82.3, -29.6, OWN_PLACE),
        (-81.9, 29.6, INSIDE),
        (-82.3, 30.5, INSIDE),
        (139.7, 35.7, INSIDE),
        (0.0, 0.0, NOT_ZERO),
        (0.0, 29.6, INSIDE),
        (np.nan, np.nan, None),
        (-82.3, np.nan, None),
    ],
)
def test_a_place_breaks_the_one_rule_that_explains_it(kind, longitude, latitude, broken):
    broken_rules = {sentence for sentence in ALL if breaks(sentence, kind, place(longitude, latitude))}
    assert broken_rules == ({broken} if broken else set())


@pytest.mark.parametrize(
    ("longitude", "latitude", "slip"),
    [
        (29.6, -82.3, "latitude and longitude look swapped: "),
        (82.3, 29.6, "longitude has the wrong sign: "),
        (29.6, 82.3, "latitude and longitude look swapped, and longitude lost its minus sign: "),
        (-82.3, -29.6, "latitude has the wrong sign: "),
    ],
)
def test_the_slip_is_named_and_the_place_that_is_meant_proposed(longitude, latitude, slip):
    fault = only_fault(longitude, latitude)
    assert fault.reason.startswith(slip)
    assert fault.reason.endswith("write longitude -82.3, latitude 29.6")
    assert fault.proposal == {"longitude": "-82.3", "latitude": "29.6"}
    assert fault.severity == "hold back"


def test_a_repair_that_only_reaches_the_margin_is_said_to_do_so():
    fault = only_fault(82.05, 29.6, margin_deg=0.1)
    assert "write longitude -82.05, latitude 29.6 if that is meant (it lies beyond the roads)" in fault.reason
    assert fault.proposal == {"longitude": "-82.05", "latitude": "29.6"}


def test_a_place_elsewhere_has_no_proposal():
    fault = only_fault(-81.9, 29.6)
    assert "correct the place, or add the roads of that area" in fault.reason
    assert fault.proposal is None


def test_without_a_known_area_no_place_lies_outside():
    nowhere = dict.fromkeys(EAST, np.nan)
    assert not breaks(INSIDE, "crossings", place(139.7, 35.7), **nowhere)
    assert not breaks(OWN_PLACE, "crossings", place(29.6, -82.3), **nowhere)
    assert breaks(NOT_ZERO, "crossings", place(0.0, 0.0), **nowhere)


def test_an_eastern_season_proposes_to_take_the_sign_away():
    table = typed("crossings", place(-139.7, 35.7))
    (complaint,) = complaints_of(rule_named(OWN_PLACE, "crossings"), table, context(**EAST))
    assert "write longitude 139.7, latitude 35.7" in complaint.reason


def test_a_weather_station_or_a_person_may_stand_outside():
    assert not {one.sentence for kind in ("temperatures", "people") for one in rules_of(kind)} & {*ALL, NEAR_ROADS}


def test_swapped_columns_with_a_minus_sign_too_many_are_no_slip_of_a_lost_sign():
    east = {"west": 82.0, "south": 29.4, "east": 82.7, "north": 29.9}
    table = typed("crossings", place(29.6, -82.3))
    assert complaints_of(rule_named(OWN_PLACE, "crossings"), table, context(**east)) == []
    assert len(complaints_of(rule_named(INSIDE, "crossings"), table, context(**east))) == 1


def far(longitude, latitude):
    """Distances of an invented road along the meridian of 82.3 degrees west; unknown south of 29.5."""
    return np.where(latitude < 29.5, np.nan, np.abs(longitude + 82.3) * 97_000)


@pytest.mark.parametrize(
    ("longitude", "latitude", "is_asked"),
    [(-82.3, 29.6, False), (-82.31, 29.6, False), (-82.32, 29.6, True), (-82.5, 29.45, False), (0.0, 0.0, False)],
)
def test_a_crossing_far_from_every_road_is_asked_about(longitude, latitude, is_asked):
    assert breaks(NEAR_ROADS, "crossings", place(longitude, latitude), distance_to_road_m=far) == is_asked


def test_without_roads_no_crossing_is_far_from_them():
    assert not breaks(NEAR_ROADS, "crossings", place(-82.5, 29.6))
    assert {one.severity for one in rules_of("crossings") if one.sentence == NEAR_ROADS} == {"ask"}


@pytest.mark.parametrize(
    ("longitude", "latitude", "broken"),
    [(-82.3, 29.6, False), (82.3, 29.6, True), (29.6, -82.3, True), (-82.3, None, False), (None, None, False)],
)
def test_a_person_who_starts_far_away_is_asked_about(longitude, latitude, broken):
    change = {"start_longitude": longitude, "start_latitude": latitude}
    assert breaks("a person starts from inside the season's area", "people", change) is broken


def test_without_a_known_area_no_start_is_far_away():
    nowhere = dict.fromkeys(("west", "south", "east", "north"), float("nan"))
    change = {"start_longitude": 82.3, "start_latitude": 29.6}
    assert not breaks("a person starts from inside the season's area", "people", change, **nowhere)


@pytest.mark.parametrize(
    ("other", "broken"),
    [
        ('{"longitude": "-82.3", "latitude": "29.6"}', False),
        ('{"wkt": "LINESTRING (-82.3 29.6, -82.3 29.7)"}', False),
        ('{"longitude": "-82.3"}', True),
        ('{"longitude": "east", "latitude": "29.6"}', True),
        ('{"colour": "red"}', True),
        (None, True),
    ],
)
def test_a_measure_without_a_place_is_kept_and_said_to_have_none(other, broken):
    sentence = "a measure has a place"
    assert breaks(sentence, "measures", {"other": other}) is broken
    assert not holds_back(sentence, "measures", {"other": other})
