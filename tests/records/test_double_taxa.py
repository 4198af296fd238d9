"""Two names go with one animal as far as they can be one taxon, and as far as the observers were sure."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.records.double_taxa import EVEN_WEIGHT, name_log_odds
from roadwatch.records.taxa import Taxon


def taxon(name, rank, parent):
    return Taxon(
        name, rank, parent, name, (), sensitive=False, greatest_length_mm=np.nan, length_source="", code="", note=""
    )


SMALL_TREE = {
    row[0]: taxon(*row)
    for row in [
        ("Order", "order", ""),
        ("Family", "family", "Order"),
        ("a", "species", "Family"),
        ("b", "species", "Family"),
        ("Other", "family", "Order"),
        ("c", "species", "Other"),
    ]
}


def odds(*names, sure=0.8, taxa=None, **columns):
    """Odds of the first two records of a season with these names."""
    table = pd.DataFrame({"taxon": list(names), "id_confidence": sure, **columns})
    return float(np.exp(name_log_odds(table, np.array([0]), np.array([1]), taxa=taxa))[0])


def test_the_odds_of_a_small_tree_by_hand():
    # two records of 'a', sure to 0.8, of three species. First pass, even commonness: belief (.8, .2, 0).
    # Season: ((2*.8 + 20/3)/22, (2*.2 + 20/3)/22, (20/3)/22); belief again (.8, .2, 0).
    season = np.array([1.6, 0.4, 0.0]) + EVEN_WEIGHT / 3
    season /= 2 + EVEN_WEIGHT
    by_hand = 0.02 + 0.98 * (0.8**2 / season[0] + 0.2**2 / season[1])
    assert odds("a", "a", taxa=SMALL_TREE) == pytest.approx(by_hand)


def test_species_of_two_families_agree_by_a_slip_of_the_pen_only():
    assert odds("a", "c", taxa=SMALL_TREE) == pytest.approx(0.02)
    assert odds("Trachemys scripta", "Chelydra serpentina") == pytest.approx(0.02)


def test_a_name_for_all_turtles_says_nothing():
    assert odds("Testudines", "Trachemys scripta") == pytest.approx(1)
    assert odds(None, "Trachemys scripta") == pytest.approx(1)


def test_a_rare_name_twice_says_more_than_a_common_one_twice():
    common = ["Trachemys scripta"] * 200
    rare_pair = odds("Deirochelys reticularia", "Deirochelys reticularia", *common)
    assert rare_pair > 5 * odds("Trachemys scripta", "Trachemys scripta", *common)


def test_look_alikes_of_one_family_can_be_one_animal_where_observers_were_unsure():
    unsure, sure = (
        odds("Pseudemys concinna", "Pseudemys floridana", *["Trachemys scripta"] * 20, sure=c) for c in (0.5, 0.95)
    )
    assert sure < 0.5
    assert unsure > 2 * sure


def test_a_name_given_by_a_second_person_stands_for_the_observers():
    plain = odds("Trachemys scripta", "Chelydra serpentina")
    assert odds("Trachemys scripta", "Chelydra serpentina", verified_taxon=[None, "Trachemys scripta"]) > 10 * plain


def test_over_all_second_names_the_odds_of_chance_are_one():
    # averaged over what another animal would be called, likelihood ratios are 1 (but for the slip of the pen)
    names = ["a"] * 3 + ["b"] * 2 + ["c"] * 4
    table = pd.DataFrame({"taxon": names * 200, "id_confidence": 0.8})
    right = np.arange(len(table))
    ratios = np.exp(name_log_odds(table, np.zeros(len(table), dtype=int), right, taxa=SMALL_TREE))
    assert ratios.mean() == pytest.approx(1, abs=0.03)
