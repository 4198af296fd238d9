"""Exif tags as Pillow writes them, read back; degrees from minutes and seconds by hand."""

import io
import math

import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational
from records.readers.photo_files import BASE, GPS, PLACE, jpeg

from roadwatch.records.readers.exif import NotAPhotoError, read_photo


def facts(**tags):
    return read_photo(io.BytesIO(jpeg(**tags)))


def test_place_time_and_camera_are_read():
    cells = facts().cells
    assert (cells["latitude"], cells["longitude"]) == ("29.6512", "-82.3725")
    assert cells["observed_at"] == "2025-05-12T07:40:01-04:00"
    assert cells["camera"] == "Acme Pocket 1"
    assert facts().doubts == []


def test_south_and_east_are_signed():
    cells = facts(gps={**PLACE, GPS.GPSLatitudeRef: "S", GPS.GPSLongitudeRef: "E"}).cells
    assert (cells["latitude"], cells["longitude"]) == ("-29.6512", "82.3725")


@pytest.mark.parametrize(
    ("written", "degrees"), [((29.5,), "29.5"), ((29, 30), "29.5"), ((29, 30.6, 0), "29.51"), ((0, 0, 36), "0.01")]
)
def test_degrees_are_read_with_and_without_minutes_and_seconds(written, degrees):
    assert facts(gps={**PLACE, GPS.GPSLatitude: tuple(map(float, written))}).cells["latitude"] == degrees


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({GPS.GPSLatitudeRef: None}, "does not say north or south"),
        ({GPS.GPSLongitudeRef: "X"}, "does not say north or south and east or west"),
        (
            {GPS.GPSLatitude: (0.0, 0.0, 0.0), GPS.GPSLongitude: (0.0, 0.0, 0.0)},
            "receivers write before they have a fix",
        ),
        ({GPS.GPSLatitude: (IFDRational(0, 0),) * 3}, "incomplete or no number"),
        ({GPS.GPSLatitude: None}, "incomplete or no number"),
        ({GPS.GPSLatitude: (29.0, 75.0, 0.0)}, "incomplete or no number"),
        ({GPS.GPSLatitude: (91.0, 0.0, 0.0)}, "beyond 90 or 180 degrees"),
    ],
)
def test_a_position_that_cannot_be_used_stays_blank_and_is_said(change, why):
    tags = {tag: value for tag, value in {**PLACE, **change}.items() if value is not None}
    found = facts(gps=tags)
    assert found.cells.get("latitude") is None
    assert found.cells.get("longitude") is None
    assert [(column, why in reason) for column, _, reason in found.doubts] == [("latitude", True)]


def test_a_photograph_without_position_says_so():
    assert "holds no place" in facts(gps={}).doubts[0][2]


def test_a_time_without_offset_is_the_cameras_own_clock():
    assert facts(camera={BASE.DateTimeOriginal: "2025:05:12 07:40:01"}).cells["observed_at"] == "2025-05-12T07:40:01"


def test_a_clock_that_was_never_set_is_no_time():
    found = facts(camera={BASE.DateTimeOriginal: "0000:00:00 00:00:00"})
    assert found.cells.get("observed_at") is None
    assert "clock was not set" in found.doubts[0][2]


def test_the_receivers_time_stands_in_and_is_said_to_be_utc():
    gps = {**PLACE, GPS.GPSDateStamp: "2025:05:12", GPS.GPSTimeStamp: (11.0, 40.0, 1.0)}
    found = facts(gps=gps, camera={BASE.UserComment: b""})
    assert found.cells["observed_at"] == "2025-05-12T11:40:01Z"
    assert "in UTC" in found.doubts[0][2]


def test_the_time_of_an_edit_is_not_when_it_was_taken():
    found = facts(camera={BASE.UserComment: b""}, top={BASE.DateTime: "2025:06:01 10:00:00"})
    assert found.cells.get("observed_at") is None
    assert "may be that of an edit" in found.doubts[0][2]


def test_direction_error_and_height_are_read():
    gps = {
        **PLACE,
        GPS.GPSImgDirection: 123.4,
        GPS.GPSImgDirectionRef: "M",
        GPS.GPSHPositioningError: 4.5,
        GPS.GPSAltitude: 3.0,
        GPS.GPSAltitudeRef: b"\x01",
    }
    found = facts(gps=gps)
    assert (found.cells["camera_direction_deg"], found.cells["position_error_m"]) == ("123.4", "4.5")
    assert found.cells["altitude_m"] == "-3"
    assert found.doubts == [("camera_direction_deg", "123.4", "the direction is from magnetic north")]


@pytest.mark.parametrize(
    ("written", "read"),
    [
        (b"ASCII\x00\x00\x00box turtle", "box turtle"),
        (b"UNICODE\x00" + "tortue boîte".encode("utf-16-le"), "tortue boîte"),
        (b"UNICODE\x00" + "box turtle".encode("utf-16-be"), "box turtle"),
        (bytes(8) + b"box turtle", "box turtle"),
        (b"", None),
    ],
)
def test_comments_are_read_in_their_character_code(written, read):
    assert facts(camera={BASE.UserComment: written}).cells["comment"] == read


def test_a_picture_without_tags_gives_blanks():
    stream = io.BytesIO()
    Image.new("L", (2, 2)).save(stream, "JPEG")
    found = read_photo(io.BytesIO(stream.getvalue()))
    assert not any(found.cells.values())


@pytest.mark.parametrize("body", [b"", b"hello", b"\xff\xd8\xff\xe0", jpeg()[:30]])
def test_what_is_no_jpeg_is_told(body):
    with pytest.raises(NotAPhotoError, match="cannot be read as a JPEG"):
        read_photo(io.BytesIO(body))


def test_another_picture_named_like_a_jpeg_is_told():
    stream = io.BytesIO()
    Image.new("L", (2, 2)).save(stream, "PNG")
    with pytest.raises(NotAPhotoError, match="cannot be read as a JPEG"):
        read_photo(io.BytesIO(stream.getvalue()))


def test_a_size_that_would_fill_the_memory_is_refused_without_unpacking():
    body = jpeg()
    frame = body.index(b"\xff\xc0")
    huge = body[: frame + 5] + b"\xff\xff\xff\xff" + body[frame + 9 :]
    with pytest.raises(NotAPhotoError, match="a size that no camera has"):
        read_photo(io.BytesIO(huge))


def test_no_number_is_ever_infinite_or_nan():
    gps = {**PLACE, GPS.GPSImgDirection: IFDRational(1, 0), GPS.GPSHPositioningError: IFDRational(0, 0)}
    cells = facts(gps=gps).cells
    assert cells.get("camera_direction_deg") is None
    assert cells["position_error_m"] is None
    assert math.isfinite(float(cells["latitude"]))
