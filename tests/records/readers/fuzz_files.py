"""Sound files of every format to be damaged, and the damage; all records in them are invented."""

from __future__ import annotations

import io
import json
import zipfile
from typing import TYPE_CHECKING

from records.readers.fuzz_structure import changed_structure
from records.readers.layer_files import roads, save, sightings, zipped
from records.readers.photo_files import jpeg
from records.readers.sheet_files import ods, xlsx
from records.readers.weather_files import autumn_logger, clemson, dly_2010

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np

KML = """<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"><Document><name>Walk</name>
<Placemark><name>001</name><description><![CDATA[<b>box turtle</b><br/>dead &amp; dry]]></description>
<TimeStamp><when>2025-05-12T11:40:00Z</when></TimeStamp>
<ExtendedData><Data name="observer"><value>A</value></Data>
<SchemaData schemaUrl="#s"><SimpleData name="count">2</SimpleData></SchemaData></ExtendedData>
<Point><coordinates>-82.3725,29.6512,24.1</coordinates></Point></Placemark>
<Folder><name>Walks</name><Placemark><name>North verge</name><LineString><coordinates>-82.37,29.65 -82.38,29.66
</coordinates></LineString></Placemark>
<Placemark><name>Track</name><gx:Track><when>2025-05-12T11:00:00Z</when><when>2025-05-12T11:30:00Z</when>
<gx:coord>-82.37 29.65 0</gx:coord><gx:coord>-82.38 29.66 0</gx:coord></gx:Track></Placemark>
<Folder><name>Pond</name><Placemark><Polygon><outerBoundaryIs><LinearRing><coordinates>0,0 1,0 1,1 0,0</coordinates>
</LinearRing></outerBoundaryIs></Polygon></Placemark></Folder></Folder></Document></kml>
"""
GPX = """<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
<wpt lat="29.6512" lon="-82.3725"><ele>24.1</ele><time>2025-05-12T11:40:00Z</time><name>001</name>
<cmt>box turtle dead</cmt><desc>fresh &amp; flat</desc><sym>Flag</sym></wpt>
<trk><name>Monday</name><type>foot</type><trkseg>
<trkpt lat="29.65" lon="-82.37"><time>2025-05-12T11:00:00Z</time></trkpt>
<trkpt lat="29.66" lon="-82.38"><time>2025-05-12T11:30:00Z</time></trkpt></trkseg></trk></gpx>
"""
CSV = """observed_at,longitude,latitude,taxon,count,notes
2025-05-12T07:40,-82.3725,29.6512,box turtle,1,"near the culvert, wet"
2025-05-13,-82.38,29.66,slider?,2,
05/14/2025,"-82,39","29,67",cooter sp.,,"said ""maybe""
two lines"
"""
TOKENS = (
    *(b'"', b",", b";", b"\t", b"\r", b"\n", b"\x00", b"\xff", b"\x1a", b"&", b"<", b">", b"/>", b"]]>", b"<!--"),
    *(b"<!DOCTYPE a [", b"&#x0;", b"<![CDATA[", b"{", b"}", b"[", b"]", b":", b"null", b"NaN", b"1e999", b"-0", b"  "),
    *(b"99999999999", b"-1", b"0", b"2025-02-30", b"\xe2\x80\x8f", b"'", b"=1+1", b"%s", b"../", b"\\", b"\x7f" * 9),
    *(b'"9999999"', b'r="A1048577"', b"Point", b"MultiGeometry", b"coordinates", b'"type"', b"date", b"tmin", b"-9999"),
)


