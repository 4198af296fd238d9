"""An observer's certainty becomes a probability that is never dropped and never counted twice."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import UsageError
from roadwatch.identify.confidence import asked_taxon, probability_if_named, probability_of, regional_weights

REGION = "FL_peninsula"


def seen(taxon, confidence=np.nan, verified=None):
    return pd.DataFrame([{"taxon": taxon, "id_confidence": confidence, "verified_taxon": verified}])


def p(asked, taxon, confidence=np.nan, *, verified=None, region=None):
    return float(probability_of(asked, seen(taxon, confidence, verified), region=region)[0])


def test_a_certain_name_is_believed_and_nothing_else():
    assert p("Chelydra serpentina", "Chelydra serpentina", 1.0) == 1.0
    assert p("Trachemys scripta", "Chelydra serpentina", 1.0) == 0.0


def test_the_rest_goes_to_look_alikes_of_the_family_by_how_many_there_are():
    # by hand: Chelydridae has two terminal taxa in the table; unnamed one gets the whole rest when all weigh alike
    assert p("Macrochelys", "Chelydra serpentina", 0.8) == pytest.approx(0.2)


@pytest.mark.parametrize("named", ["Trachemys scripta", "Pseudemys", "Emydidae", "Kinosternon subrubrum", "Testudines"])
@pytest.mark.parametrize("confidence", [0.0, 0.5, 0.95])
@pytest.mark.parametrize("region", [None, REGION])
def test_probabilities_over_all_terminal_taxa_add_to_one(named, confidence, region):
    total = sum(probability_if_named(name, named, confidence, region) for name in regional_weights(region))
    assert total == pytest.approx(1.0, abs=1e-12)


def test_a_genus_is_shared_among_its_species_by_how_common_they_are_here():
    # common 10, uncommon 1 ... : in the peninsula the peninsula cooter outweighs the river cooter
    assert p("Pseudemys peninsularis", "Pseudemys", 1.0, region=REGION) > p(
        "Pseudemys concinna", "Pseudemys", 1.0, region=REGION
    )


def test_a_species_asked_within_its_group_counts_whole():
    assert p("Pseudemys", "Pseudemys nelsoni", 1.0) == 1.0


def test_a_blank_confidence_is_taken_as_likely():
    assert p("Chelydra serpentina", "Chelydra serpentina") == pytest.approx(0.8)


def test_a_verified_name_stands_in_place_of_the_observers():
    assert p("Trachemys scripta", "Pseudemys", 0.5, verified="Trachemys scripta") == pytest.approx(0.95, abs=0.05)


def test_an_unknown_taxon_asked_for_gets_a_proposal():
    with pytest.raises(UsageError, match="is not known; did you mean"):
        asked_taxon("Trachemys scriptta")


def test_no_record_gives_no_probability():
    assert probability_of("Pseudemys", seen("Pseudemys").iloc[:0], region=None).shape == (0,)
