"""Shapefiles and the archives they travel in, honest and made to harm."""

import zipfile

import pytest
from records.readers.layer_files import roads, save, sightings, zipped

from roadwatch.errors import UnfitFileError
from roadwatch.records.readers import read_file
from roadwatch.records.readers.shapefiles import shapefiles_in_zip


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


@pytest.mark.parametrize("folder", ["", "export 2024/", "a/b/"])
def test_a_shapefile_is_found_in_any_folder_of_the_archive(tmp_path, folder):
    (table,) = read_file(zipped(sightings(), tmp_path / "seen.zip", folder=folder))
    assert table.rows["taxon"].tolist() == ["box turtle", None]
    assert table.source == "seen.zip, layer seen"


def test_the_ending_of_the_archive_does_not_matter(tmp_path):
    path = zipped(sightings(), tmp_path / "seen.zip").rename(tmp_path / "seen {1}.bin")
    assert len(read_file(path)[0].rows) == 2


def test_several_shapefiles_are_several_tables(tmp_path):
    path = zipped(sightings(), tmp_path / "all.zip")
    with zipfile.ZipFile(path, "a") as opened:
        for part in save(roads(), tmp_path / "roads.shp").parent.glob("roads.*"):
            opened.write(part, part.name)
    assert [table.source for table in read_file(path)] == ["all.zip, layer all", "all.zip, layer roads"]


def test_hidden_copies_of_a_desktop_are_passed_over(tmp_path):
    path = zipped(sightings(), tmp_path / "seen.zip")
    with zipfile.ZipFile(path, "a") as opened:
        opened.writestr("__MACOSX/._seen.shp", b"x")
    assert len(shapefiles_in_zip(path)) == 1


@pytest.mark.parametrize("part", [".shx", ".dbf"])
def test_a_missing_part_is_named(tmp_path, part):
    with pytest.raises(UnfitFileError, match=rf"seen.shp without its \{part}"):
        read_file(zipped(sightings(), tmp_path / "seen.zip", leave_out=(part,)))


def test_without_prj_the_cure_is_named(tmp_path):
    with pytest.raises(
        UnfitFileError, match=r"seen.zip, layer seen: found no coordinate reference system.*supply the .prj file"
    ):
        read_file(zipped(sightings(), tmp_path / "seen.zip", leave_out=(".prj",)))


def test_a_bare_shapefile_is_read_beside_its_parts(tmp_path):
    assert len(read_file(save(sightings(), tmp_path / "seen.shp"))[0].rows) == 2


def test_a_shapefile_alone_is_refused(tmp_path):
    path = save(sightings(), tmp_path / "seen.shp")
    (tmp_path / "seen.dbf").unlink()
    (tmp_path / "seen.shx").unlink()
    with pytest.raises(UnfitFileError, match=r"without its .shx and .dbf"):
        read_file(path)


def test_a_shapefile_cut_short_is_refused_by_its_own_length(tmp_path):
    path = save(roads(), tmp_path / "roads.shp")
    path.write_bytes(path.read_bytes()[:-20])
    with pytest.raises(UnfitFileError, match=r"a .shp that is damaged or cut short"):
        read_file(path)


def test_an_archive_cut_short_is_refused(tmp_path):
    path = zipped(sightings(), tmp_path / "seen.zip")
    path.write_bytes(path.read_bytes()[:-100])
    with pytest.raises(UnfitFileError, match="zip archive that is damaged or cut short"):
        read_file(path)


def test_damage_inside_an_archive_shows_by_its_check_sum(tmp_path, archive):
    path = archive(
        {"a.shp": b"\x00\x00\x27\x0a" + bytes(500), "a.shx": b"", "a.dbf": b""}, compression=zipfile.ZIP_STORED
    )
    path.write_bytes(path.read_bytes().replace(bytes(400), b"\x01" * 400, 1))
    with pytest.raises(UnfitFileError, match="Bad CRC-32"):
        read_file(path)
