"""The name that can honestly be written, its open nomenclature, and who must look again."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from roadwatch.identify.evidence import answers_of
from roadwatch.identify.naming import honest_name, is_prior_driven, needs_second_person, roll_up
from roadwatch.identify.posterior import posterior
from roadwatch.identify.tables import identify_tables
from roadwatch.identify.tree import RANKS


@pytest.fixture
def four_basking(chances):
    return chances(PPE=0.40, PFL=0.35, PCO=0.20, TSS=0.05)


def test_the_finest_name_that_is_sure_enough_is_written(four_basking, tables):
    # by hand: no species reaches .80; the three cooters add to .95
    name = honest_name(four_basking, tables)
    assert (name.taxon, name.rank, name.qualifier) == ("cooter group", "group", "")
    assert name.p == pytest.approx(0.95)
    assert name.written == "Pseudemys sp. (cooter group)"


def test_a_stricter_threshold_climbs_further(four_basking, tables):
    # by hand: genus .95 is not enough for .96; the family holds all four
    name = honest_name(four_basking, tables, threshold=0.96)
    assert (name.taxon, name.rank) == ("Emydidae", "family")
    assert name.p == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("shares", "written", "scientific_name", "rank", "qualifier"),
    [
        ({"PNE": 0.9, "PRU": 0.1}, "Pseudemys nelsoni", "Pseudemys nelsoni", "species", ""),
        ({"PNE": 0.6, "PPE": 0.4}, "Pseudemys cf. nelsoni", "Pseudemys", "genus", "cf. nelsoni"),
        ({"PNE": 0.6, "PRU": 0.4}, "Pseudemys cf. nelsoni", "Pseudemys", "genus", "cf. nelsoni"),
        (
            {"PNE": 0.6, "TSS": 0.4},
            "Emydidae indet. (cf. Pseudemys nelsoni)",
            "Emydidae",
            "family",
            "cf. Pseudemys nelsoni",
        ),
        ({"PNE": 0.4, "PRU": 0.2, "PPE": 0.4}, "Pseudemys sp.", "Pseudemys", "genus", ""),
        ({"TSX": 0.9, "TSS": 0.1}, "Trachemys scripta (scripta x elegans)", "Trachemys scripta", "species", ""),
        ({"TSE": 0.6, "TSS": 0.4}, "Trachemys scripta cf. elegans", "Trachemys scripta", "species", "cf. elegans"),
        ({"TSE": 0.4, "TSX": 0.6}, "Trachemys scripta", "Trachemys scripta", "species", ""),
        ({"GRA": 1.0}, "Graptemys sp.", "Graptemys", "genus", ""),
        ({"TSS": 0.4, "CSE": 0.3, "KSU": 0.3}, "Testudines indet.", "Testudines", "order", ""),
        ({"KSU": 0.4, "SOD": 0.45, "TCA": 0.15}, "Kinosternidae indet.", "Kinosternidae", "family", ""),
    ],
)  # the forms are those of Bengtson 1988 and Sigovini et al. 2016, as this project prints them
def test_open_nomenclature_in_darwin_core_terms(shares, written, scientific_name, rank, qualifier, chances, tables):
    name = honest_name(chances(**shares), tables)
    terms = name.darwin_core()
    assert name.written == written
    assert terms["scientificName"] == scientific_name
    assert terms["taxonRank"] == rank
    assert terms["identificationQualifier"] == qualifier
    assert terms["identificationVerificationStatus"] == "unverified"


def test_what_a_name_is_compared_with_keeps_its_own_probability(chances, tables):
    name = honest_name(chances(PNE=0.6, PRU=0.4), tables)
    assert (name.taxon, name.p) == ("red-bellied group", pytest.approx(1.0))
    assert (name.compared_with, name.p_compared) == ("Pseudemys nelsoni", pytest.approx(0.6))


def test_the_probability_travels_as_a_measurement_with_the_version_of_the_tables(chances, tables):
    # Darwin Core has MeasurementOrFact terms and none for a probability of identification
    measured = honest_name(chances(PNE=0.9, PRU=0.1), tables).measurement(tables.version)
    assert measured["measurementType"] == "identification probability"
    assert measured["measurementValue"] == "0.9000"
    assert tables.version in measured["measurementMethod"]


def test_what_is_in_no_table_climbs_to_the_order(tables):
    name = honest_name(np.eye(len(tables.taxa))[-1], tables)
    assert name.written == "Testudines indet."


def test_shares_roll_up_through_every_rank(four_basking, tables):
    total = roll_up(four_basking, tables)
    assert total["cooter group"] == pytest.approx(0.95)  # by hand
    assert total["Trachemys"] == pytest.approx(0.05)
    assert total["Testudines"] == pytest.approx(1.0)


@given(seed=st.integers(0, 10_000), sharpness=st.floats(0.05, 2), threshold=st.floats(0.6, 0.95))
@settings(max_examples=60, deadline=None)
def test_the_name_always_reaches_the_threshold_and_no_finer_one_does(seed, sharpness, threshold):
    tables = identify_tables()
    p = np.random.default_rng(seed).dirichlet(np.full(len(tables.taxa), sharpness))
    name, total = honest_name(p, tables, threshold=threshold), roll_up(p, tables)
    assert name.p >= threshold - 1e-9
    assert name.p == pytest.approx(total[name.taxon])
    finer = [t for t in total if RANKS.index(tables.tree.ranks[t]) < RANKS.index(name.rank)]
    assert all(total[taxon] < threshold for taxon in finer)


def test_a_name_that_rests_on_commonness_says_so(tables):
    def said(seen, region):
        evidence = answers_of(seen, tables, view="in_hand", skill="expert")
        return [posterior(evidence, tables.matrix, prior=tables.prior(where))[0] for where in (region, None)]

    # three mud turtles have two hinges; in the piedmont the eastern one is the only one at home
    mud_turtle = said({"hinge": "two", "carapace_outline": "small_oval"}, "NC_SC_GA_piedmont")
    assert honest_name(mud_turtle[0], tables).written == "Kinosternon subrubrum"
    assert honest_name(mud_turtle[1], tables).written == "Kinosternon sp."
    assert is_prior_driven(*mud_turtle, tables)
    softshell = said({"shell_cover": "leathery", "soft_front_edge": "round_bumps", "snout": "snorkel"}, "FL_peninsula")
    assert not is_prior_driven(*softshell, tables)


def test_a_listed_taxon_asks_for_a_second_person_however_sure(tables, chances):
    assert needs_second_person(chances(PAL=1.0), tables, region="AL_Mobile_delta") == ("Pseudemys alabamensis",)
    assert needs_second_person(chances(PAL=0.06, PCO=0.94), tables, region="AL_Mobile_delta") == (
        "Pseudemys alabamensis",
    )


def test_a_taxon_out_of_its_range_asks_for_a_second_person(tables, chances):
    assert needs_second_person(chances(PPE=1.0), tables, region="NC_VA_tidewater") == ("Pseudemys peninsularis",)


def test_a_common_taxon_at_home_asks_nobody(tables, chances):
    assert needs_second_person(chances(TSS=1.0), tables, region="SC_GA_coastal_plain") == ()
    assert needs_second_person(chances(TSS=0.96, PAL=0.04), tables, region="AL_Mobile_delta") == ()
