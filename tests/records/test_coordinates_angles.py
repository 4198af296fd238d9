import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.records.complaints import Misread
from roadwatch.records.coordinates_angles import Angle, read_angle, read_pair

# Worked by hand: 31 + 42/60 = 31.7; 81 + 54/60 = 81.9; 31 + 42/60 + 30/3600 = 31.70833...; 81 + 54/60 + 20/3600 =
# 81.90555...
NORTH, WEST = 31.7, -81.9


@pytest.mark.parametrize(
    "text",
    [
        *("31.7", "+31.7", " 31.7 ", "31.7°", "31.7 deg", "31.70000", "31,7", "31 42", "31 42.0", "31:42:00"),
        *("31°42'", "31° 42′ 00″", "31º42’00”", "31˚42`00''", "31d42m00s", "31d 42m", "31deg 42min 0sec", "31-42-00"),
    ],
)
def test_one_angle_in_its_written_forms_without_a_letter(text):
    assert read_angle(text) == Angle(NORTH)


@pytest.mark.parametrize(
    "text",
    [
        *("31.7 N", "N31.7", "N 31.7", "31.7n", "31.7° N", "31.7 north", "North 31.7", "lat 31.7", "Lat: 31.7 N"),
        *("31 42.0 N", "N31 42.0", "N 31° 42.000'", "31°42'00\"N", "31-42-00 N", "314200N", "latitude=31.7"),
    ],
)
def test_one_latitude_in_its_written_forms(text):
    assert read_angle(text) == Angle(NORTH, "latitude")


@pytest.mark.parametrize(
    "text",
    [
        *("81.9 W", "W81.9", "81.9 west", "Western 81.9", "-81.9 W", "−81.9 W", "81 54.0 W", "W 81 54.0"),
        *("81°54’00″W", "0815400W", "lon -81.9", "lng: -81.9", "long. 81.9 W", "81d54m00s W", "W081-54-00"),
    ],
)
def test_one_longitude_in_its_written_forms(text):
    assert read_angle(text) == Angle(WEST, "longitude")


@pytest.mark.parametrize("text", ["-81.9", "−81.9", "–81.9", "- 81.9", "-81 54", "-81 54 00", "-81°54'"])
def test_a_minus_sign_reaches_the_minutes(text):
    assert read_angle(text) == Angle(WEST)


def test_seconds_and_the_south_are_told_apart():
    assert read_angle("31 42 30 S") == Angle(-31.708333333333, "latitude")
    assert read_angle("31d42m30s") == Angle(31.708333333333)
    assert read_angle("31d42m30s S") == Angle(-31.708333333333, "latitude")


def test_half_a_degree_south_of_the_equator_keeps_its_sign():
    assert read_angle("-0 30").degrees == -0.5
    assert read_angle("0 30 S").degrees == -0.5


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("31 60", "has minutes or seconds of 60 or more"),
        ("31 42 75", "has minutes or seconds of 60 or more"),
        ("31.5 42", "has a fraction before its last part"),
        ("31 42.5 30", "has a fraction before its last part"),
        ("-31.7 N", "says two things at once"),
        ("-81.9 E", "says two things at once"),
        ("N 31.7 S", "says two things at once"),
        ("lat 81.9 W", "says two things at once"),
        *((text, "is not a coordinate") for text in ("", "N", "by the oak", "nan", "inf", "1e3", "31.7.2", "31,7,2")),
        ("31 42 30 12", "is not a coordinate"),
        ("31° N 42'", "is not a coordinate"),
    ],
)
def test_what_is_no_angle_is_told_with_its_reason(text, reason):
    answer = read_angle(text)
    assert isinstance(answer, Misread)
    assert answer.reason.startswith(reason)
    assert "write" in answer.reason


@pytest.mark.parametrize(
    "text",
    [
        *("31.7, -81.9", "31.7,-81.9", "31.7 -81.9", "31.7; -81.9", "31.7/-81.9", "31.7 | -81.9", "(31.7, -81.9)"),
        *("31,7; -81,9", "31,7 -81,9", "31,7,-81,9", "31,7, -81,9", "31 42.0 N 81 54.0 W", "N31 42.0 W81 54.0"),
        *("81.9W, 31.7N", "W81.9 N31.7", "31.7N81.9W", "31°42'00\"N 81°54'00\"W", "31°42’00”N, 81°54’00”W"),
        *("31-42-00 N 81-54-00 W", "314200N 0815400W", "lat 31.7 lon -81.9", "lon -81.9, lat 31.7", "geo:31.7,-81.9"),
        *("+31.7-081.9/", "POINT (-81.9 31.7)", "POINT(-81.9 31.7)", "31.7 north, 81.9 west", "[31.7, -81.9]"),
        *("31.7 -81.9 12.0 4.5", "31.7,-81.9,12", "31.7° N, 81.9° W", "latitude: 31.7, longitude: -81.9"),
    ],
)
def test_one_place_in_one_cell_in_its_written_forms(text):
    assert read_pair(text) == (WEST, NORTH)


def test_the_column_may_say_that_longitude_comes_first_and_letters_say_it_better():
    assert read_pair("-81.9, 31.7", longitude_first=True) == (WEST, NORTH)
    assert read_pair("31.7 N, 81.9 W", longitude_first=True) == (WEST, NORTH)
    assert read_pair("-81.9, 31.7") == (NORTH, WEST)  # latitude first without a word: swapped, and told by the area


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("31 42 54", "can be read as more than one place"),
        ("31.7", "is not a place that can be read"),
        ("31.7 N, 32.1 N", "is not a place that can be read"),
        ("County Road 12", "is not a place that can be read"),
        ("", "is not a place that can be read"),
        ("1 " * 100, "is too long for a place"),
    ],
)
def test_what_is_no_place_is_told_with_its_reason(text, reason):
    answer = read_pair(text)
    assert isinstance(answer, Misread)
    assert answer.reason.startswith(reason)


def parts_of(value):
    """Degrees, minutes and seconds of an angle in whole tenths of a second, as text."""
    tenths = round(abs(value) * 36_000)
    return tenths // 36_000, tenths // 600 % 60, tenths % 600 / 10


@given(st.floats(-89.9, 89.9), st.floats(-179.9, 179.9))
def test_what_is_written_in_degrees_minutes_and_seconds_is_read_back(latitude, longitude):
    lat, lon = parts_of(latitude), parts_of(longitude)
    text = (
        f"{lat[0]}° {lat[1]}' {lat[2]:.1f}\" {'S' if latitude < 0 else 'N'} "
        f"{lon[0]}° {lon[1]}' {lon[2]:.1f}\" {'W' if longitude < 0 else 'E'}"
    )
    x, y = read_pair(text)
    assert math.isclose(x, longitude, abs_tol=0.51 / 36_000)
    assert math.isclose(y, latitude, abs_tol=0.51 / 36_000)


@given(st.floats(-90, 90), st.floats(-180, 180), st.sampled_from([", ", ";", " ", "/", ","]))
def test_decimal_degrees_are_read_back(latitude, longitude, between):
    assert read_pair(f"{latitude:.6f}{between}{longitude:.6f}") == (float(f"{longitude:.6f}"), float(f"{latitude:.6f}"))


@given(st.text() | st.text("0123456789.,-+ °'\"NSEWnsew:/dms", max_size=40))
def test_any_text_is_an_angle_or_a_misreading_and_so_is_a_pair(text):
    angle, pair = read_angle(text), read_pair(text)
    assert isinstance(angle, Misread) or math.isfinite(angle.degrees)
    assert isinstance(pair, Misread) or (math.isfinite(pair[0]) and math.isfinite(pair[1]))
