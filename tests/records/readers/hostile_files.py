"""Files made to hurt the machine: each has to be refused in one line."""

from __future__ import annotations

import io
import stat
import zipfile

from records.readers.fuzz_files import GPX, KML, zip_of
from records.readers.photo_files import jpeg
from records.readers.sheet_files import ods, xlsx

MB = 1_000_000
FEATURES = b'{"type":"FeatureCollection","features":['
ENTITY_BOMB = (
    b'<!DOCTYPE a [<!ENTITY a "aaaaaaaaaa">'
    + b"".join(b'<!ENTITY %c "%s">' % (98 + n, b"&%c;" % (97 + n) * 10) for n in range(9))
    + b"]>"
)
"""Ten to the tenth signs out of some hundred."""
OTHER_FILE = b'<!DOCTYPE a [<!ENTITY a SYSTEM "file:///etc/passwd">]>'


def declared(declaration: bytes, xml: str) -> bytes:
    """An XML file whose first text is the entity of a declaration."""
    head, body = xml.encode().split(b"\n", 1)
    return head + declaration + body.replace(b"<name>", b"<name>&a;", 1)


def with_part(archive: bytes, changes: dict[str, bytes]) -> bytes:
    """An archive with some of its parts put in or replaced."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return zip_of({name: opened.read(name) for name in opened.namelist()} | changes)


def with_declared_part(archive: bytes, part: str, declaration: bytes) -> bytes:
    """An archive one of whose parts begins with a declaration."""
    with zipfile.ZipFile(io.BytesIO(archive)) as opened:
        return with_part(archive, {part: declaration + opened.read(part)})


def with_link(archive: bytes, name: str, target: str) -> bytes:
    """An archive with a symbolic link to another file in it."""
    stream = io.BytesIO(archive)
    with zipfile.ZipFile(stream, "a") as opened:
        link = zipfile.ZipInfo(name)
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        opened.writestr(link, target)
    return stream.getvalue()


def huge_picture() -> bytes:
    """A photograph of some bytes whose frame header claims 65,500 by 65,500 pixels (ITU-T T.81, B.2.2)."""
    body = bytearray(jpeg())
    frame = body.find(b"\xff\xc0")
    body[frame + 5 : frame + 9] = (65_500).to_bytes(2, "big") * 2
    return bytes(body)


HOSTILE = {
    "an entity bomb in GPX": ("a.gpx", lambda: declared(ENTITY_BOMB, GPX)),
    "an entity bomb in KML": ("a.kml", lambda: declared(ENTITY_BOMB, KML)),
    "an entity bomb in KMZ": ("a.kmz", lambda: zip_of({"doc.kml": declared(ENTITY_BOMB, KML)})),
    "an entity bomb in XLSX": ("a.xlsx", lambda: with_declared_part(xlsx(), "xl/workbook.xml", ENTITY_BOMB)),
    "an entity bomb in ODS": ("a.ods", lambda: with_declared_part(ods(), "content.xml", ENTITY_BOMB)),
    "another file as an entity of GPX": ("a.gpx", lambda: declared(OTHER_FILE, GPX)),
    "another file as an entity of KML": ("a.kml", lambda: declared(OTHER_FILE, KML)),
    "another file as an entity of XLSX": (
        "a.xlsx",
        lambda: with_declared_part(xlsx(), "xl/worksheets/sheet1.xml", OTHER_FILE),
    ),
    "another file as an entity of ODS": ("a.ods", lambda: with_declared_part(ods(), "content.xml", OTHER_FILE)),
    "a bomb within a spreadsheet": ("a.xlsx", lambda: with_part(xlsx(), {"xl/media/a.bin": bytes(300 * MB)})),
    "a bomb within a KMZ": ("a.kmz", lambda: zip_of({"doc.kml": b"<kml>" + b" " * 100 * MB + b"</kml>"})),
    "a bomb among photographs": ("a.zip", lambda: zip_of({"a.jpg": b"\xff\xd8\xff" + bytes(300 * MB)})),
    "a path that climbs": ("a.kmz", lambda: zip_of({"doc.kml": KML.encode(), "../../.profile": b"x"})),
    "a path that climbs by backslashes": ("a.zip", lambda: zip_of({"a.jpg": jpeg(), "..\\..\\b.jpg": jpeg()})),
    "a path from the root": ("a.xlsx", lambda: with_part(xlsx(), {"/etc/cron.d/a": b"x"})),
    "a link in a KMZ": ("a.kmz", lambda: with_link(zip_of({"doc.kml": KML.encode()}), "more.kml", "/etc/passwd")),
    "a link in a spreadsheet": ("a.xlsx", lambda: with_link(xlsx(), "xl/worksheets/sheet2.xml", "/etc/passwd")),
    "a link among photographs": ("a.zip", lambda: with_link(zip_of({"a.jpg": jpeg()}), "b.jpg", "/etc/passwd")),
    "a picture of four gigapixels": ("a.jpg", huge_picture),
    "a picture cut short": ("a.jpg", lambda: jpeg()[:25]),
    "pictures all of them broken": (
        "a.zip",
        lambda: zip_of({f"{n}.jpg": huge_picture()[: 20 + n] for n in range(500)}),
    ),
    "a line of 200 MB": ("a.csv", lambda: b"taxon,count\n" + b"wood turtle," * (200 * MB // 12)),
    "one line of commas": ("a.csv", lambda: b"a," * (MB // 2)),
    "a wide header over short rows": (
        "a.csv",
        lambda: b",".join(b"c%d" % n for n in range(900)) + b"\n" + b"a\n" * 490_000,
    ),
    "quotation marks": ("a.csv", lambda: b"a,b\n" + b'"' * MB),
    "a column name of brackets": ("a.csv", lambda: b"date," + b"(" * 100_000 + b"\n1,2\n"),
    "digits before a letter": ("a.csv", lambda: b"1" * 100_000 + b"x,2\n1,2\n1,2\n"),
    "brackets in brackets": ("a.geojson", lambda: b"[" * MB),
    "a name for each feature": (
        "a.geojson",
        lambda: FEATURES + b",".join(b'{"properties":{"%d":1}}' % n for n in range(30_000)) + b"]}",
    ),
    "a number of a million digits": ("a.geojson", lambda: b'{"type":"Point","coordinates":[' + b"9" * MB + b",1]}"),
    "tags in tags": ("a.gpx", lambda: b"<gpx>" + b"<a>" * (MB // 3)),
    "tags and nothing else": ("a.gpx", lambda: b"<gpx>" + b"<a/>" * (MB // 4) + b"</gpx>"),
    "folders in folders": ("a.kml", lambda: b"<kml>" + b"<Folder>" * 50_000 + b"</Folder>" * 50_000 + b"</kml>"),
    "a name for each datum": (
        "a.kml",
        lambda: (
            b"<kml><Placemark><ExtendedData>"
            + b"".join(b'<Data name="a"><value>%d</value></Data>' % n for n in range(20_000))
            + b"</ExtendedData></Placemark></kml>"
        ),
    ),
    "a zip of a zip": ("a.zip", lambda: zip_of({"inner.zip": zip_of({"a.csv": b"a,b\n1,2\n"})})),
    "a zip of zeros": ("a.zip", lambda: zip_of({"a.shp": bytes(100 * MB)})),
}
