"""Doubt about a nest's name is spread over the taxa of the region, and a second person's name goes first."""

import pandas as pd
import pytest

from roadwatch.season.nest_taxa import nest_candidates, with_verified_names

REGION = "SC_GA_coastal_plain"


def nests(**changes) -> pd.DataFrame:
    row = {"nest_id": "n1", "taxon": "Trachemys scripta", "id_confidence": 0.8, "verified_taxon": None}
    return pd.DataFrame([row | changes])


def within(shares: dict[str, float], name: str) -> float:
    return sum(p for taxon, p in shares.items() if taxon.startswith(name))


def test_the_named_taxon_keeps_what_its_observer_gave_it():
    shares = nest_candidates(nests(), region=REGION)["n1"]
    assert sum(shares.values()) == pytest.approx(1, abs=0.01)
    assert within(shares, "Trachemys scripta") == pytest.approx(0.8, abs=0.02)
    assert len(shares) > 5


def test_a_genus_is_spread_over_its_species_of_the_region():
    shares = nest_candidates(nests(taxon="Pseudemys", id_confidence=0.95), region=REGION)["n1"]
    assert within(shares, "Pseudemys") == pytest.approx(0.95, abs=0.02)
    assert shares["Pseudemys floridana"] > shares["Pseudemys nelsoni"]


@pytest.mark.parametrize("changes", [{"id_confidence": 1.0}, {"id_confidence": None}, {"taxon": None}])
def test_what_is_certain_or_not_told_is_taken_as_written(changes):
    assert nest_candidates(nests(**changes), region=REGION) == {}


def test_without_a_region_every_nest_is_taken_as_written():
    assert nest_candidates(nests(), region=None) == {}


def test_a_verified_name_stands_in_place_of_the_observers_as_certain():
    found = with_verified_names(nests(verified_taxon="Chelydra serpentina", id_confidence=0.5)).iloc[0]
    assert (found["taxon"], found["id_confidence"]) == ("Chelydra serpentina", 0.95)
    same = with_verified_names(nests()).iloc[0]
    assert (same["taxon"], same["id_confidence"]) == ("Trachemys scripta", 0.8)


def test_marks_that_were_seen_decide_where_there_are_any():
    shares = nest_candidates(nests(taxon=None, id_confidence=None, seen_hinge="two", view="in_hand"), region=REGION)
    assert within(shares["n1"], "Kinosternon") > 0.5, "two hinges on the lower shell: mud turtles (anatomy)"


def test_a_name_that_the_tables_do_not_hold_stands_for_itself():
    shares = nest_candidates(nests(taxon="Apalone mutica", id_confidence=0.8), region=REGION)["n1"]
    assert shares["Apalone mutica"] == pytest.approx(0.8)
    assert sum(shares.values()) == pytest.approx(1.0)
