"""Zip archives of every kind, honest and made to harm."""

import stat
import zipfile

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.archives import check_members, kind_of_archive


@pytest.fixture
def archive(tmp_path):
    """A zip archive of named bytes."""

    def make(members, *, compression=zipfile.ZIP_DEFLATED):
        path = tmp_path / "layer.zip"
        with zipfile.ZipFile(path, "w", compression) as opened:
            for name, content in members.items():
                opened.writestr(name, content)
        return path

    return make


@pytest.mark.parametrize(
    ("names", "kind"),
    [
        (["xl/workbook.xml", "[Content_Types].xml"], "xlsx"),
        (["a/b/roads.shp", "a/b/readme.kml"], "shapefiles"),
        (["doc.kml", "files/turtle.jpg"], "kmz"),
        (["DCIM/1.JPG", "DCIM/2.jpeg"], "photos"),
    ],
)
def test_an_archive_is_known_by_the_names_in_it(archive, names, kind):
    assert kind_of_archive(archive(dict.fromkeys(names, b"x"))) == kind


def test_a_spreadsheet_of_opendocument_is_known_by_the_type_it_states(archive):
    members = {"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": ""}
    assert kind_of_archive(archive(members)) == "ods"


def test_hidden_copies_of_a_desktop_tell_nothing(archive):
    with pytest.raises(UnfitFileError, match="a zip archive of nothing"):
        kind_of_archive(archive({"__MACOSX/._a.shp": b"x", ".hidden.kml": b"x"}))


@pytest.mark.parametrize(
    ("members", "found"),
    [
        ({"xl/workbook.bin": ""}, "a binary spreadsheet"),
        ({"mimetype": "application/vnd.oasis.opendocument.text", "content.xml": ""}, "an office document"),
        ({"inner.zip": "PK", "more.zip": "PK"}, "a zip archive of inner.zip, more.zip"),
        ({"word/document.xml": ""}, "an office document"),
        ({"content.xml": ""}, "an office document"),
        ({"notes.txt": ""}, "a zip archive of notes.txt"),
        ({}, "a zip archive of nothing"),
    ],
)
def test_an_archive_of_something_else_says_what_it_is(archive, members, found):
    with pytest.raises(UnfitFileError, match=f"layer.zip: found {found}"):
        read_file(archive(members))


def test_a_bomb_is_refused_by_its_directory(archive):
    with pytest.raises(UnfitFileError, match="packed more than 200 times"):
        read_file(archive({"a.shp": bytes(20_000_000)}))


def test_too_many_members_are_refused(archive):
    with pytest.raises(UnfitFileError, match="1001 members"):
        read_file(archive({f"{n}.txt": "" for n in range(1001)}))


def test_members_that_sum_to_more_than_the_limit_are_refused():
    member = zipfile.ZipInfo("a.shp")
    member.file_size, member.compress_size = 600_000_000, 300_000_000
    with pytest.raises(UnfitFileError, match="600 MB once unpacked"):
        check_members([member], source="a.zip")


def test_a_link_is_refused():
    member = zipfile.ZipInfo("a.shp")
    member.external_attr = (stat.S_IFLNK | 0o777) << 16
    with pytest.raises(UnfitFileError, match="a link to another file"):
        check_members([member], source="a.zip")


def test_an_encrypted_member_is_refused():
    member = zipfile.ZipInfo("a.shp")
    member.flag_bits = 1
    with pytest.raises(UnfitFileError, match="which is encrypted"):
        check_members([member], source="a.zip")


@pytest.mark.parametrize("name", ["../a.shp", "/etc/a.shp", "a/../../b.shp", "..\\\\a.shp", "\\\\server\\\\a.shp"])
def test_names_that_point_outside_are_refused(archive, name):
    with pytest.raises(UnfitFileError, match="points outside of the archive"):
        read_file(archive({name: b"x"}))
