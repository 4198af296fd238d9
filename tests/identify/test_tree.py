"""The tree as identification climbs it."""

from roadwatch.identify.tables import identify_tables
from roadwatch.identify.tree import OTHER, RANKS, tree_of


def test_a_turtle_of_no_table_stands_directly_under_the_order(tables):
    assert tables.tree.lineages[OTHER] == (OTHER, "Testudines")
    assert tables.tree.find(OTHER) == OTHER


def test_every_taxon_climbs_to_the_order_through_known_ranks(tables):
    for taxon in tables.taxa[:-1]:
        steps = tables.tree.lineages[taxon]
        assert steps[-1] == "Testudines"
        ranks = [RANKS.index(tables.tree.ranks[step]) for step in steps]
        assert ranks == sorted(ranks)


def test_names_as_people_write_them_are_found(tables):
    assert tables.tree.find("yellow-bellied slider") == "Trachemys scripta scripta"
    assert tables.tree.find("TSE") == "Trachemys scripta elegans"
    assert tables.tree.find("dragon") is None


def test_a_taxon_is_held_at_each_rank(tables):
    assert tables.tree.held_at("Pseudemys nelsoni", "group") == "red-bellied group"
    assert tables.tree.held_at("Pseudemys nelsoni", "family") == "Emydidae"
    assert tables.tree.held_at("Pseudemys nelsoni", "subspecies") is None
    assert tables.tree.held_at("dragon", "family") is None


def test_a_coordinator_may_mark_more_taxa_as_sensitive(tmp_path):
    (tmp_path / "taxa.csv").write_text(
        "taxon,rank,parent,english,sensitive\nApalone spinifera,species,Apalone,spiny softshell,1\n"
    )
    assert "Apalone spinifera" in tree_of(tmp_path).sensitive
    assert "Apalone spinifera" not in tree_of(None).sensitive


def test_the_version_of_the_tables_knows_what_the_tree_decides(tmp_path, tables):
    # who is masked and which groups can be written rest on taxa.csv alone
    (tmp_path / "taxa.csv").write_text(
        "taxon,rank,parent,english,sensitive\nApalone spinifera,species,Apalone,spiny softshell,1\n"
    )
    marked = identify_tables(tmp_path)
    assert marked.version != tables.version
    assert identify_tables(None).version == tables.version
