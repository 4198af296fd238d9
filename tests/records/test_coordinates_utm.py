import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj import CRS, Geod, Transformer
from pyproj.database import query_utm_crs_info

from roadwatch.records.complaints import Misread
from roadwatch.records.coordinates_utm import (
    Metres,
    Zone,
    are_metres,
    datum_of,
    degrees_of,
    read_metres,
    read_reference,
    read_zone,
    shifted,
    zones_around,
)


def one(easting, northing, zone, **options):
    longitude, latitude = degrees_of(np.array([easting]), np.array([northing]), zone=zone, **options)
    return float(longitude[0]), float(latitude[0])


# Central meridian and equator of a zone by definition of UTM: easting 500,000 m, northing 0 (north) or 10,000,000 m
# (south); zone 1 begins at 180 degrees west and each is 6 degrees wide (from memory).
@pytest.mark.parametrize(("number", "meridian"), [(1, -177), (16, -87), (17, -81), (30, -3), (31, 3), (60, 177)])
def test_the_central_meridian_meets_the_equator_at_the_zone_s_origin(number, meridian):
    assert one(500_000.0, 0.0, Zone(number)) == pytest.approx((meridian, 0), abs=1e-9)
    assert one(500_000.0, 10_000_000.0, Zone(number, north=False)) == pytest.approx((meridian, 0), abs=1e-9)


def test_a_kilometre_of_northing_is_a_kilometre_on_the_ellipsoid_but_for_the_scale_of_the_meridian():
    # the scale on the central meridian is 0.9996 by definition of UTM; the ellipsoid's own length is PROJ's
    low, high = one(500_000.0, 3_500_000.0, Zone(17)), one(500_000.0, 3_501_000.0, Zone(17))
    length_m = Geod(ellps="WGS84").inv(*low, *high)[2]
    assert length_m * 0.9996 == pytest.approx(1000, abs=1e-3)


@given(st.floats(-84, -78), st.floats(24, 45))
def test_places_agree_with_the_epsg_definition_of_the_zone(longitude, latitude):
    to_metres = Transformer.from_crs("OGC:CRS84", "EPSG:32617", always_xy=True)
    easting, northing = to_metres.transform(longitude, latitude)
    assert one(easting, northing, Zone(17)) == pytest.approx((longitude, latitude), abs=1e-8)


@pytest.mark.parametrize(
    ("datum", "north", "name"),
    [("WGS84", True, "WGS 84"), ("WGS84", False, "WGS 84"), ("NAD83", True, "NAD83"), ("NAD27", True, "NAD27")],
)
def test_every_zone_is_that_of_the_epsg_dataset(datum, north, name):
    """The names of the dataset, as pyproj reads it, tell zone and hemisphere of each code."""
    known = {info.name: int(info.code) for info in query_utm_crs_info(datum_name=name)}
    for number in (1, 10, 17, 22):
        code = known[f"{name} / UTM zone {number}{'N' if north else 'S'}"]
        easting, northing = 450_000.0, 3_200_000.0
        expected = Transformer.from_crs(CRS.from_epsg(code), 4326, always_xy=True).transform(easting, northing)
        assert one(easting, northing, Zone(number, north=north), datum=datum) == pytest.approx(expected, abs=1e-9)


def test_a_zone_that_the_datum_has_not_gives_no_place():
    assert np.isnan(one(500_000.0, 3_500_000.0, Zone(33), datum="NAD27")).all()
    assert np.isnan(one(500_000.0, 3_500_000.0, Zone(17, north=False), datum="NAD83")).all()


def test_the_old_datum_lies_some_hundred_metres_off():
    # in the south-eastern United States NAD27 and NAD83 coordinates of one point differ by 10 to 200 m (from memory)
    new, old = (one(414_765.0, 3_507_652.0, Zone(17), datum=datum) for datum in ("NAD83", "NAD27"))
    assert 10 < Geod(ellps="WGS84").inv(*new, *old)[2] < 300


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        ("17", Zone(17)),
        ("17N", Zone(17)),
        ("17 R", Zone(17)),
        ("17r", Zone(17)),
        ("UTM zone 17 north", Zone(17)),
        ("zone 17", Zone(17)),
        ("17S", Zone(17, north=None)),  # band S, 32 to 40 degrees north, or the southern hemisphere
        ("17 south", Zone(17, north=False)),
        ("17K", Zone(17, north=False)),
        ("1X", Zone(1)),
    ],
)
def test_a_zone_in_its_written_forms(text, zone):
    assert read_zone(text) == zone


