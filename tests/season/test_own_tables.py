"""A county replaces or extends any table; the season keeps a copy and every command uses it."""

import pytest

from roadwatch.errors import UnfitFileError
from roadwatch.records.store import Season
from roadwatch.season.own_tables import check_tables, tables_folder


@pytest.fixture
def own(county):
    """Make a season of the tiny county with tables of its own."""

    def make(**files: str):
        folder = county.folder / "own"
        folder.mkdir()
        for name, text in files.items():
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
        season = county.folder / "own.gpkg"
        options = ["--roads", county.folder / "roads.geojson", "--timezone", "America/New_York", "--tables", folder]
        return season, county.run("new", season, *options)

    return make


TAXA = "taxon,rank,parent,english,names\nInventa exampli,species,Emydidae,example turtle,puddle turtle\n"


def test_a_name_of_the_countys_own_is_read(own, county, crossing):
    season, told = own(taxa=TAXA)
    assert told.exit_code == 0, told.output
    assert "The county's own tables are used: taxa.csv" in told.output
    file = county.write_csv("c.csv", [crossing(taxon="puddle turtle")])
    assert county.run("ingest", season, file).exit_code == 0
    assert Season.open(season).read("crossings")["taxon"].tolist() == ["Inventa exampli"]


def test_without_its_own_tables_the_name_is_held_back(county, crossing):
    assert county.ingest("c.csv", [crossing(taxon="puddle turtle")]).exit_code == 3


def test_a_table_that_does_not_fit_makes_no_season(own):
    season, told = own(taxa="taxon,rank\nInventa exampli,species\n")
    assert told.exit_code == 4
    assert "taxa.csv" in told.output
    assert not season.exists()
    assert not season.with_suffix(".tables").exists()


def test_the_copy_is_used_and_missed_when_it_is_gone(own):
    season, _ = own(taxa=TAXA)
    folder = tables_folder(Season.open(season))
    assert (folder / "taxa.csv").read_text("utf-8") == TAXA
    (folder / "taxa.csv").unlink()
    folder.rmdir()
    with pytest.raises(UnfitFileError, match="is missing; put it back"):
        tables_folder(Season.open(season))


def test_a_folder_without_any_known_table_is_refused(tmp_path):
    with pytest.raises(UnfitFileError, match="holds none of the tables"):
        check_tables(tmp_path)


def test_single_numbers_of_hatching_are_not_taken_from_a_folder_and_never_claimed_to_be(tmp_path):
    (tmp_path / "hatch_values.csv").write_text("name,value,unit,basis,source,remark\n", encoding="utf-8")
    with pytest.raises(UnfitFileError, match="holds none of the tables"):
        check_tables(tmp_path)


def test_a_season_without_its_own_uses_the_shipped_ones(county):
    assert tables_folder(Season.open(county.season)) is None
