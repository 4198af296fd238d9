"""The one door to all readers: every byte in, a table or one line of refusal out."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records.readers.layer_files import roads, save, sightings, zipped
from records.readers.weather_files import BY_STATION_ROW, autumn_logger, clemson, dly_2010

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.layers import read_layer

SHORT = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
BEGINNINGS = [
    b"",
    b"taxon,lat,lon\n",
    b"date,tmin,tmax\n",
    b"#,Date Time,Temp (C)\n1,",
    b"XXC00000001201007TMAX  311  7",
    BY_STATION_ROW.encode(),
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b'{"type": "FeatureCollection", "features": [',
    b'<?xml version="1.0"?><gpx><wpt lat="1" lon="2"/>',
    b"<kml><Placemark/>",
    b"PK\x03\x04",
    b"SQLite format 3\x00",
    b"\x00\x00\x27\x0a",
    b"fgb\x03",
]


def read_or_refuse(reader, path):
    """Only a refusal in one line may come out."""
    refusal = None
    try:
        reader(path)
    except UnfitFileError as error:
        refusal = str(error)
    assert refusal is None or re.fullmatch(rf"{re.escape(path.name)}.*: found .+, expected .+; .+", refusal)


@pytest.mark.parametrize("beginning", BEGINNINGS)
@SHORT
@given(rest=st.binary(max_size=300))
def test_no_bytes_bring_a_traceback(make_file, beginning, rest):
    read_or_refuse(read_file, make_file("any.csv", beginning + rest))


@pytest.mark.parametrize("header", ["taxon,lat,lon", "date,tmin,tmax", "Date Time,Temp (F)", "STATION,DATE,TMAX,TMIN"])
@SHORT
@given(rest=st.text(alphabet='0123456789-/:.,;"\n APM', max_size=300))
def test_no_text_that_looks_like_numbers_and_dates_brings_a_traceback(make_file, header, rest):
    read_or_refuse(read_file, make_file("any.csv", f"{header}\n{rest}"))


JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["type", "geometry", "coordinates", "properties", "x"]), inner, max_size=3)
    ),
    max_leaves=12,
)
GEOMETRY = st.fixed_dictionaries(
    {
        "type": st.sampled_from(["Point", "LineString", "Polygon", "MultiPoint", "GeometryCollection", 3]),
        "coordinates": JSON,
    }
)


@SHORT
@given(
    features=st.lists(JSON | st.fixed_dictionaries({"properties": JSON, "geometry": GEOMETRY | JSON}), max_size=4),
    crs=JSON,
)
def test_no_geojson_brings_a_traceback(make_file, collection, features, crs):
    read_or_refuse(read_file, make_file("any.geojson", collection(*features)))
    read_or_refuse(read_file, make_file("any.geojson", collection(*features, crs=crs)))


def whole_files(folder):
    """One sound file of each format."""
    texts = {"a.dly": dly_2010(), "b.csv": autumn_logger(), "c.csv": clemson().head(400).to_csv(index=False)}
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    paths = [folder / name for name in texts]
    paths.append(save(sightings(), folder / "d.gpkg"))
    paths.append(zipped(roads(), folder / "e.zip"))
    paths.append(save(roads(), folder / "f.geojson", driver="GeoJSON"))
    return paths


@pytest.mark.parametrize("which", range(6))
@SHORT
@given(data=st.data())
def test_no_damage_to_a_sound_file_brings_a_traceback(tmp_path_factory, which, data):
    path = whole_files(tmp_path_factory.mktemp("whole"))[which]
    body = bytearray(path.read_bytes())
    cut = data.draw(st.integers(1, len(body)), label="cut at")
    at = data.draw(st.lists(st.integers(0, cut - 1), max_size=5), label="bytes changed")
    for place in at:
        body[place] ^= 0x55
    path.write_bytes(bytes(body[:cut]))
    read_or_refuse(read_file, path)
    read_or_refuse(read_layer, path)


@pytest.mark.parametrize("which", range(6))
def test_every_sound_file_is_read_whatever_its_name(tmp_path, which):
    path = whole_files(tmp_path)[which].rename(tmp_path / "renamed.txt")
    tables = read_file(path)
    assert all(len(table.rows) for table in tables)
    assert all(len(table.rows) == len(table.originals) == len(table.lines) for table in tables)
    assert not any(fault.severity == "hold back" for table in tables for fault in table.faults)


@pytest.mark.parametrize("name", ["a.kml", "b.fgb"])
def test_map_layers_are_sent_back_from_the_records_door(tmp_path, name):
    driver = {"a.kml": "KML", "b.fgb": "FlatGeobuf"}[name]
    path = save(roads().to_crs(4326), tmp_path / name, driver=driver)
    with pytest.raises(UnfitFileError, match=r"a map layer in KML or FlatGeobuf.*export the records as GeoJSON"):
        read_file(path)


def test_order_of_rows_changes_nothing_but_the_order(read_text):
    rows = ["wood turtle,1", "box turtle,2", "painted turtle,3"]
    forward = read_text("\n".join(["taxon,count", *rows])).rows
    backward = read_text("\n".join(["taxon,count", *reversed(rows)])).rows
    assert forward.iloc[::-1].reset_index(drop=True).equals(backward)


def test_the_same_records_come_out_of_a_byte_order_mark_and_windows_line_ends(read_text):
    text = "taxon,count\nwood turtle,1\nbox turtle,2\n"
    plain = read_text(text)
    saved_again = read_text(text.replace("\n", "\r\n"), encoding="utf-8-sig")
    assert plain.rows.equals(saved_again.rows)
    assert plain.originals == saved_again.originals