@pytest.mark.parametrize("text", ["", "0", "61", "17I", "17O", "N", "seventeen", "17 R R"])
def test_what_is_no_zone_is_told(text):
    assert "is not a UTM zone; write its number" in read_zone(text).reason


@pytest.mark.parametrize(
    "text",
    [
        *("17R 414765 3507652", "17 R 414765 3507652", "UTM 17N 414765 3507652", "zone 17 414765, 3507652"),
        *("17R 414765E 3507652N", "17R 414765 mE 3507652 mN", "414765 3507652 17N", "414765E 3507652N zone 17"),
        *("E 414765, N 3507652, 17R", "17;414765;3507652"),
    ],
)
def test_easting_northing_and_zone_in_one_cell(text):
    assert read_metres(text) == Metres(414_765.0, 3_507_652.0, Zone(17))


def test_metres_without_a_zone_are_metres_and_degrees_are_none():
    assert read_metres("414765 3507652") == Metres(414_765.0, 3_507_652.0)
    assert read_metres("31.7, -81.9") is None
    assert isinstance(read_metres("99R 414765 3507652"), Misread)


def test_a_reference_of_the_military_grid_is_refused_by_name():
    assert "military grid" in read_metres("17RMQ1476507652").reason
    assert "military grid" in read_metres("17R MQ 14765 07652").reason


def test_metres_are_told_from_degrees():
    x = np.array([414_765.0, -81.9, 31.7, 414_765.0, 99_000.0, np.nan])
    y = np.array([3_507_652.0, 31.7, -81.9, 31.7, 3_507_652.0, 1.0])
    assert are_metres(x, y).tolist() == [True, False, False, False, False, False]


@pytest.mark.parametrize(
    ("text", "epsg"),
    [
        *(("WGS84", 4326), ("wgs 84", 4326), ("NAD83", 4269), ("NAD 1983", 4269), ("NAD27", 4267)),
        *(("EPSG:26917", 26917), ("epsg 32617", 32617), ("26917", 26917), ("urn:ogc:def:crs:EPSG::4326", 4326)),
    ],
)
def test_a_reference_system_in_its_written_forms(text, epsg):
    assert read_reference(text) == epsg


@pytest.mark.parametrize("text", ["", "my own", "EPSG:99999", "123"])
def test_what_is_no_reference_system_is_told(text):
    assert "is not a reference system that is known" in read_reference(text).reason


def test_datums_of_geographic_systems():
    assert [datum_of(code) for code in (4326, 4269, 4267, 26917)] == ["WGS84", "NAD83", "NAD27", None]


def test_coordinates_of_a_projected_system_are_turned_without_a_zone():
    # EPSG:2236, NAD83 / Florida East (US survey feet); the place and back by pyproj itself
    x, y = Transformer.from_crs(4326, 2236, always_xy=True).transform(-81.9, 29.1)
    longitude, latitude = shifted(np.array([x]), np.array([y]), epsg=2236)
    assert (longitude[0], latitude[0]) == pytest.approx((-81.9, 29.1), abs=1e-7)


@pytest.mark.parametrize(
    ("longitudes", "zones"),
    [([-81.9], [16, 17, 18]), ([-84.1, -83.9], [15, 16, 17, 18]), ([-179.0], [1, 2, 60]), ([180.0], [1, 2, 60])],
)
def test_zones_around_a_season(longitudes, zones):
    assert zones_around(longitudes) == zones


@given(st.text(max_size=40) | st.text("0123456789 RNSEm.,", max_size=30))
def test_any_text_can_be_asked_for_its_metres_zone_and_reference(text):
    assert read_metres(text) is None or isinstance(read_metres(text), (Metres, Misread))
    assert isinstance(read_zone(text), (Zone, Misread))
    assert isinstance(read_reference(text), (int, Misread))
