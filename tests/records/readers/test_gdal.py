"""GDAL opens what we hand it and nothing else."""

import subprocess
import sys

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.gdal import NEEDED_DRIVERS, list_layers, load_pyogrio, read_vector
from roadwatch.records.readers.layers import read_layer


def in_fresh_process(code):
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout, done.stderr


def test_only_the_needed_drivers_are_left_and_nothing_is_said():
    out, err = in_fresh_process(
        "from roadwatch.records.readers.gdal import load_pyogrio; print(*load_pyogrio().list_drivers(), sep='|')"
    )
    assert set(out.strip().split("|")) <= NEEDED_DRIVERS
    assert err == ""


def test_drivers_that_follow_other_files_or_hosts_are_gone():
    out, _ = in_fresh_process(
        "from roadwatch.records.readers.gdal import load_pyogrio; print(*load_pyogrio().list_drivers(), sep='|')"
    )
    assert not {"OGR_VRT", "HTTP", "WFS", "CSW", "OAPIF", "GPSBabel", "CSV", "SQLite"} & set(out.split("|"))


def test_reading_text_files_does_not_load_gdal(tmp_path):
    (tmp_path / "a.csv").write_text("taxon,count\nwood turtle,1\n")
    out, _ = in_fresh_process(
        "import sys, pathlib; from roadwatch.records.readers import read_file;"
        f"read_file(pathlib.Path({str(tmp_path / 'a.csv')!r})); print('pyogrio' in sys.modules)"
    )
    assert out.strip() == "False"


VIRTUAL = (
    '<OGRVRTDataSource><OGRVRTLayer name="secret"><SrcDataSource>{}</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>'
)


@pytest.mark.parametrize("reader", [read_file, read_layer])
@pytest.mark.parametrize("name", ["x.gpx", "x.shp", "x.gpkg", "x.csv", "x.vrt"])
def test_a_virtual_layer_that_points_at_another_file_is_refused_whatever_its_name(make_file, reader, name):
    secret = make_file("secret.csv", "secret,wkt\nnest place,POINT (1 2)\n")
    with pytest.raises(UnfitFileError, match="root element 'ogrvrtdatasource'"):
        reader(make_file(name, VIRTUAL.format(secret)))


def test_gdal_itself_no_longer_opens_a_virtual_layer(make_file):
    secret = make_file("secret.csv", "secret\nnest place\n")
    virtual = make_file("x.gpkg", VIRTUAL.format(secret))
    code = (
        "from roadwatch.records.readers.gdal import load_pyogrio\n"
        f"try: load_pyogrio().list_layers({str(virtual)!r}); print('opened')\n"
        "except RuntimeError: print('refused')"
    )
    assert in_fresh_process(code)[0].strip() == "refused"


def test_an_unreadable_dataset_is_told_in_one_line(make_file):
    path = make_file("x.gpkg", b"SQLite format 3\x00" + bytes(200))
    with pytest.raises(UnfitFileError, match="x: found a layer that cannot be read"):
        list_layers(str(path), source="x")
    with pytest.raises(UnfitFileError, match="x: found a layer that cannot be read"):
        read_vector(str(path), layer=None, source="x")


def test_pyogrio_is_given_back():
    assert hasattr(load_pyogrio(), "raw")
