"""Files are known by content; a lying name changes nothing."""

import pytest

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.readers.content import read_bytes, read_head, recognise

SQLITE_HEADER = b"SQLite format 3\x00" + (4096).to_bytes(2, "big") + bytes(10) + (1).to_bytes(4, "big") + bytes(36)


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        (b"taxon,count\nwood turtle,1\n", "text"),
        (b"\xef\xbb\xbftaxon,count\n", "text"),
        (b'  {"type": "FeatureCollection"}', "json"),
        (b"\xef\xbb\xbf[1]", "json"),
        (b'<?xml version="1.0"?>\n<!-- a note --><gpx version="1.1"></gpx>', "gpx"),
        ('<?xml version="1.0" encoding="UTF-16"?><gpx></gpx>'.encode("utf-16"), "gpx"),
        (b'<x:gpx xmlns:x="a"></x:gpx>', "gpx"),
        (b'<?xml version="1.0"?><kml></kml>', "kml"),
        (b"PK\x03\x04rest", "zip"),
        (b"\x00\x00\x27\x0arest", "shapefile"),
        (b"fgb\x03rest", "flatgeobuf"),
        (b"\xff\xd8\xff\xe0", "jpeg"),
        (SQLITE_HEADER + b"GPKG" + bytes(4096), "geopackage"),
    ],
)
def test_the_format_is_told_from_the_first_bytes_whatever_the_name(make_file, content, expected):
    assert recognise(make_file("photo.jpg", content)) == expected


@pytest.mark.parametrize(
    ("content", "found", "cure"),
    [
        (b"\x89PNG\r\n", "a PNG picture", "save it as JPEG"),
        (b"\x00\x00\x00\x18ftypheic", "a HEIC picture", "save it as JPEG"),
        (b"%PDF-1.7", "a PDF document", "export the table as CSV"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1",
            "an old spreadsheet or document, or one locked by a password",
            "save it as .xlsx",
        ),
        (b"\x1f\x8b\x08", "a gzip archive", "unpack it first"),
        (b"<!DOCTYPE html><html></html>", "a web page", "download the data file itself"),
        (b"<html><body></body></html>", "a web page", "download the data file itself"),
        (b"<OGRVRTDataSource></OGRVRTDataSource>", "root element 'ogrvrtdatasource'", "export the records"),
        (b"<!-- nothing else -->", "XML without a root element", "export the records"),
        (SQLITE_HEADER + bytes(4096), "an SQLite database that is not a GeoPackage", "export the table as CSV"),
    ],
)
def test_files_of_another_kind_are_refused_with_their_name_and_a_cure(make_file, content, found, cure):
    with pytest.raises(UnfitFileError, match=f"crossings.csv: found .*{found}.*; .*{cure}"):
        recognise(make_file("crossings.csv", content))


def test_a_geopackage_shorter_than_its_own_header_says_is_cut_short(make_file):
    header = SQLITE_HEADER[:28] + (3).to_bytes(4, "big") + SQLITE_HEADER[32:] + b"GPKG"
    with pytest.raises(UnfitFileError, match="cut short, expected 12288 bytes"):
        recognise(make_file("season.gpkg", header + bytes(5000)))


def test_an_empty_file_is_refused(make_file):
    with pytest.raises(UnfitFileError, match=r"empty.csv: found no bytes"):
        recognise(make_file("empty.csv", b""))


def test_a_missing_file_is_a_fault_of_the_call(tmp_path):
    with pytest.raises(UsageError, match="there is no such file"):
        recognise(tmp_path / "nowhere.csv")


def test_a_folder_is_refused(tmp_path):
    with pytest.raises(UnfitFileError, match="found a folder"):
        recognise(tmp_path)


def test_a_file_above_the_limit_is_refused_before_it_is_read(make_file):
    with pytest.raises(UnfitFileError, match="expected at most 0 MB"):
        read_bytes(make_file("large.gpx", b"x" * 1000), largest_mb=0)


def test_only_the_head_of_a_large_file_is_read(make_file):
    assert len(read_head(make_file("large.csv", b"x" * 10_000))) == 4096
