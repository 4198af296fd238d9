"""Photographs written with Pillow, whose Exif writer is independent of ours; places are invented."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

from PIL import ExifTags, Image

if TYPE_CHECKING:
    from collections.abc import Mapping

GPS, BASE = ExifTags.GPS, ExifTags.Base

PLACE = {
    GPS.GPSLatitudeRef: "N",
    GPS.GPSLatitude: (29.0, 39.0, 4.32),
    GPS.GPSLongitudeRef: "W",
    GPS.GPSLongitude: (82.0, 22.0, 21.0),
}
"""29 + 39/60 + 4.32/3600 = 29.6512 north; 82 + 22/60 + 21/3600 = 82.3725 west, by hand."""
TIME = {BASE.DateTimeOriginal: "2025:05:12 07:40:01", BASE.OffsetTimeOriginal: "-04:00"}


def jpeg(
    *,
    gps: Mapping[int, object] | None = None,
    camera: Mapping[int, object] | None = None,
    top: Mapping[int, object] | None = None,
) -> bytes:
    """A JPEG of 8 by 8 pixels with Exif tags; place and time as above where none are given."""
    exif = Image.Exif()
    exif.update(top or {BASE.Make: "Acme", BASE.Model: "Pocket 1"})
    exif.get_ifd(ExifTags.IFD.GPSInfo).update(PLACE if gps is None else gps)
    exif.get_ifd(ExifTags.IFD.Exif).update(TIME if camera is None else camera)
    stream = io.BytesIO()
    Image.new("RGB", (8, 8), "green").save(stream, "JPEG", exif=exif)
    return stream.getvalue()
