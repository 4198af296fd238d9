"""The one door to all readers: every byte in, a table or one line of refusal out."""

import contextlib
import re

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from records.readers.fuzz_files import damaged, sound_files
from records.readers.layer_files import roads, save
from records.readers.weather_files import BY_STATION_ROW

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.layers import read_layer

SHORT = settings(
    max_examples=25, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
LAYERS = ("geojson", "kml", "kmz", "geopackage", "shapefile")
SOUND = ("csv", "logger", "daily", "dly", "gpx", "xlsx", "ods", "jpeg", *LAYERS)
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
    b"\xff\xd8\xff\xe1\x00\x20Exif\x00\x00II*\x00",
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


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    """One sound file for each reader: its name and its bytes."""
    return sound_files(tmp_path_factory.mktemp("sound"))


@pytest.mark.parametrize("reader", SOUND)
@settings(SHORT, max_examples=40)
@given(seed=st.integers(0, 2**32))
def test_no_damage_to_a_sound_file_brings_a_traceback(make_file, sound, reader, seed):
    name, body = sound[reader]
    path = make_file(name, damaged(body, np.random.default_rng(seed)))
    read_or_refuse(read_file, path)
    if reader in LAYERS:
        read_or_refuse(read_layer, path)


@pytest.mark.parametrize("reader", SOUND)
def test_a_good_part_of_the_damaged_files_gets_past_the_door(make_file, sound, reader):
    """Damage that is always refused at once would try nothing: of 60 files, one in five must still be read."""
    name, body = sound[reader]
    n_read = 0
    for seed in range(60):
        with contextlib.suppress(UnfitFileError):
            n_read += bool(read_file(make_file(name, damaged(body, np.random.default_rng(seed)))))
    assert 12 <= n_read < 60


@pytest.mark.parametrize("reader", SOUND)
def test_every_sound_file_is_read_whatever_its_name(make_file, sound, reader):
    _, body = sound[reader]
    tables = read_file(make_file("renamed.txt", body))
    assert all(len(table.rows) for table in tables)
    assert all(len(table.rows) == len(table.originals) == len(table.lines) for table in tables)
    assert not any(fault.severity == "hold back" for table in tables for fault in table.faults)


def test_there_is_a_sound_file_for_every_reader(sound):
    assert set(sound) == set(SOUND)


def test_damage_is_made_again_from_its_seed(sound):
    for name, body in sound.values():
        assert damaged(body, np.random.default_rng(3)) == damaged(body, np.random.default_rng(3)), name


def test_a_layer_in_flatgeobuf_is_sent_back_from_the_records_door(tmp_path):
    path = save(roads().to_crs(4326), tmp_path / "b.fgb", driver="FlatGeobuf")
    with pytest.raises(UnfitFileError, match=r"a map layer in FlatGeobuf.*export the records as GeoJSON"):
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
