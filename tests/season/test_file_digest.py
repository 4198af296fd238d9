"""A file is known by its bytes, and by those of the files that belong to it."""

import hashlib

import pytest

from roadwatch.errors import UsageError
from roadwatch.season.file_digest import digest_of


def test_a_lone_file_has_the_digest_of_its_bytes(tmp_path):
    """SHA-256 of 'abc', FIPS 180-4 example B.1."""
    path = tmp_path / "a.csv"
    path.write_bytes(b"abc")
    assert digest_of(path) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_name_does_not_count(tmp_path):
    for name in ("a.csv", "b.txt"):
        (tmp_path / name).write_bytes(b"abc")
    assert digest_of(tmp_path / "a.csv") == digest_of(tmp_path / "b.txt")


@pytest.mark.parametrize("part", ["roads.dbf", "roads.DBF", "roads.prj", "roads.shp-wal"])
def test_a_shapefile_is_another_one_when_a_part_of_it_changes(tmp_path, part):
    (tmp_path / "roads.shp").write_bytes(b"shapes")
    alone = digest_of(tmp_path / "roads.shp")
    digests = set()
    for content in (b"one", b"two"):
        (tmp_path / part).write_bytes(content)
        digests.add(digest_of(tmp_path / "roads.shp"))
    assert len({alone, *digests}) == 3


def test_a_neighbour_that_does_not_belong_to_it_does_not_count(tmp_path):
    (tmp_path / "roads.csv").write_bytes(b"abc")
    (tmp_path / "roads.dbf").write_bytes(b"x")
    assert digest_of(tmp_path / "roads.csv") == hashlib.sha256(b"abc").hexdigest()


def test_a_folder_is_known_by_names_and_bytes_wherever_it_lies(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name / "deep").mkdir(parents=True)
        (tmp_path / name / "deep" / "b.jpg").write_bytes(b"b")
        (tmp_path / name / "a.jpg").write_bytes(b"a")
    assert digest_of(tmp_path / "one") == digest_of(tmp_path / "two")
    (tmp_path / "two" / "a.jpg").rename(tmp_path / "two" / "c.jpg")
    assert digest_of(tmp_path / "one") != digest_of(tmp_path / "two")


def test_a_link_in_a_folder_is_not_followed(tmp_path):
    (tmp_path / "secret").write_bytes(b"x")
    folder = tmp_path / "photos"
    folder.mkdir()
    empty = digest_of(folder)
    (folder / "link.jpg").symlink_to(tmp_path / "secret")
    assert digest_of(folder) == empty


def test_a_file_that_is_not_there_is_told(tmp_path):
    with pytest.raises(UsageError, match=r"none\.csv does not exist; check the name"):
        digest_of(tmp_path / "none.csv")
