"""Databases, photographs, shapefiles and fixed-width lines that keep their form and hold odd things."""

from __future__ import annotations

import sqlite3
import struct
from contextlib import closing, suppress
from typing import TYPE_CHECKING

from PIL import ExifTags
from records.readers.fuzz_values import VALUES, one_of
from records.readers.photo_files import PLACE, TIME, jpeg

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np

MOST_CHANGES = 5


def changed_geopackage(body: bytes, rng: np.random.Generator) -> bytes:
    """A GeoPackage with other rows, names, types, systems, views and triggers."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as database:
        database.deserialize(body)
        for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
            with suppress(sqlite3.Error):
                _change_database(database, rng)
        return database.serialize()


def _change_database(database: sqlite3.Connection, rng: np.random.Generator) -> None:
    tables = [name for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    table = one_of(tables, rng)
    columns = [row[1] for row in database.execute(f'PRAGMA table_info("{table}")')]
    column, value = one_of(columns, rng), _sql_value(rng)
    statements = (
        *(f'UPDATE "{table}" SET "{column}" = ?',) * 4,
        *(f'UPDATE "{table}" SET "{column}" = ? WHERE rowid = 1',) * 4,
        *(f'DELETE FROM "{table}" WHERE ? IS NOT NULL', f'ALTER TABLE "{table}" RENAME TO "odd {len(tables)}"'),
        *(f'ALTER TABLE "{table}" DROP COLUMN "{column}"', f'ALTER TABLE "{table}" ADD COLUMN "odd" BLOB'),
        *(f'DROP TABLE "{table}"', f'CREATE VIEW "odd {len(tables)}" AS SELECT * FROM "{table}"'),
        f'INSERT INTO "{table}" SELECT * FROM "{table}"',
    )
    statement = one_of(statements, rng)
    database.execute(statement, (value,) if "?" in statement else ())


def _sql_value(rng: np.random.Generator) -> object:
    values: tuple[object, ...] = (
        None,
        0,
        -1,
        2**62,
        1.5,
        b"",
        b"GP\x00\x01",
        b"GP\x00\x01\xe6\x10\x00\x00" + b"\x01" * 20,
    )
    if rng.random() < 0.3:
        return rng.bytes(int(rng.integers(60)))
    return values[int(rng.integers(len(values)))] if rng.random() < 0.5 else one_of(VALUES, rng)


def changed_jpeg(_: bytes, rng: np.random.Generator) -> bytes:
    """A photograph whose tags hold other values of other types."""
    camera = {**TIME, int(ExifTags.Base.UserComment): rng.bytes(int(rng.integers(30)))}
    top = {ExifTags.Base.Make: "Acme", ExifTags.Base.ImageDescription: one_of(VALUES, rng)}
    with suppress(Exception):  # what the writer refuses
        return jpeg(gps=_odd_tags({**PLACE, **_MORE_GPS}, rng), camera=_odd_tags(camera, rng), top=_odd_tags(top, rng))
    return jpeg(gps=_odd_tags(PLACE, rng, share=0.0))


_MORE_GPS: Mapping[int, object] = {
    ExifTags.GPS.GPSAltitude: 24.1,
    ExifTags.GPS.GPSAltitudeRef: b"\x00",
    ExifTags.GPS.GPSImgDirection: 12.5,
    ExifTags.GPS.GPSImgDirectionRef: "T",
    ExifTags.GPS.GPSTimeStamp: (11.0, 40.0, 1.0),
    ExifTags.GPS.GPSDateStamp: "2025:05:12",
}


def _odd_tags(tags: Mapping[int, object], rng: np.random.Generator, *, share: float = 0.3) -> dict[int, object]:
    odd: tuple[object, ...] = (
        *(
            0.0,
            1e9,
            90.0,
            (1.0,),
            (91.0, 0.0, 0.0),
            (29.0, 61.0, 0.0),
            (1.0, 2.0, 3.0, 4.0),
            b"",
            b"N\x00",
            "S",
            "x",
            "",
        ),
        *(rng.bytes(8), one_of(VALUES, rng), int(rng.integers(2**31)), 65535),
    )
    return {
        tag: odd[int(rng.integers(len(odd)))] if rng.random() < share else value
        for tag, value in tags.items()
        if rng.random() > share / 4
    }


def changed_fixed_width(body: bytes, rng: np.random.Generator) -> bytes:
    """Lines of the daily archive with other values, flags, elements and months, repeated or left out."""
    lines = body.decode().splitlines()
    values = ("-9999", "99999", "  311", "    0", "     ", "-  31", "٣١١  ", "1e3  ", "  X  ", "+0031", "3.1  ")
    for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
        at, place = int(rng.integers(len(lines))), 21 + 8 * int(rng.integers(31))
        line = lines[at]
        lines[at] = (
            *(line[:place] + one_of(values, rng) + line[place + 5 :],) * 3,
            line[: place + 6] + one_of("XGIZ ", rng) + line[place + 7 :],
            line[:11] + one_of(("000002", "201002", "202402", "999912", "١٢٣٤01"), rng) + line[17:],
            line[:17] + one_of(("TMIN", "TMAX", "PRCP", "WT01", "tmin"), rng) + line[21:],
            one_of(VALUES, rng) + line,
            line[:place],
        )[int(rng.integers(8))]
        lines.insert(int(rng.integers(len(lines))), lines[int(rng.integers(len(lines)))])
    return "\n".join(lines).encode("utf-8", errors="replace")


def changed_numbers(body: bytes, rng: np.random.Generator) -> bytes:
    """A file of binary numbers, such as the parts of a shapefile, with other ones in their places."""
    numbers = (*(0, 1, 2, 3, 5, 8, 15, 31, 255, 65535, 2**31 - 1, 2**31, 2**32 - 1, len(body), len(body) // 2),)
    changed = bytearray(body)
    for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
        at = 4 * int(rng.integers(len(body) // 4 + 1))
        if rng.random() < 0.3:
            piece = struct.pack("<d", (0.0, 1e308, float("nan"), float("inf"), -1e-300, 5e5)[int(rng.integers(6))])
        else:
            order = "little" if rng.random() < 0.5 else "big"
            piece = numbers[int(rng.integers(len(numbers)))].to_bytes(4, order)
        changed[at : at + len(piece)] = piece
    return bytes(changed)
