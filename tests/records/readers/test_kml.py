"""KML and KMZ: values by hand, and GDAL as an independent reader of the same files; form after OGC KML 2.3."""

import io
import json
import zipfile

import pytest
import shapely
from records.readers.fuzz_files import KML, zip_of
from records.readers.layer_files import roads, save, sightings

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.gdal import list_layers, read_vector
from roadwatch.records.readers.layers import read_layer

NAMESPACE = 'xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://www.google.com/kml/ext/2.2"'
RING = "<LinearRing><coordinates>{}</coordinates></LinearRing>"
LINE = "<LineString><coordinates>0,0 1,1</coordinates></LineString>"
POINT = "<Point><coordinates>-82.3725,29.6512</coordinates></Point>"


@pytest.fixture
def kml(make_file):
    """Write the inside of a document and read its tables."""

    def make(body, *, name="walk.kml"):
        return read_file(make_file(name, f'<?xml version="1.0"?><kml {NAMESPACE}><Document>{body}</Document></kml>'))

    return make


def placemark(*parts):
    return f"<Placemark>{''.join(parts)}</Placemark>"


def test_a_placemark_is_a_row_with_place_name_time_and_extended_data(kml):
    extended = (
        '<ExtendedData><Data name="observer"><value>A</value></Data><SchemaData schemaUrl="#s">'
        '<SimpleData name="count">2</SimpleData></SchemaData></ExtendedData>'
    )
    stamp = "<TimeStamp><when>2025-05-12T11:40:00Z</when></TimeStamp>"
    (table,) = kml(placemark("<name>001</name><description>box turtle dead</description>", stamp, extended, POINT))
    assert table.rows.to_dict("records") == [
        {
            "name": "001",
            "description": "box turtle dead",
            "time": "2025-05-12T11:40:00Z",
            "observer": "A",
            "count": "2",
            "longitude": "-82.3725",
            "latitude": "29.6512",
        }
    ]


def test_every_folder_is_a_table_called_by_its_path(kml):
    inner = f"<Folder><name>June</name>{placemark(POINT)}</Folder>"
    tables = kml(placemark(POINT) + f"<Folder><name>Turtles</name>{placemark(POINT)}{inner}</Folder>")
    assert [table.source for table in tables] == [
        "walk.kml",
        "walk.kml, folder Turtles",
        "walk.kml, folder Turtles/June",
    ]
    assert [table.lines.tolist() for table in tables] == [[1], [2], [3]]


def test_gdal_sees_the_same_places_in_every_folder(make_file):
    path = make_file("walk.kml", KML)
    ours = {wkt for table in read_file(path) for wkt in _shapes(table)}
    theirs = set()
    for name, _ in list_layers(str(path), source="walk.kml"):
        layer = read_vector(str(path), layer=name, source="walk.kml")
        theirs |= {shapely.to_wkt(shape) for shape in shapely.from_wkb(layer.wkb)}
    assert ours == {wkt for wkt in theirs if not wkt.startswith("GEOMETRYCOLLECTION")}


def _shapes(table):
    for row in table.rows.to_dict("records"):
        line = row.get("wkt") or row.get("track")
        yield shapely.to_wkt(
            shapely.from_wkt(line) if line else shapely.Point(float(row["longitude"]), float(row["latitude"]))
        )


def test_a_layer_that_gdal_writes_comes_back(tmp_path):
    layer = sightings().to_crs(4326).dropna(subset=["taxon"])
    (table,) = read_file(save(layer, tmp_path / "seen.kml", driver="KML"))
    assert float(table.rows["longitude"].iloc[0]) == pytest.approx(layer.geometry.x[0], abs=1e-9)
    lines = save(roads().to_crs(4326), tmp_path / "roads.kml", driver="KML")
    assert read_file(lines)[0].rows["wkt"].str.startswith("LINESTRING (").tolist() == [True, True]


