import numpy as np
import pytest
from records.record_cases import context, typed
from records.rule_cases import breaks, rule_named

from roadwatch.records.checks import check_records, rules_of
from roadwatch.records.rules import complaints_of

# The area of these tests reaches from 82.7 to 82.0 degrees west and from 29.4 to 29.9 degrees north.
OWN_COLUMN = "latitude and longitude stand each in its own column"
ITS_SIGN = "a western longitude carries its minus sign"
BOTH = "a western longitude carries its minus sign and stands in its own column"
INSIDE = "the place lies inside the season's area"
NOT_ZERO = "the place is not longitude 0, latitude 0"
ALL = {OWN_COLUMN, ITS_SIGN, BOTH, INSIDE, NOT_ZERO}


@pytest.mark.parametrize("kind", ["crossings", "nests"])
@pytest.mark.parametrize(
    ("longitude", "latitude", "broken"),
    [
        (-82.3, 29.6, None),
        (-82.7, 29.4, None),  # on the edge
        (-82.0, 29.9, None),
        (29.6, -82.3, OWN_COLUMN),
        (82.3, 29.6, ITS_SIGN),
        (29.6, 82.3, BOTH),
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
    change = {"longitude": longitude, "latitude": latitude}
    assert {sentence for sentence in ALL if breaks(sentence, kind, change)} == ({broken} if broken else set())


@pytest.mark.parametrize(
    ("longitude", "latitude", "cure"),
    [
        (29.6, -82.3, "write longitude -82.3, latitude 29.6"),
        (82.3, 29.6, "write -82.3: west of Greenwich is negative"),
        (29.6, 82.3, "write longitude -82.3, latitude 29.6"),
        (-81.9, 29.6, "correct the place, or add the roads of that area"),
    ],
)
def test_the_cure_proposes_the_place_that_is_meant(longitude, latitude, cure):
    (fault,) = check_records(typed("crossings", {"longitude": longitude, "latitude": latitude}), "crossings", context())
    assert cure in fault.reason
    assert fault.severity == "hold back"


def test_without_a_known_area_no_place_lies_outside():
    nowhere = {"west": np.nan, "south": np.nan, "east": np.nan, "north": np.nan}
    assert not breaks(INSIDE, "crossings", {"longitude": 139.7, "latitude": 35.7}, **nowhere)
    assert breaks(NOT_ZERO, "crossings", {"longitude": 0.0, "latitude": 0.0}, **nowhere)


def test_an_eastern_season_proposes_to_take_the_sign_away():
    east = {"west": 139.0, "south": 35.0, "east": 140.0, "north": 36.0}
    table = typed("crossings", {"longitude": -139.7, "latitude": 35.7})
    (complaint,) = complaints_of(rule_named(ITS_SIGN, "crossings"), table, context(**east))
    assert "write 139.7" in complaint.reason


def test_a_weather_station_or_a_person_may_stand_outside():
    assert not {one.sentence for kind in ("temperatures", "people") for one in rules_of(kind)} & ALL


def test_a_minus_sign_too_many_is_not_taken_for_one_that_is_lost():
    east = {"west": 82.0, "south": 29.4, "east": 82.7, "north": 29.9}
    place = {"longitude": 29.6, "latitude": -82.3}
    table = typed("crossings", place)
    assert complaints_of(rule_named(BOTH, "crossings"), table, context(**east)) == []
    assert len(complaints_of(rule_named(INSIDE, "crossings"), table, context(**east))) == 1
