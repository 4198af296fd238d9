"""Files that keep the form of their format and say odd things in it: changed cells, members, elements and layers."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
import xml.etree.ElementTree as ET
from contextlib import suppress
from typing import TYPE_CHECKING

from records.readers.fuzz_binary import changed_fixed_width, changed_geopackage, changed_jpeg, changed_numbers
from records.readers.fuzz_values import COLUMNS, NUMBERS, PLACES, TIMES, VALUES, one_of

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np

MOST_CHANGES = 5
ENCODINGS = (*("utf-8",) * 6, "utf-8-sig", "utf-16", "utf-16-le", "cp1252", "latin-1")


def changed_structure(body: bytes, rng: np.random.Generator) -> bytes:
    """A file of the same format with other content; as it is where its own form is already broken."""
    change = next((change for beginning, change in _CHANGES.items() if body.startswith(beginning)), changed_table)
    with suppress(ValueError, LookupError, RecursionError, ET.ParseError, sqlite3.Error, csv.Error):
        return change(body, rng)
    return body


def changed_table(body: bytes, rng: np.random.Generator) -> bytes:
    """A table of text: other cells, columns, rows, separator, line ends or encoding; one in four is grown anew."""
    text = body.decode("utf-8", errors="replace")
    rows = list(csv.reader(io.StringIO(text, newline=""))) if rng.random() < 0.75 else grown_rows(rng)
    for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
        if rows:
            _TABLE_CHANGES[int(rng.integers(len(_TABLE_CHANGES)))](rows, rng)
    end, separator = one_of(("\n", "\r\n", "\n", "\r"), rng), one_of(",,,;\t|", rng)
    stream = io.StringIO()
    csv.writer(stream, delimiter=separator, lineterminator=end, quoting=csv.QUOTE_MINIMAL).writerows(rows)
    return stream.getvalue().encode(one_of(ENCODINGS, rng), errors="replace")


def grown_rows(rng: np.random.Generator) -> list[list[str]]:
    """A header of known columns, and rows that fit them more or less."""
    header = [one_of(COLUMNS, rng) for _ in range(int(rng.integers(1, 9)))]
    kinds = [one_of(("number", "time", "place", "any"), rng) for _ in header]
    pools = {"number": NUMBERS, "time": TIMES, "place": PLACES, "any": VALUES}
    return [header, *([one_of(pools[kind], rng) for kind in kinds] for _ in range(int(rng.integers(0, 30))))]


def _set_cell(rows: list[list[str]], rng: np.random.Generator) -> None:
    row = rows[int(rng.integers(len(rows)))]
    if row:
        row[int(rng.integers(len(row)))] = one_of(VALUES, rng)


def _set_column(rows: list[list[str]], rng: np.random.Generator) -> None:
    """Every cell of a column alike, or each another."""
    at, is_alike, alike = int(rng.integers(max(map(len, rows)) or 1)), rng.random() < 0.5, one_of(VALUES, rng)
    for row in rows[1:]:
        if at < len(row):
            row[at] = alike if is_alike else one_of(VALUES, rng)


def _name_column(rows: list[list[str]], rng: np.random.Generator) -> None:
    if rows[0]:
        rows[0][int(rng.integers(len(rows[0])))] = one_of(COLUMNS, rng)


def _add_column(rows: list[list[str]], rng: np.random.Generator) -> None:
    rows[0].append(one_of(COLUMNS, rng))
    for row in rows[1:]:
        row.append(one_of(VALUES, rng))


def _move_row(rows: list[list[str]], rng: np.random.Generator) -> None:
    rows.insert(int(rng.integers(len(rows))), rows.pop(int(rng.integers(len(rows)))))


def _repeat_rows(rows: list[list[str]], rng: np.random.Generator) -> None:
    row = rows[int(rng.integers(len(rows)))]
    rows.extend(list(row) for _ in range(int(rng.geometric(0.1))))


def _drop_cell(rows: list[list[str]], rng: np.random.Generator) -> None:
    row = rows[int(rng.integers(len(rows)))]
    if row:
        del row[int(rng.integers(len(row)))]


def _drop_row(rows: list[list[str]], rng: np.random.Generator) -> None:
    del rows[int(rng.integers(len(rows)))]


_TABLE_CHANGES: tuple[Callable[[list[list[str]], np.random.Generator], None], ...] = (
    *(_set_cell, _set_cell, _set_cell, _set_column, _name_column, _add_column),
    *(_move_row, _repeat_rows, _drop_cell, _drop_row),
)


def changed_json(body: bytes, rng: np.random.Generator) -> bytes:
    """GeoJSON with other members, coordinates, properties and nesting."""
    document = json.loads(body)
    for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
        places = list(_places(document))
        holder, key = places[int(rng.integers(len(places)))]
        if rng.random() < 0.2:
            del holder[key]
        elif rng.random() < 0.2 and isinstance(holder, list):
            holder[key:key] = [holder[key]] * int(rng.geometric(0.1))
        else:
            holder[key] = _json_value(rng)
    return json.dumps(document, ensure_ascii=bool(rng.integers(2))).encode("utf-8", errors="replace")


def _places(node: object) -> object:
    """Every holder with each of its keys; the outermost holder keeps its type."""
    waiting = [node]
    while waiting:
        holder = waiting.pop()
        keys = list(holder) if isinstance(holder, dict) else range(len(holder))
        for key in keys:
            yield holder, key
            if isinstance(holder[key], dict | list):
                waiting.append(holder[key])


def _json_value(rng: np.random.Generator) -> object:
    shapes = ("Point", "LineString", "Polygon", "MultiPoint", "MultiPolygon", "GeometryCollection", "Feature")
    grown: tuple[object, ...] = (
        *(
            None,
            True,
            0,
            -1,
            1e308,
            float("nan"),
            float("-inf"),
            10**30,
            [],
            {},
            [[]],
            [[[0, 0], [1, 0], [1, 1], [0, 0]]],
        ),
        *({"type": one_of(shapes, rng), "coordinates": [1, 2]}, {"type": "name", "properties": {"name": "EPSG:26917"}}),
        *({"type": "GeometryCollection", "geometries": [{"type": "Point", "coordinates": [float(rng.random()), 2]}]},),
        *(
            [[float(x), float(y)] for x, y in rng.normal(size=(4, 2)) * 100],
            [1, 2, 3, 4, 5],
            ["1", "2"],
            one_of(shapes, rng),
        ),
    )
    return grown[int(rng.integers(len(grown)))] if rng.random() < 0.6 else one_of(VALUES, rng)


def changed_xml(body: bytes, rng: np.random.Generator) -> bytes:
    """XML with other texts, attributes and elements, repeated, moved, nested or left out."""
    root = ET.fromstring(body)  # a file of our own
    for _ in range(int(rng.integers(1, MOST_CHANGES + 1))):
        elements = list(root.iter())
        one, other = (elements[int(rng.integers(len(elements)))] for _ in range(2))
        _XML_CHANGES[int(rng.integers(len(_XML_CHANGES)))](one, other, rng)
        if len(elements) > 3000:
            break
    return b'<?xml version="1.0" encoding="UTF-8"?>' + ET.tostring(root, encoding="utf-8")


def _set_text(one: ET.Element, _: ET.Element, rng: np.random.Generator) -> None:
    one.text = _xml_text(rng)


def _set_attribute(one: ET.Element, other: ET.Element, rng: np.random.Generator) -> None:
    names = [*one.attrib, *other.attrib, "lat", "name", "r", "t"]
    one.set(one_of(names, rng), _xml_text(rng))


def _drop_attribute(one: ET.Element, _: ET.Element, rng: np.random.Generator) -> None:
    if one.attrib:
        del one.attrib[one_of(sorted(one.attrib), rng)]


def _drop_child(one: ET.Element, _: ET.Element, rng: np.random.Generator) -> None:
    if len(one):
        del one[int(rng.integers(len(one)))]


def _copy_in(one: ET.Element, other: ET.Element, rng: np.random.Generator) -> None:
    copy = ET.fromstring(ET.tostring(other))  # a file of our own
    for _ in range(int(rng.geometric(0.2))):
        one.insert(int(rng.integers(len(one) + 1)), copy)


def _nest(one: ET.Element, other: ET.Element, rng: np.random.Generator) -> None:
    inner = one
    for _ in range(int(rng.geometric(0.01))):
        inner = ET.SubElement(inner, other.tag)


def _rename(one: ET.Element, other: ET.Element, _: np.random.Generator) -> None:
    one.tag = other.tag


def _xml_text(rng: np.random.Generator) -> str:
    """A value without the signs that no XML may hold."""
    return "".join(sign for sign in one_of(VALUES, rng) if sign >= " " or sign in "\t\n")


_XML_CHANGES: tuple[Callable[[ET.Element, ET.Element, np.random.Generator], None], ...] = (
    *(_set_text, _set_text, _set_text, _set_attribute, _drop_attribute, _drop_child, _copy_in, _nest, _rename),
)


_CHANGES: dict[bytes, Callable[[bytes, np.random.Generator], bytes]] = {
    b"{": changed_json,
    b"<": changed_xml,
    b"SQLite": changed_geopackage,
    b"\xff\xd8": changed_jpeg,
    b"XXC": changed_fixed_width,
    b"\x00\x00\x27\x0a": changed_numbers,
    b"\x03": changed_numbers,
}