def sound_files(folder: Path) -> dict[str, tuple[str, bytes]]:
    """One sound file for each reader: its name and its bytes."""
    features = json.loads(save(roads().to_crs(4326), folder / "a.geojson", driver="GeoJSON").read_text())
    files: dict[str, tuple[str, bytes]] = {
        "csv": ("a.csv", CSV.encode()),
        "logger": ("a.csv", autumn_logger().encode()),
        "daily": ("a.csv", clemson().head(30).to_csv(index=False).encode()),
        "dly": ("a.dly", _first_lines(dly_2010(), 4).encode()),
        "geojson": ("a.geojson", json.dumps(features).encode()),
        "gpx": ("a.gpx", GPX.encode()),
        "kml": ("a.kml", KML.encode()),
        "kmz": ("a.kmz", zip_of({"doc.kml": KML.encode()})),
        "xlsx": ("a.xlsx", xlsx()),
        "ods": ("a.ods", ods()),
        "jpeg": ("a.jpg", jpeg()),
        "geopackage": ("a.gpkg", save(sightings(), folder / "b.gpkg").read_bytes()),
        "shapefile": ("a.zip", zipped(roads(), folder / "c.zip").read_bytes()),
    }
    return files


def _first_lines(text: str, n_lines: int) -> str:
    return "".join(text.splitlines(keepends=True)[:n_lines])


def zip_of(members: dict[str, bytes]) -> bytes:
    """A zip archive of named bytes."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, body in members.items():
            archive.writestr(name, body)
    return stream.getvalue()


def damaged(body: bytes, rng: np.random.Generator) -> bytes:
    """
    Damage a file: half of them within the form of their format, half without regard to it, some both ways.

    Without regard to it: changed, lost, doubled and moved bytes, tokens that mean something to a parser, a cut end.
    Most archives are changed within a member and packed again, so that the damage passes the check sums.
    """
    if body.startswith(b"PK") and rng.random() < 0.9:
        with zipfile.ZipFile(io.BytesIO(body)) as archive:
            members = {name: archive.read(name) for name in archive.namelist()}
        for name in rng.choice(sorted(members), size=int(rng.integers(1, 3))):
            members[str(name)] = _damaged_member(members[str(name)], rng)
        return zip_of(members)
    return _damaged_member(body, rng)


def _damaged_member(body: bytes, rng: np.random.Generator) -> bytes:
    kind = rng.random()
    if kind < 0.6 and not body.startswith(b"PK"):
        body = changed_structure(body, rng)
    return body if kind < 0.5 else _damaged_bytes(body, rng)


def _damaged_bytes(body: bytes, rng: np.random.Generator) -> bytes:
    for _ in range(int(min(rng.geometric(0.6), 6))):
        body = _HARM[int(rng.integers(len(_HARM)))](body or b"x", rng)
    return body


def _change(body: bytes, rng: np.random.Generator) -> bytes:
    changed = bytearray(body)
    for at in rng.integers(len(body), size=int(rng.integers(1, 9))):
        changed[at] = int(rng.integers(256))
    return bytes(changed)


def _cut(body: bytes, rng: np.random.Generator) -> bytes:
    return body[: int(rng.integers(len(body) + 1))]


def _lose(body: bytes, rng: np.random.Generator) -> bytes:
    start, length = int(rng.integers(len(body))), int(rng.geometric(0.05))
    return body[:start] + body[start + length :]


def _repeat(body: bytes, rng: np.random.Generator) -> bytes:
    start, length = int(rng.integers(len(body))), int(rng.geometric(0.02))
    piece = body[start : start + length]
    return body[:start] + piece * int(rng.geometric(0.05)) + body[start:]


def _put_token(body: bytes, rng: np.random.Generator) -> bytes:
    at = int(rng.integers(len(body) + 1))
    return body[:at] + TOKENS[int(rng.integers(len(TOKENS)))] + body[at:]


def _replace_number(body: bytes, rng: np.random.Generator) -> bytes:
    at = body.find(str(int(rng.integers(10))).encode(), int(rng.integers(len(body))))
    return body if at < 0 else body[:at] + TOKENS[int(rng.integers(len(TOKENS)))] + body[at + 1 :]


_HARM: tuple[Callable[[bytes, np.random.Generator], bytes], ...] = (
    *(_change, _cut, _lose, _repeat, _put_token, _put_token, _replace_number),
)