def test_marked_up_descriptions_are_read_as_text_and_kept_as_written(kml):
    marked = "<description><![CDATA[<b>box turtle</b><br/>dead <script>alert(1)</script>]]></description>"
    (table,) = kml(placemark(marked, POINT))
    assert table.rows["description"].tolist() == ["box turtle dead"]
    assert json.loads(table.originals[0])["description"] == "<b>box turtle</b><br/>dead <script>alert(1)</script>"
    assert any("marked-up text" in note for note in table.notes)


def test_a_recorded_track_is_a_search(kml):
    track = (
        "<name>North verge</name><gx:Track><when>2025-05-12T11:00:00Z</when><when>2025-05-12T11:30:00Z</when>"
        "<gx:coord>-82.37 29.65 1</gx:coord><gx:coord>-82.38 29.66 2</gx:coord></gx:Track>"
    )
    (table,) = kml(placemark(track))
    assert (table.kind, table.source) == ("searches", "walk.kml, tracks")
    assert table.rows.to_dict("records") == [
        {
            "search_id": "North verge",
            "started_at": "2025-05-12T11:00:00Z",
            "ended_at": "2025-05-12T11:30:00Z",
            "track": "LINESTRING (-82.37 29.65, -82.38 29.66)",
        }
    ]


def test_a_span_of_time_has_a_beginning_and_an_end(kml):
    span = "<TimeSpan><begin>2025-05-12</begin><end>2025-05-13</end></TimeSpan>"
    (table,) = kml(placemark(span, POINT))
    assert table.rows[["time", "time_end"]].to_numpy().tolist() == [["2025-05-12", "2025-05-13"]]


@pytest.mark.parametrize(
    ("shape", "wkt"),
    [
        ("<LinearRing><coordinates>0,0 1,0 1,1 0,0</coordinates></LinearRing>", "LINESTRING (0 0, 1 0, 1 1, 0 0)"),
        (
            f"<Polygon><outerBoundaryIs>{RING.format('0,0 9,0 9,9 0,0')}</outerBoundaryIs>"  # noqa: ISC004
            f"<innerBoundaryIs>{RING.format('5,1 6,1 6,2 5,1')}</innerBoundaryIs></Polygon>",
            "POLYGON ((0 0, 9 0, 9 9, 0 0), (5 1, 6 1, 6 2, 5 1))",
        ),
        (f"<MultiGeometry>{POINT}<Point><coordinates>1,2</coordinates></Point></MultiGeometry>", "MULTIPOINT"),
        (f"<MultiGeometry><MultiGeometry>{POINT}</MultiGeometry>{LINE}</MultiGeometry>", "GEOMETRYCOLLECTION"),
    ],
)
def test_other_shapes_keep_their_text(kml, shape, wkt):
    (table,) = kml(placemark(shape))
    assert table.rows["wkt"].iloc[0].startswith(wkt)


def test_a_height_is_kept_beside_the_place(kml):
    (table,) = kml(placemark("<Point><coordinates>-82,29,24.5</coordinates></Point>"))
    assert table.rows.to_dict("records") == [{"altitude": "24.5", "longitude": "-82", "latitude": "29"}]


@pytest.mark.parametrize("written", ["-82 29", "-82, 29", "west,north", "", "-82", "nan,29", "1,2 3,4"])
def test_a_place_that_cannot_be_read_is_held_back_as_written(kml, written):
    (table,) = kml(
        placemark("<name>lost</name>", f"<Point><coordinates>{written}</coordinates></Point>") + placemark(POINT)
    )
    assert table.lines.tolist() == [2]
    assert (table.faults[0].line, table.faults[0].severity) == (1, "hold back")
    assert json.loads(table.faults[0].original) == {"name": "lost", "geometry": written}


def test_a_placemark_without_a_place_is_kept_with_blank_coordinates(kml):
    (table,) = kml(placemark("<name>somewhere</name>") + placemark(POINT))
    assert table.rows["longitude"].tolist() == [None, "-82.3725"]


def test_a_name_of_data_that_stands_twice_keeps_both(kml):
    twice = '<ExtendedData><Data name="n"><value>1</value></Data><Data name="n"><value>2</value></Data></ExtendedData>'
    (table,) = kml(placemark(twice, POINT))
    assert table.rows[["n", "n (2)"]].to_numpy().tolist() == [["1", "2"]]


