"""Files made to hurt the machine: each has to be refused in one line."""

from __future__ import annotations

from records.readers.fuzz_files import zip_of

MB = 1_000_000
FEATURES = b'{"type":"FeatureCollection","features":['
HOSTILE = {
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
