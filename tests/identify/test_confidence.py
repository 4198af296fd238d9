"""An observer's certainty becomes a probability that is never dropped and never counted twice."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import UsageError
from roadwatch.identify.confidence import (
    asked_taxon,
    probability_if_named,
    probability_of,
    probability_sensitive,
    regional_weights,
)
from roadwatch.share.masking import MASK_FROM_PROBABILITY

REGIONS = ["FL_panhandle", "FL_peninsula", "SC_GA_coastal_plain", "NC_SC_GA_piedmont", "NC_VA_tidewater"]
"""Where listed look-alikes of common turtles are rare; in the others they are common enough to matter."""
REGION = "FL_peninsula"


def seen(taxon, confidence=np.nan, verified=None, **columns):
    return pd.DataFrame([{"taxon": taxon, "id_confidence": confidence, "verified_taxon": verified, **columns}])


def p(asked, taxon, confidence=np.nan, *, verified=None, region=None, **columns):
    return float(probability_of(asked, seen(taxon, confidence, verified, **columns), region=region)[0])


def test_a_certain_name_is_believed_and_nothing_else():
    assert p("Chelydra serpentina", "Chelydra serpentina", 1.0) == 1.0
    assert p("Trachemys scripta", "Chelydra serpentina", 1.0) == 0.0


@pytest.mark.parametrize("confidence", [0.0, 0.5, 0.8, 0.95])
@pytest.mark.parametrize("region", [None, REGION])
def test_the_observers_probability_stays_with_the_name(confidence, region):
    assert p("Pseudemys", "Pseudemys", confidence, region=region) == pytest.approx(confidence)


@pytest.mark.parametrize(
    "named",
    [
        *("Trachemys scripta", "Pseudemys", "Emydidae", "Kinosternon subrubrum", "Testudines", "Apalone mutica"),
        *("Graptemys barbouri", "cooter group"),
    ],
)
@pytest.mark.parametrize("confidence", [0.0, 0.5, 0.95])
@pytest.mark.parametrize("region", [None, REGION])
def test_probabilities_over_all_terminal_taxa_add_to_one(named, confidence, region):
    terminal = [*regional_weights(region), *(["Apalone mutica"] if named == "Apalone mutica" else [])]
    total = sum(probability_if_named(name, named, confidence, region) for name in terminal)
    assert total == pytest.approx(1.0, abs=1e-12)


def test_the_rest_goes_to_look_alikes_by_how_common_they_are():
    # a mud turtle that is not one is a musk turtle rather than a slider, though the slider is more common there
    rest = {name: p(name, "Kinosternon subrubrum", 0.8, region="FL_panhandle") for name in regional_weights(None)}
    assert rest["Sternotherus odoratus"] > rest["Trachemys scripta scripta"]
    # the striped mud turtle looks the same but is a fourth as common as the musk turtle there
    assert rest["Sternotherus odoratus"] > rest["Kinosternon baurii"] > rest["Kinosternon steindachneri"]


def test_a_genus_is_shared_among_its_species_by_how_common_they_are_here():
    # common 10, uncommon 1 ... : in the peninsula the peninsula cooter outweighs the river cooter
    assert p("Pseudemys peninsularis", "Pseudemys", 1.0, region=REGION) > p(
        "Pseudemys concinna", "Pseudemys", 1.0, region=REGION
    )


def test_a_species_asked_within_its_group_counts_whole():
    assert p("Pseudemys", "Pseudemys nelsoni", 1.0) == 1.0


def test_a_species_finer_than_the_tables_keeps_its_probability():
    assert p("Graptemys barbouri", "Graptemys barbouri", 0.8) == pytest.approx(0.8)
    assert p("Graptemys", "Graptemys barbouri", 0.8) == pytest.approx(0.8)
    assert p("Graptemys ernsti", "Graptemys barbouri", 0.8) == 0.0
    assert p("Apalone mutica", "Apalone mutica", 0.8) == pytest.approx(0.8)
    assert p("Apalone", "Apalone mutica", 0.8) > 0.8
    assert p("Testudines", "Apalone mutica", 0.8) == pytest.approx(1.0)


def test_a_blank_confidence_is_taken_as_likely():
    assert p("Chelydra serpentina", "Chelydra serpentina") == pytest.approx(0.8)


def test_a_verified_name_stands_in_place_of_the_observers():
    assert p("Trachemys scripta", "Pseudemys", 0.5, verified="Trachemys scripta") == pytest.approx(0.95)


def test_an_unknown_taxon_asked_for_gets_a_proposal():
    with pytest.raises(UsageError, match="is not known; did you mean"):
        asked_taxon("Trachemys scriptta")


def test_no_record_gives_no_probability():
    assert probability_of("Pseudemys", seen("Pseudemys").iloc[:0], region=None).shape == (0,)


@pytest.mark.parametrize("region", REGIONS)
def test_a_likely_snapper_is_not_masked_because_a_rarer_relative_exists(region):
    assert probability_sensitive(seen("Chelydra serpentina", 0.8), region=region)[0] < MASK_FROM_PROBABILITY


@pytest.mark.parametrize("region", [*REGIONS, "FL_Suwannee", "AL_Mobile_delta", None])
def test_a_likely_snapper_is_hardly_ever_the_rarer_relative(region):
    assert p("Macrochelys", "Chelydra serpentina", 0.8, region=region) < MASK_FROM_PROBABILITY


@pytest.mark.parametrize("region", REGIONS)
@pytest.mark.parametrize("named", ["Trachemys scripta", "Kinosternon subrubrum", "Apalone ferox", "Chrysemys picta"])
def test_a_likely_common_turtle_is_not_masked(region, named):
    assert probability_sensitive(seen(named, 0.8), region=region)[0] < MASK_FROM_PROBABILITY


@pytest.mark.parametrize("named", ["Macrochelys", "Terrapene carolina", "Pseudemys suwanniensis", "Graptemys barbouri"])
def test_a_listed_name_is_sensitive_by_at_least_its_certainty(named):
    assert probability_sensitive(seen(named, 0.5), region="FL_Suwannee")[0] >= 0.5


def test_a_name_that_may_hold_a_listed_one_is_sensitive_by_how_common_that_is():
    # in the Mobile delta the Alabama red-bellied cooter is fair (4) among river cooters (10) and Florida cooters (4)
    delta = probability_sensitive(seen("Pseudemys", 1.0), region="AL_Mobile_delta")[0]
    assert delta == pytest.approx(4 / 18, abs=0.03)
    assert probability_sensitive(seen("Pseudemys", 1.0), region="NC_SC_GA_piedmont")[0] < 0.01


def test_an_unknown_animal_is_as_sensitive_as_its_county():
    prior = regional_weights("SC_GA_coastal_plain")
    unknown = probability_sensitive(seen("Testudines", 0.95), region="SC_GA_coastal_plain")[0]
    assert unknown > prior["Terrapene carolina"]
