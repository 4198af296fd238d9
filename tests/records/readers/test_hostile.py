"""Files of somebody who means harm: no other file is read, nothing is run, and what was written stays as written."""

import json
import os

import pytest
from records.readers.fuzz_files import GPX, KML, zip_of
from records.readers.hostile_files import HOSTILE, declared, with_link
from records.readers.layer_files import plain_table, roads, save
from records.readers.photo_files import BASE, jpeg
from records.readers.sheet_files import ods, xlsx

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.layers import read_layer

SECRET = "the nest lies under the third pine"
PAYLOADS = (
    "'); DROP TABLE crossings; --",
    "<script>alert(1)</script>",
    '<img src=x onerror="alert(1)">',
    "=cmd|' /C calc'!A0",
    "${7*7} {{7*7}} `id` $(id)",
    "../../etc/passwd",
)


@pytest.fixture
def secret(tmp_path):
    path = tmp_path / "secret.csv"
    path.write_text(f"notes,wkt\n{SECRET},POINT (1 2)\n", encoding="utf-8")
    return path


@pytest.mark.parametrize(("name", "xml"), [("a.gpx", GPX), ("a.kml", KML)])
@pytest.mark.parametrize("reader", [read_file, read_layer])
def test_a_file_named_by_an_entity_is_not_read(make_file, secret, reader, name, xml):
    declaration = f'<!DOCTYPE a [<!ENTITY a SYSTEM "file://{secret}">]>'.encode()
    with pytest.raises(UnfitFileError, match=r"a document type declaration|no map layer") as refusal:
        reader(make_file(name, declared(declaration, xml)))
    assert SECRET not in str(refusal.value)


def test_a_file_named_by_an_entity_is_not_read_from_within_an_archive(make_file, secret):
    declaration = f'<!DOCTYPE a [<!ENTITY a SYSTEM "file://{secret}">]>'.encode()
    for reader in (read_file, read_layer):
        with pytest.raises(UnfitFileError, match="a document type declaration"):
            reader(make_file("a.kmz", zip_of({"doc.kml": declared(declaration, KML)})))


VIRTUAL = (
    '<OGRVRTDataSource><OGRVRTLayer name="secret"><SrcDataSource>{}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
)
ALGORITHM = '{{"type": "gdal_streamed_alg", "command_line": "gdal vector read {}"}}'
NAMES = ("a.gpx", "a.gpkg", "a.geojson", "a.json", "a.kml", "a.shp", "a.fgb", "a.csv", "a.zip")


@pytest.mark.parametrize("pointer", [VIRTUAL, ALGORITHM, "\n" + VIRTUAL, "<!-- <gpx> -->" + VIRTUAL])
@pytest.mark.parametrize("reader", [read_file, read_layer])
@pytest.mark.parametrize("name", NAMES)
def test_no_name_makes_a_pointer_to_another_file_read_it(make_file, secret, name, reader, pointer):
    """GDAL opens files by content: a virtual layer, and a pipeline of its own, would otherwise be followed."""
    with pytest.raises(UnfitFileError, match=r"root element 'ogrvrtdatasource'|JSON of type 'gdal_streamed_alg'"):
        reader(make_file(name, pointer.format(secret)))


@pytest.mark.parametrize("pointer", [VIRTUAL, ALGORITHM])
def test_a_pointer_in_an_archive_or_behind_a_root_of_ours_is_not_followed(make_file, secret, pointer):
    inner = pointer.format(secret).encode()
    archives = {
        "kml": zip_of({"doc.kml": inner}),
        "shapefile": zip_of({"a.shp": inner, "a.shx": inner, "a.dbf": inner, "a.prj": inner}),
    }
    for archive in archives.values():
        for reader in (read_file, read_layer):
            with pytest.raises(UnfitFileError, match=r"a.zip.*: found .+, expected .+; .+") as refusal:
                reader(make_file("a.zip", archive))
            assert SECRET not in str(refusal.value)


def test_a_gpx_file_that_wraps_a_pointer_holds_no_record_of_the_other_file(make_file, secret):
    path = make_file("a.gpx", f"<gpx>{VIRTUAL.format(secret)}<wpt lat='1' lon='2'/></gpx>")
    (table,) = read_file(path)
    assert SECRET not in table.rows.to_json() + "".join(table.originals)


def test_a_shapefile_that_is_a_link_in_an_archive_is_refused(tmp_path, make_file, secret):
    layer = save(roads(), tmp_path / "roads.shp")
    parts = {f"roads{end}": layer.with_suffix(end).read_bytes() for end in (".shp", ".shx", ".prj")}
    path = make_file("a.zip", with_link(zip_of(parts), "roads.dbf", str(secret)))
    for reader in (read_file, read_layer):
        with pytest.raises(UnfitFileError, match=r"'roads\.dbf', a link to another file"):
            reader(path)


def test_nothing_is_unpacked_anywhere(make_file, tmp_path):
    make_file("a.kmz", zip_of({"doc.kml": KML.encode(), "more/notes.txt": b"x"}))
    before = sorted(os.walk(tmp_path))
    read_file(tmp_path / "a.kmz")
    assert sorted(os.walk(tmp_path)) == before


@pytest.mark.parametrize("payload", PAYLOADS)
def test_text_that_a_database_a_page_or_a_spreadsheet_would_run_is_kept_as_written(make_file, tmp_path, payload):
    row = {"taxon": "box turtle", "notes": payload}
    point = {"type": "Feature", "properties": row, "geometry": {"type": "Point", "coordinates": [-82.3, 29.6]}}
    gpx = f"<gpx><wpt lat='29.6' lon='-82.3'><desc>{_escaped(payload)}</desc></wpt></gpx>"
    quoted = payload.replace('"', '""')
    files = {
        "a.csv": f'taxon,notes\nbox turtle,"{quoted}"\n',
        "a.geojson": json.dumps({"type": "FeatureCollection", "features": [point]}),
        "a.gpx": gpx,
        "a.ods": ods([list(row), list(row.values())]),
    }
    if not payload.startswith("="):
        files["a.xlsx"] = xlsx([list(row), list(row.values())])
    for name, content in files.items():
        (table,) = read_file(make_file(name, content))
        assert table.rows.iloc[0][["desc" if name == "a.gpx" else "notes"]].tolist() == [payload], name
    (table,) = read_file(plain_table({"taxon": ["box turtle"], "notes": [payload]}, tmp_path / "a.gpkg", layer="seen"))
    assert table.rows["notes"].tolist() == [payload]
    (table,) = read_file(make_file("a.jpg", jpeg(top={BASE.ImageDescription: payload})))
    assert table.rows["caption"].tolist() == [payload]


def test_a_name_of_a_column_or_sheet_that_a_database_would_run_is_kept_as_written(make_file):
    (table,) = read_file(make_file("a.csv", 'taxon,"x\'); DROP TABLE crossings; --"\nslider,1\n'))
    assert list(table.rows) == ["taxon", "x'); DROP TABLE crossings; --"]
    (table,) = read_file(make_file("a.xlsx", xlsx(sheets={"<b>'; --": [["taxon", "n"], ["slider", 1]]})))
    assert table.source == "a.xlsx, sheet <b>'; --"


def test_each_kind_of_harm_that_files_do_is_among_the_files_made_to_hurt():
    told = " ".join(HOSTILE)
    for kind in (
        "entity bomb",
        "another file as an entity",
        "bomb within",
        "path that climbs",
        "a link",
        "picture",
        "200 MB",
    ):
        assert kind in told


def _escaped(text):
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