def test_a_placemark_of_nothing_is_left_out_and_said(kml):
    (table,) = kml(placemark() + placemark("<name> </name>") + placemark(POINT))
    assert table.lines.tolist() == [3]
    assert "2 placemarks without a place or any word left out" in table.notes


def test_a_kmz_packed_far_beyond_what_places_are_is_refused(make_file):
    rows = "".join(f"<a>{n * 7919 % 1_000_003}</a>" + "<Placemark/>" * 40 for n in range(25_000))
    with pytest.raises(UnfitFileError, match=r"12 MB of KML, expected at most 5 MB of it packed as it is"):
        read_file(make_file("a.kmz", zip_of({"doc.kml": f"<kml>{rows}</kml>".encode()})))


def test_links_to_other_files_are_never_followed(kml, make_file):
    make_file("secret.kml", f"<kml>{placemark('<name>nest place</name>', POINT)}</kml>")
    link = "<NetworkLink><Link><href>secret.kml</href></Link></NetworkLink>"
    (table,) = kml(placemark(POINT) + link)
    assert len(table.rows) == 1
    assert "1 link to other files, never followed" in table.notes
    with pytest.raises(UnfitFileError, match="without placemarks, only links to others"):
        kml(link)


def test_so_many_folders_become_one_table_with_their_names(kml):
    tables = kml("".join(f"<Folder><name>f{n}</name>{placemark(POINT)}</Folder>" for n in range(201)))
    assert len(tables) == 1
    assert tables[0].rows["folder"].tolist() == [f"f{n}" for n in range(201)]


def test_nesting_of_any_depth_does_no_harm(kml):
    deep = 30_000
    assert len(kml("<Folder>" * deep + placemark(POINT) + "</Folder>" * deep)[0].rows) == 1
    shapes = "<MultiGeometry>" * deep + POINT + "</MultiGeometry>" * deep
    assert kml(placemark(shapes))[0].rows["longitude"].tolist() == ["-82.3725"]


@pytest.mark.parametrize(
    "declaration",
    ['<!DOCTYPE kml [<!ENTITY a "aa"><!ENTITY b "&a;&a;">]>', '<!DOCTYPE kml SYSTEM "http://example.org/kml.dtd">'],
)
def test_a_document_type_is_refused_in_kml_and_kmz(make_file, declaration):
    text = f"{declaration}<kml>{placemark(POINT)}</kml>".encode()
    for path in (make_file("a.kml", text), make_file("a.kmz", zip_of({"doc.kml": text}))):
        with pytest.raises(UnfitFileError, match="document type declaration"):
            read_file(path)
        with pytest.raises(UnfitFileError, match="document type declaration"):
            read_layer(path)


def test_a_kmz_is_read_like_the_kml_in_it(make_file):
    packed = read_file(make_file("walk.kmz", zip_of({"doc.kml": KML.encode(), "files/a.png": b"x"})))
    plain = read_file(make_file("walk.kml", KML))
    assert [table.rows.to_dict("list") for table in packed] == [table.rows.to_dict("list") for table in plain]


def test_every_kml_file_of_a_kmz_is_read(make_file):
    body = f"<kml>{placemark(POINT)}</kml>".encode()
    tables = read_file(make_file("walk.kmz", zip_of({"doc.kml": body, "more/b.kml": body})))
    assert [table.source for table in tables] == ["walk.kmz, file doc.kml", "walk.kmz, file more/b.kml"]


def test_a_kml_that_swells_is_refused(make_file):
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        archive.writestr("doc.kml", b"<kml>" + b" " * 51_000_000)
    with pytest.raises(UnfitFileError, match="51 MB of KML, expected at most 50 MB of it"):
        read_file(make_file("a.kmz", stream.getvalue()))


@pytest.mark.parametrize("cut", [60, 200, 500])
def test_a_file_cut_short_is_refused(make_file, cut):
    with pytest.raises(UnfitFileError, match=r"broken or cut short"):
        read_file(make_file("a.kml", KML[:cut]))
