import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.columns import guess_kind, plan_columns
from roadwatch.records.coordinates_columns import find_place_columns


def found(*written, longitude=None, latitude=None):
    return find_place_columns(written, longitude=longitude, latitude=latitude)


@pytest.mark.parametrize(
    "name", ["lat/lon", "Lat, Long", "lat_lng", "Coordinates", "position", "GPS", "location", "dwc:verbatimCoordinates"]
)
def test_a_column_with_both_is_known_by_its_name(name):
    columns = found("species", name)
    assert (columns.pair, columns.longitude_first, columns.gives_both) == (name, False, True)


@pytest.mark.parametrize("name", ["lon/lat", "Longitude, Latitude", "lng_lat"])
def test_a_column_that_names_longitude_first_is_read_so(name):
    assert found(name).longitude_first


@pytest.mark.parametrize(
    ("names", "zone_in_name"),
    [
        (("easting", "northing"), ""),
        (("UTM_E", "UTM_N"), ""),
        (("UTM_E_17N", "UTM_N_17N"), "17N"),
        (("Easting (17R)", "Northing (17R)"), "17R"),
        (("Easting zone 17", "Northing zone 17"), "17"),
        (("Easting_UTM17N", "Northing_UTM17N"), "17N"),
        (("utm x", "utm y"), ""),
    ],
)
def test_columns_in_metres_are_known_with_the_zone_in_their_name(names, zone_in_name):
    columns = found("id", *names)
    assert (columns.easting, columns.northing) == names
    assert (columns.zone_in_name, columns.gives_both) == (zone_in_name, True)


def test_an_easting_without_a_northing_is_no_place():
    assert not found("easting").gives_both
    assert found("easting").used == frozenset()


def test_x_and_y_may_name_their_zone():
    columns = found("x (UTM 17N)", "y (UTM 17N)", longitude="x (UTM 17N)", latitude="y (UTM 17N)")
    assert columns.zone_in_name == "17N"


def test_zone_band_and_datum_have_columns_of_their_own():
    columns = found("easting", "northing", "UTM zone", "band", "geodeticDatum")
    assert (columns.zone, columns.band, columns.reference) == ("UTM zone", "band", "geodeticDatum")


def test_degrees_minutes_seconds_and_letter_in_columns_of_their_own():
    written = ("lat_deg", "lat_min", "lat_sec", "N/S", "lon deg", "lon min", "lon sec", "E/W")
    columns = found(*written, longitude="lon deg", latitude="lat_deg")
    assert columns.degrees == {"latitude": "lat_deg", "longitude": "lon deg"}
    assert columns.parts == {"latitude": written[1:4], "longitude": written[5:]}
    assert columns.used == set(written)


def test_degrees_without_minutes_are_decimal_degrees():
    assert found("lat_deg", "lon_deg", longitude="lon_deg", latitude="lat_deg").degrees == {}


def test_a_file_of_any_of_these_ways_is_known_as_crossings():
    for place in (["lat/lon"], ["easting", "northing", "zone"], ["lat_d", "lat_m", "lon_d", "lon_m"]):
        assert guess_kind(["date", "species", *place]) == "crossings"
    assert guess_kind(["date", "species", "easting"]) is None


def test_place_columns_are_not_kept_twice():
    plan = plan_columns(["date", "species", "lat/lon", "weather"], "crossings")
    assert (plan.place.pair, plan.other) == ("lat/lon", ("weather",))
    assert plan_columns(["location", "date", "search"], "searches").other == ("location",)


def test_a_column_of_another_field_is_not_taken_for_a_place():
    plan = plan_columns(["observed_at", "taxon", "lat", "lon", "lat/lon"], "crossings")
    assert (plan.of_field["latitude"], plan.of_field["longitude"], plan.place.pair) == ("lat", "lon", "lat/lon")


@given(st.lists(st.sampled_from(["lat", "lon", "lat_d", "lat_m", "x", "easting 17", "zone", "gps", "N/S", "ü", ""])))
def test_only_written_columns_are_used(written):
    assert find_place_columns(written, longitude=None, latitude=None).used <= set(written)
