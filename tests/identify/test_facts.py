"""Published facts that the tables must not contradict, each with its source (keys of sources.toml)."""

import numpy as np
import pytest


def share_of_sizes(tables, taxon, *states):
    character = tables.characters["scl_mm"]
    shares = tables.matrix.by_taxon("scl_mm")[tables.taxa.index(taxon)]
    return sum(shares[character.index[state]] for state in states)


@pytest.mark.parametrize(
    ("taxon", "states", "source"),
    [
        ("Kinosternon baurii", ("lt100", "m100_149"), "75-100 mm: scparc"),
        ("Kinosternon subrubrum", ("lt100", "m100_149"), "85-120 mm: meshaka2017"),
        ("Sternotherus odoratus", ("lt100", "m100_149"), "51-115 mm, record 137: torontozoo"),
        ("Clemmys guttata", ("lt100", "m100_149"), "rarely above 114 mm, at most 136: umich"),
        ("Gopherus polyphemus", ("m150_229", "m230_319", "ge320"), "150-370 mm: usfws"),
        ("Pseudemys peninsularis", ("m150_229", "m230_319", "ge320"), "males to 310, females to 400 mm: seidel1998"),
        ("Deirochelys reticularia", ("m100_149", "m150_229", "m230_319"), "150-230 mm: srel; to 250: eab"),
    ],
)
def test_most_animals_fall_into_the_published_sizes(tables, taxon, states, source):
    assert share_of_sizes(tables, taxon, *states) > 0.85, source


def test_sizes_above_the_greatest_published_length_are_never_usual(tables):
    # a class that begins above a taxon's greatest length weighs no more than 'never' gives
    lower = {"m100_149": 100, "m150_229": 150, "m230_319": 230, "ge320": 320}
    for taxon in tables.taxa[:-1]:
        greatest_mm = tables.tree.taxonomy.greatest_length_mm(taxon)
        for state, least_mm in lower.items():
            if least_mm > greatest_mm:  # nan where no length was read
                assert share_of_sizes(tables, taxon, state) < 0.10, (taxon, state)


def factor(tables, taxon, month):
    flat, then = tables.prior(None), tables.prior(None, month=month)
    k, reference = tables.taxa.index(taxon), tables.taxa.index("Gopherus polyphemus")
    return (then[k] / then[reference]) / (flat[k] / flat[reference])


@pytest.mark.parametrize(
    ("taxon", "more", "not_more", "source"),
    [
        ("Trachemys scripta scripta", (4, 5, 6, 7), (1, 10, 12), "nests mid-April to mid-July: aresco2004"),
        ("Pseudemys floridana", (4, 5, 6, 7), (1, 10, 12), "nests mid-April to mid-July: aresco2004"),
        ("Pseudemys nelsoni", (5, 6, 7, 8), (1, 11), "nests May to August: jackson2010"),
        ("Deirochelys reticularia", (9, 10, 2, 3), (5, 6, 7), "lays from late summer, again February-March: srel"),
        ("Kinosternon baurii", (9, 10, 11), (5, 6), "nests in autumn: srel"),
    ],
)
def test_a_taxon_counts_more_in_the_months_it_nests(tables, taxon, more, not_more, source):
    assert all(factor(tables, taxon, month) > 1 for month in more), source
    assert all(factor(tables, taxon, month) == pytest.approx(1) for month in not_more), source


def test_factors_stay_between_a_third_and_three(tables):
    assert all(1 / 3 <= factor.factor <= 3 for factor in tables.factors)


def test_the_two_groups_of_cooters_are_those_of_the_catalogue(tables):  # seidel1996
    held = {taxon: tables.tree.held_at(taxon, "group") for taxon in tables.taxa if taxon.startswith("Pseudemys")}
    assert {t for t, group in held.items() if group == "red-bellied group"} == {
        "Pseudemys nelsoni", "Pseudemys rubriventris", "Pseudemys alabamensis",
    }  # fmt: skip
    assert len(held) == 7
    assert set(held.values()) == {"red-bellied group", "cooter group"}


@pytest.mark.parametrize(
    ("taxon", "region"),
    [
        ("Trachemys scripta scripta", "SC_GA_coastal_plain"),  # nas
        ("Pseudemys peninsularis", "FL_peninsula"),  # seidel1998
        ("Pseudemys concinna", "NC_SC_GA_piedmont"),  # adcnr, eab
        ("Apalone ferox", "FL_peninsula"),  # meylan2006
    ],
)
def test_a_taxon_is_at_home_where_accounts_place_it(tables, taxon, region):
    assert tables.weight_classes[region][taxon] not in {"outside", "rare"}


def test_some_taxa_are_outside_where_accounts_do_not_place_them(tables):
    assert tables.weight_classes["NC_VA_tidewater"]["Pseudemys nelsoni"] == "outside"  # jackson2010
    assert tables.weight_classes["FL_peninsula"]["Pseudemys alabamensis"] == "outside"  # eab
    assert all(np.all(prior > 0) for prior in tables.priors.values())  # never 0: animals escape
