"""Photographs alone, in a folder and in an archive; places are invented."""

import json
import zipfile

import pytest
from records.readers.fuzz_files import zip_of
from records.readers.photo_files import jpeg

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records.columns import match_columns
from roadwatch.records.readers import read_file
from roadwatch.records.readers.exif import COLUMNS
from roadwatch.records.readers.photos import read_photo_folder
from roadwatch.records.values import parse_values


@pytest.fixture
def folder(tmp_path):
    """A folder of files."""

    def make(**files):
        place = tmp_path / "may walk"
        place.mkdir()
        for name, body in files.items():
            (place / name.replace("__", ".")).write_bytes(body)
        return place

    return make


def test_each_photograph_of_a_folder_is_a_crossing_in_the_order_of_names(folder):
    (table,) = read_file(folder(b__jpg=jpeg(), a__JPG=jpeg(gps={}), c__jpeg=jpeg()))
    assert table.kind == "crossings"
    assert table.source == "may walk, photographs"
    assert table.rows["photo"].tolist() == ["a.JPG", "b.jpg", "c.jpeg"]
    assert table.rows["latitude"].tolist() == [None, "29.6512", "29.6512"]
    assert table.lines.tolist() == [1, 2, 3]


def test_the_original_is_what_the_photograph_told(folder):
    (table,) = read_file(folder(a__jpg=jpeg()))
    assert json.loads(table.originals[0]) == {
        "photo": "a.jpg",
        "observed_at": "2025-05-12T07:40:01-04:00",
        "longitude": "-82.3725",
        "latitude": "29.6512",
        "camera": "Acme Pocket 1",
    }


def test_one_photograph_is_a_table_of_one_row(make_file):
    (table,) = read_file(make_file("turtle.jpg", jpeg()))
    assert table.rows["photo"].tolist() == ["turtle.jpg"]


def test_an_archive_of_photographs_is_read_like_a_folder(make_file):
    (table,) = read_file(make_file("walk.zip", zip_of({"DCIM/b.jpg": jpeg(), "DCIM/a.jpg": jpeg(), "note.txt": b"x"})))
    assert table.rows["photo"].tolist() == ["DCIM/a.jpg", "DCIM/b.jpg"]
    assert "not read: 1 other file or folder (note.txt)" in table.notes


def test_every_row_waits_for_the_name_of_its_animal(folder):
    (table,) = read_file(folder(a__jpg=jpeg()))
    accepted, faults = parse_values(table, "crossings", timezone="America/New_York")
    assert len(accepted) == 0
    assert "taxon is missing; write the animal's name" in faults[0].reason


def test_the_columns_feed_the_fields_of_crossings():
    matched = match_columns(list(COLUMNS), "crossings")
    assert {"photo", "observed_at", "longitude", "latitude", "position_error_m", "taxon"} <= set(matched.values())
    assert "camera_direction_deg" not in matched, "where the camera looked is not where the animal went"


def test_other_files_and_folders_are_said_and_hidden_ones_passed_over(folder):
    place = folder(a__jpg=jpeg(), notes__txt=b"x", b__heic=b"x", __hidden=b"x")
    (place / "more").mkdir()
    (table,) = read_file(place)
    assert "not read: 3 other files or folders (b.heic, more/, notes.txt)" in table.notes


def test_links_are_not_followed(folder, tmp_path):
    secret = tmp_path / "secret.jpg"
    secret.write_bytes(jpeg())
    place = folder(a__jpg=jpeg())
    (place / "b.jpg").symlink_to(secret)
    (table,) = read_file(place)
    assert table.rows["photo"].tolist() == ["a.jpg"]


def test_a_broken_photograph_is_held_back_and_the_others_are_kept(folder):
    (table,) = read_file(folder(a__jpg=jpeg(), b__jpg=b"hello", c__jpg=jpeg()))
    assert table.lines.tolist() == [1, 3]
    held = [fault for fault in table.faults if fault.severity == "hold back"]
    assert [(fault.line, fault.original) for fault in held] == [(2, '{"photo": "b.jpg"}')]
    assert "the photograph b.jpg cannot be read as a JPEG; copy it from the camera again" in held[0].reason


def test_a_missing_place_is_noted_with_the_name_of_the_photograph(folder):
    (table,) = read_file(folder(a__jpg=jpeg(gps={})))
    (fault,) = table.faults
    assert (fault.severity, fault.column) == ("note", "latitude")
    assert fault.reason.startswith("a.jpg: the photograph holds no place")


def test_times_without_offset_are_counted(folder):
    (table,) = read_file(folder(a__jpg=jpeg(camera={0x9003: "2025:05:12 07:40:01"}), b__jpg=jpeg()))
    assert "1 time without an offset taken as local, by the camera's own clock" in table.notes


def test_a_folder_without_photographs_is_refused_with_what_it_holds(folder):
    with pytest.raises(UnfitFileError, match=r"may walk: found 0 JPEG photographs: 1 other file or folder \(a.txt\)"):
        read_file(folder(a__txt=b"x"))


def test_a_folder_of_broken_photographs_is_refused(folder):
    with pytest.raises(UnfitFileError, match=r"found 2 photographs, none readable \(the photograph"):
        read_file(folder(a__jpg=b"x", b__jpg=b""))


def test_a_folder_that_is_not_there_is_a_fault_of_the_call(tmp_path):
    with pytest.raises(UsageError, match="there is no such folder"):
        read_photo_folder(tmp_path / "nowhere")


def test_more_photographs_than_a_camera_numbers_are_refused(tmp_path):
    path = tmp_path / "many.zip"
    with zipfile.ZipFile(path, "w") as archive:
        for n in range(10_001):
            archive.writestr(f"{n}.jpg", b"")
    with pytest.raises(UnfitFileError, match="in the archive 10001 members"):
        read_file(path)
