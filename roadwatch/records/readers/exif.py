"""What a photograph tells of its place and time, by the tags that cameras write (Exif 3.0, CIPA DC-008)."""

from __future__ import annotations

import math
import re
import warnings
from dataclasses import dataclass, field
from typing import IO, TYPE_CHECKING

from PIL import ExifTags, Image, UnidentifiedImageError

from roadwatch.records.readers.numbers import number_text

if TYPE_CHECKING:
    from collections.abc import Mapping

GPS, BASE = ExifTags.GPS, ExifTags.Base
COLUMNS = (
    "photo",
    "observed_at",
    "longitude",
    "latitude",
    "position_error_m",
    "taxon",
    "camera_direction_deg",
    "altitude_m",
    "camera",
    "caption",
    "comment",
)
"""Columns of a table of photographs; ``camera_direction_deg`` is where the camera looked, not where the animal went."""

_BROKEN_IMAGE = (
    *(UnidentifiedImageError, Image.DecompressionBombError, OSError, SyntaxError, ValueError, TypeError),
    *(ArithmeticError, LookupError, AttributeError, EOFError, NotImplementedError, RuntimeError, MemoryError),
)
_WRITTEN_TIME = re.compile(r"(\d{4})[:\-/.](\d{2})[:\-/.](\d{2})[ T](\d{2}):(\d{2})(?::(\d{2}))?")
_OFFSET = re.compile(r"(Z|[+-]\d{2}:?\d{2})")
_LONGEST_TEXT = 2_000
_DECIMALS = 7
"""About 1 cm, finer than any receiver."""


@dataclass
class PhotoFacts:
    """Cells by column, and what could not be used: column to what was found and why."""

    cells: dict[str, str | None] = field(default_factory=dict)
    doubts: list[tuple[str, str, str]] = field(default_factory=list)

    def doubt(self, column: str, found: object, why: str) -> None:
        """Say why a value stays blank."""
        self.doubts.append((column, str(found)[:60], why))


class NotAPhotoError(Exception):
    """The file is no JPEG that can be read; the message says why."""


def read_photo(stream: IO[bytes]) -> PhotoFacts:
    """
    Read the Exif tags of a JPEG without unpacking its picture.

    Raises
    ------
    NotAPhotoError
        The file is damaged, is no JPEG, or states a size that no camera has.

    Source
    ------
    exif3
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd tags and of large pictures, which are not unpacked
            with Image.open(stream, formats=("JPEG", "MPO")) as image:
                exif = image.getexif()
                camera, gps = dict(exif.get_ifd(ExifTags.IFD.Exif)), dict(exif.get_ifd(ExifTags.IFD.GPSInfo))
                return _facts(dict(exif), camera, gps)
    except Image.DecompressionBombError as error:
        raise NotAPhotoError(
            "states a size that no camera has; send a smaller copy that keeps place and time"
        ) from error
    except _BROKEN_IMAGE as error:
        raise NotAPhotoError("cannot be read as a JPEG; copy it from the camera again") from error


def _facts(top: Mapping[int, object], camera: Mapping[int, object], gps: Mapping[int, object]) -> PhotoFacts:
    facts = PhotoFacts()
    _take_time(facts, top, camera, gps)
    _take_place(facts, gps)
    for column, tag in (("position_error_m", GPS.GPSHPositioningError), ("altitude_m", GPS.GPSAltitude)):
        value = _number(gps.get(tag))
        below = column == "altitude_m" and _byte(gps.get(GPS.GPSAltitudeRef)) == 1
        facts.cells[column] = number_text(round(-value if below else value, 2))
    _take_direction(facts, gps)
    make, model = _text(top.get(BASE.Make)) or "", _text(top.get(BASE.Model)) or ""
    facts.cells["camera"] = (model if model.startswith(make) else f"{make} {model}").strip() or None
    facts.cells["caption"] = _text(top.get(BASE.ImageDescription))
    facts.cells["comment"] = _comment(camera.get(BASE.UserComment))
    return facts


def _take_time(
    facts: PhotoFacts, top: Mapping[int, object], camera: Mapping[int, object], gps: Mapping[int, object]
) -> None:
    """When the picture was taken, with its offset where one is written; else the receiver's time, which is UTC."""
    written = _text(camera.get(BASE.DateTimeOriginal)) or _text(camera.get(BASE.DateTimeDigitized))
    if written:
        found = _WRITTEN_TIME.match(written)
        offset = _OFFSET.fullmatch(_text(camera.get(BASE.OffsetTimeOriginal)) or "")
        if found and found[1] != "0000":
            year, month, day, hour, minute, second = found.groups(default="00")
            zone = offset[1] if offset else ""
            facts.cells["observed_at"] = f"{year}-{month}-{day}T{hour}:{minute}:{second}{zone}"
            return
        facts.doubt("observed_at", written, "the camera's clock was not set; write when the picture was taken")
    stamp = _receiver_time(gps)
    if stamp:
        facts.cells["observed_at"] = stamp
        facts.doubt("observed_at", stamp, "the time is the receiver's, in UTC, because the camera wrote none")
    elif not written and _text(top.get(BASE.DateTime)):
        why = "only the time of the last change is written, which may be that of an edit; write when it was taken"
        facts.doubt("observed_at", _text(top.get(BASE.DateTime)), why)


