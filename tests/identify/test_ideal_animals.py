"""An animal that shows what its taxon usually shows is never given a name that leaves it out."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.identify.evidence import evidence_of
from roadwatch.identify.naming import honest_name, is_prior_driven
from roadwatch.identify.posterior import posterior
from roadwatch.identify.tables import identify_tables
from roadwatch.identify.tree import RANKS

TABLES = identify_tables()
AT_HOME = [
    (region, taxon)
    for region, classes in TABLES.weight_classes.items()
    for taxon in TABLES.taxa[:-1]
    if classes[taxon] not in {"outside", "rare"}
]


def ideal(taxon, view):
    """What the taxon shows most often, in every character that the view can show."""
    k = TABLES.taxa.index(taxon)
    return {
        f"seen_{key}": character.states[int(TABLES.matrix.by_taxon(key)[k].argmax())].key
        for key, character in TABLES.characters.items()
        if character.can_show(view)
    }


def chances_of(region, taxon, view, **changes):
    row = ideal(taxon, view) | {"view": view, "observer_skill": "trained"} | changes
    return posterior(evidence_of(pd.DataFrame([row]), TABLES), TABLES.matrix, prior=TABLES.prior(region))[0]


def name_of(region, taxon, view, **changes):
    return honest_name(chances_of(region, taxon, view, **changes), TABLES)


@pytest.mark.parametrize(("region", "taxon"), AT_HOME, ids=lambda part: part.replace(" ", "_"))
@pytest.mark.parametrize("view", ["in_hand", "from_above", "from_car"])
def test_the_name_written_always_holds_the_animal(region, taxon, view):
    assert TABLES.tree.is_within(taxon, name_of(region, taxon, view).taxon)


@pytest.mark.parametrize(("region", "taxon"), AT_HOME, ids=lambda part: part.replace(" ", "_"))
def test_a_headless_carcass_is_named_by_its_marks_or_says_that_commonness_decided(region, taxon):
    # without a head some relatives look the same; then the more common one is written, and flagged
    p, flat = (chances_of(where, taxon, "carcass") for where in (region, None))
    held = TABLES.tree.is_within(taxon, honest_name(p, TABLES).taxon)
    assert held or is_prior_driven(p, flat, TABLES)
    assert TABLES.tree.is_within(taxon, honest_name(flat, TABLES).taxon)


@pytest.mark.parametrize(("region", "taxon"), AT_HOME, ids=lambda part: part.replace(" ", "_"))
def test_in_hand_it_is_named_to_the_genus_at_least(region, taxon):
    assert RANKS.index(name_of(region, taxon, "in_hand").rank) <= RANKS.index("genus")


def test_a_worse_view_never_names_more_finely_on_the_whole():
    ranks = {
        view: np.mean([RANKS.index(name_of(region, taxon, view).rank) for region, taxon in AT_HOME])
        for view in ("in_hand", "from_above", "from_car")
    }
    assert ranks["in_hand"] < ranks["from_above"] < ranks["from_car"]


def test_a_better_observer_names_more_finely_on_the_whole():
    ranks = {
        skill: np.mean(
            [RANKS.index(name_of(region, taxon, "from_above", observer_skill=skill).rank) for region, taxon in AT_HOME]
        )
        for skill in ("novice", "expert")
    }
    assert ranks["expert"] < ranks["novice"]
