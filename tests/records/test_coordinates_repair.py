import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.coordinates_repair import NO_AREA, SLIPS, Area, mend

FLORIDA = Area(-82.7, 29.4, -82.0, 29.9, margin_deg=0.1)
NO_SLIP = -1


def mended(longitude, latitude, area=FLORIDA):
    """The likely place, the name of the slip, how many places slips lead to, and whether it is certain."""
    found = mend(np.array([longitude], dtype=float), np.array([latitude], dtype=float), area)
    what = SLIPS[found.slip[0]].what if found.slip[0] != NO_SLIP else ""
    return (found.longitude[0], found.latitude[0]), what, int(found.n_places[0]), bool(found.is_certain[0])


@pytest.mark.parametrize(
    ("longitude", "latitude", "what"),
    [
        (29.6, -82.3, "latitude and longitude look swapped"),
        (82.3, 29.6, "longitude has the wrong sign"),
        (-82.3, -29.6, "latitude has the wrong sign"),
        (29.6, 82.3, "latitude and longitude look swapped, and longitude lost its minus sign"),
        (82.3, -29.6, "longitude and latitude have the wrong sign"),
    ],
)
def test_one_slip_that_brings_the_place_among_the_roads_is_certain(longitude, latitude, what):
    assert mended(longitude, latitude) == ((-82.3, 29.6), what, 1, True)


def test_a_southern_season_finds_the_minus_of_its_latitude():
    south = Area(150.0, -34.5, 151.5, -33.5)
    for place in [(151.0, 34.0), (-34.0, 151.0), (34.0, 151.0)]:
        assert mended(*place, south)[0] == (151.0, -34.0)
        assert mended(*place, south)[3]


@pytest.mark.parametrize(
    ("longitude", "latitude"),
    [(-82.3, 29.6), (-82.69, 29.41), (np.nan, 29.6), (82.3, np.nan), (0.0, 0.0), (-81.5, 29.6), (29.6, -81.5)],
)
def test_what_lies_inside_is_blank_or_has_no_slip_stays_as_read(longitude, latitude):
    place, what, n_places, is_certain = mended(longitude, latitude)
    assert np.array_equal(place, (longitude, latitude), equal_nan=True)
    assert (what, n_places, is_certain) == ("", 0, False)


def test_a_place_within_the_margin_is_taken_in_but_a_repair_that_leads_there_is_not_certain():
    assert mended(-82.05, 29.6)[2:] == (0, False)
    assert mended(82.05, 29.6) == ((-82.05, 29.6), "longitude has the wrong sign", 1, False)


def test_of_two_places_the_one_with_fewer_slips_is_likelier_and_none_is_certain():
    # round longitude -35, latitude 33: (-33, -35) swapped and (33... turned both lead inside an area this wide
    wide = Area(-40.0, 30.0, -30.0, 40.0)
    place, what, n_places, is_certain = mended(35.0, 33.0, wide)  # sign alone: (-35, 33); swapped and sign: (-33, 35)
    assert (place, what) == ((-35.0, 33.0), "longitude has the wrong sign")
    assert (n_places, is_certain) == (2, False)


def test_of_two_places_with_as_many_slips_none_is_likelier():
    # one slip each: columns changed over (8, 12), and the sign of longitude (-12, 8); two slips: (-8, 12)
    wide = Area(-13.0, 7.0, -7.0, 13.0)
    place, what, n_places, is_certain = mended(12.0, 8.0, Area(-13.0, 7.0, 9.0, 13.0))
    assert (what, n_places, is_certain) == ("", 3, False)
    assert mended(12.0, 8.0, wide)[1] == "longitude has the wrong sign"
    assert place in {(-12.0, 8.0), (8.0, 12.0)}


def test_two_slips_that_lead_to_one_place_are_one_repair():
    # longitude 45, latitude -45: changed over, or both signs turned, it is the same place
    place, _, n_places, is_certain = mended(45.0, -45.0, Area(-46.0, 44.0, -44.0, 46.0))
    assert (place, n_places, is_certain) == ((-45.0, 45.0), 1, True)


def test_without_a_known_area_nothing_is_mended():
    assert mended(29.6, -82.3, NO_AREA)[2:] == (0, False)
    assert not NO_AREA.is_known


def test_no_places_are_mended_to_none():
    empty = np.zeros(0)
    assert len(mend(empty, empty, FLORIDA).slip) == 0


@given(st.floats(-82.59, -82.11), st.floats(29.51, 29.79), st.sampled_from(SLIPS))
def test_whatever_slips_the_place_comes_back(longitude, latitude, slip):
    x = -longitude if slip.turn_longitude else longitude
    y = -latitude if slip.turn_latitude else latitude
    if slip.swap:
        x, y = y, x
    place, what, n_places, is_certain = mended(x, y)
    if slip.swap and slip.turn_latitude:  # a minus too many in changed columns is no slip that is looked for
        assert (n_places, is_certain) == (0, False)
    else:
        assert (place, what, n_places, is_certain) == ((longitude, latitude), slip.what, 1, True)


@given(st.floats(-180, 180), st.floats(-90, 90))
def test_what_is_certain_lies_among_the_roads_and_what_is_likely_inside(longitude, latitude):
    (x, y), _, n_places, is_certain = mended(longitude, latitude)
    inside = FLORIDA.holds(np.array([x]), np.array([y]))[0]
    assert inside or n_places == 0
    if is_certain:
        assert FLORIDA.holds(np.array([x]), np.array([y]), within_margin=True)[0]