def _receiver_time(gps: Mapping[int, object]) -> str | None:
    day = re.fullmatch(r"(\d{4})[:\-](\d{2})[:\-](\d{2})", _text(gps.get(GPS.GPSDateStamp)) or "")
    clock = [_number(part) for part in _parts(gps.get(GPS.GPSTimeStamp))]
    if not day or len(clock) != 3 or not all(0 <= part < 61 for part in clock):
        return None
    hour, minute, second = (int(part) for part in clock)
    return f"{day[1]}-{day[2]}-{day[3]}T{hour:02d}:{minute:02d}:{second:02d}Z"


def _take_place(facts: PhotoFacts, gps: Mapping[int, object]) -> None:
    """Degrees, minutes and seconds with their hemisphere; both coordinates or none."""
    written = [gps.get(tag) for tag in (GPS.GPSLatitude, GPS.GPSLongitude)]
    if all(value is None for value in written):
        why = "the photograph holds no place; switch on location in the camera, or write longitude and latitude"
        facts.doubt("latitude", "no position", why)
        return
    refs = [(_text(gps.get(tag)) or "").upper()[:1] for tag in (GPS.GPSLatitudeRef, GPS.GPSLongitudeRef)]
    latitude, longitude = (_degrees(value) for value in written)
    fault = _fault_of_place(latitude, longitude, refs)
    if fault:
        facts.doubt("latitude", f"{_shown(written[0])} {refs[0]}, {_shown(written[1])} {refs[1]}", fault)
        return
    facts.cells["latitude"] = number_text(round(-latitude if refs[0] == "S" else latitude, _DECIMALS))
    facts.cells["longitude"] = number_text(round(-longitude if refs[1] == "W" else longitude, _DECIMALS))


def _fault_of_place(latitude: float, longitude: float, refs: list[str]) -> str | None:
    if math.isnan(latitude) or math.isnan(longitude):
        return "the position is incomplete or no number; write longitude and latitude"
    if latitude == 0 and longitude == 0:
        return "the position is 0, 0, which receivers write before they have a fix; write longitude and latitude"
    if refs[0] not in ("N", "S") or refs[1] not in ("E", "W"):
        return "the position does not say north or south and east or west; write longitude and latitude"
    if latitude > 90 or longitude > 180:
        return "the position lies beyond 90 or 180 degrees; write longitude and latitude"
    return None


def _take_direction(facts: PhotoFacts, gps: Mapping[int, object]) -> None:
    direction = _number(gps.get(GPS.GPSImgDirection))
    if not 0 <= direction <= 360:
        return
    facts.cells["camera_direction_deg"] = number_text(round(direction, 2))
    if (_text(gps.get(GPS.GPSImgDirectionRef)) or "").upper() == "M":
        facts.doubt("camera_direction_deg", f"{direction:g}", "the direction is from magnetic north")


def _degrees(value: object) -> float:
    """Degrees from up to three rationals; nan where one is missing, negative or no number."""
    numbers = [_number(part) for part in _parts(value)]
    if not 1 <= len(numbers) <= 3 or not all(part >= 0 for part in numbers) or any(part >= 60 for part in numbers[1:]):
        return math.nan
    return math.fsum(part / 60.0**at for at, part in enumerate(numbers))


def _parts(value: object) -> tuple[object, ...]:
    return tuple(value) if isinstance(value, tuple | list) else () if value is None else (value,)


def _number(value: object) -> float:
    """A rational or number; nan for a fraction over nought, and for anything else."""
    try:
        number = float(value)  # type: ignore[arg-type]  # told by the exception
    except (TypeError, ValueError, ArithmeticError):
        return math.nan
    return number if math.isfinite(number) else math.nan


def _byte(value: object) -> int:
    """A flag, which files hold as a number or as one byte."""
    if isinstance(value, bytes) and value:
        return int(value[0])
    return value if isinstance(value, int) else 0


def _text(value: object) -> str | None:
    if isinstance(value, bytes):
        value = value.decode("utf-8", errors="replace")
    if not isinstance(value, str):
        return None
    return value.replace("\x00", "").strip()[:_LONGEST_TEXT] or None


def _comment(value: object) -> str | None:
    """A comment begins with eight bytes that name its character code (Exif 3.0, 4.6.6.2.2)."""
    if not isinstance(value, bytes):
        return _text(value)
    code, body = value[:8], value[8:]
    if code == b"UNICODE\x00":
        encoding = "utf-16-be" if body[:1] == b"\x00" else "utf-16-le"
        return _text(body.decode(encoding, errors="replace"))
    return _text(body if code in (b"ASCII\x00\x00\x00", bytes(8)) else value)


def _shown(value: object) -> str:
    return " ".join(f"{_number(part):g}" for part in _parts(value)) or "nothing"
