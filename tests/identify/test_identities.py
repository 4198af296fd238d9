"""Each record is known by the best it holds: a second person, characters, or its name."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.identities import identities
from roadwatch.identify.tables import identify_tables

REGION = "FL_panhandle"
BASE = {"taxon": "Trachemys scripta", "id_confidence": 0.8, "verified_taxon": None, "observed_at": "2025-05-12"}
LEATHERY = {"seen_shell_cover": "leathery", "seen_snout": "snorkel", "seen_soft_front_edge": "round_bumps"}


def table(*rows):
    return pd.DataFrame([BASE | row for row in rows]).astype(object)


def of(records, **options):
    return identities(records, region=REGION, **options)


def test_each_record_says_what_it_rests_on():
    said = of(table({}, LEATHERY, LEATHERY | {"verified_taxon": "Apalone spinifera"}, {"taxon": None}))
    assert said.basis.tolist() == ["name", "characters", "verified", "unknown"]
    np.testing.assert_allclose(said.p.sum(axis=1), 1.0, atol=1e-12)


def test_characters_stand_in_place_of_the_name_and_never_on_top():
    named_otherwise = of(table(LEATHERY, LEATHERY | {"taxon": "Apalone ferox", "id_confidence": 1.0}))
    np.testing.assert_allclose(named_otherwise.p[0], named_otherwise.p[1])
    assert named_otherwise.of("Apalone ferox")[0] > 0.8


def test_a_second_person_outweighs_characters():
    said = of(table(LEATHERY | {"verified_taxon": "Chelydra serpentina"}))
    assert said.of("Chelydra serpentina")[0] == pytest.approx(0.95)
    assert of(table(LEATHERY | {"verified_taxon": "Chelydra serpentina"}), use_verified=False).of("Apalone")[0] > 0.9


def test_not_seen_alone_leaves_the_name():
    blank = {"seen_shell_cover": "not_seen", "seen_snout": None}
    assert of(table(blank)).basis.tolist() == ["name"]
    np.testing.assert_allclose(of(table(blank)).p, of(table({})).p)


def test_a_name_not_known_leaves_only_how_common_taxa_are(tables):
    said = of(table({"taxon": None}))
    np.testing.assert_allclose(said.p[0], tables.prior(REGION, month=5))
    assert "have no name that is known" in " ".join(said.notes)


def test_the_season_enters_by_the_month_of_the_record():
    may, january = of(table({"taxon": None}, {"taxon": None, "observed_at": "2025-01-12"})).of("Pseudemys floridana")
    assert may > january


def test_a_nest_is_known_like_a_crossing():
    nest = table({}).rename(columns={"observed_at": "found_at"})
    np.testing.assert_allclose(of(nest).p, of(table({})).p)


def test_answers_that_cannot_be_used_are_said_and_count_as_not_seen():
    wrong = of(table({"seen_keel": "seven"}, {"seen_tial": "short"}))
    assert wrong.basis.tolist() == ["name", "name"]
    assert "2 answers in seen_ columns could not be used" in wrong.notes[0]
    assert "'seven' is not one of its states" in wrong.notes[0]


def test_a_blank_skill_is_a_novices_and_said_so():
    assert any("taken as a novice's" in note for note in of(table(LEATHERY | {"observer_skill": None})).notes)
    assert not any("novice" in note for note in of(table(LEATHERY | {"observer_skill": "expert"})).notes)


def test_a_blank_view_is_said(tables):
    assert any("name no view" in note for note in of(table(LEATHERY)).notes)
    assert not any("name no view" in note for note in of(table(LEATHERY | {"view": "in_hand"})).notes)


def test_without_a_region_all_taxa_are_as_common_and_it_says_so(tables):
    said = identities(table({"taxon": None, "observed_at": None}), region=None)
    np.testing.assert_allclose(said.p[0], tables.prior(None))
    assert "No region is set: all taxa are taken as equally common." in said.notes


def test_a_measured_carapace_is_the_size():
    measured = of(table({"seen_shell_cover": "hard_scutes", "carapace_mm": 350.0}))
    answered = of(table({"seen_shell_cover": "hard_scutes", "seen_scl_mm": "ge320"}))
    np.testing.assert_allclose(measured.p, answered.p)


def test_a_county_without_priors_says_what_is_missing():
    with pytest.raises(NotEnoughDataError, match="how common taxa are in region 'Atlantis'; give tables of your own"):
        identities(table({}), region="Atlantis")


def test_no_record_is_no_trouble():
    assert of(table({}).iloc[:0]).p.shape == (0, len(identify_tables().taxa))


def test_a_measured_confusion_stands_instead_of_characters(tmp_path):
    # invented counts of a double reading: of river cooters 60 % were written so and 40 % as sliders
    (tmp_path / "confusion.csv").write_text(
        "true_taxon,reported_taxon,probability,source\n"
        "Pseudemys concinna,Pseudemys concinna,0.6,invented\n"
        "Pseudemys concinna,Trachemys scripta,0.4,invented\n"
        "Trachemys scripta scripta,Trachemys scripta,1.0,invented\n",
        encoding="utf-8",
    )
    tables = identify_tables(tmp_path)
    with_characters = identities(table({}, LEATHERY), region=REGION, tables=tables)
    np.testing.assert_allclose(with_characters.p[0], with_characters.p[1])
    prior = tables.prior(REGION, month=5)
    cooter, slider = (tables.taxa.index(name) for name in ("Pseudemys concinna", "Trachemys scripta scripta"))
    p = with_characters.p[0]
    assert p[cooter] / p[slider] == pytest.approx(0.4 * prior[cooter] / prior[slider])  # by hand: Bayes' rule


MIXED = [
    {"taxon": "Trachemys scripta", "id_confidence": 0.8},
    {"taxon": "Pseudemys", "id_confidence": 0.5},
    {"taxon": "Graptemys barbouri", "id_confidence": 0.7},
    {"taxon": "Apalone mutica", "id_confidence": 0.6},
    {"taxon": None},
    LEATHERY,
]


@pytest.mark.parametrize("asked", ["Trachemys scripta", "Graptemys barbouri", "Graptemys", "Apalone", "Testudines"])
def test_names_are_drawn_as_often_as_they_are_probable(asked):
    said = of(table(*MIXED))
    drawn = said.drawn_within(asked, n_sets=4000, rng=np.random.default_rng(3))
    p = said.of(asked)
    # 4 standard errors of the binomial, six records
    np.testing.assert_array_less(np.abs(drawn.mean(axis=0) - p), 4 * np.sqrt(p * (1 - p) / 4000) + 1e-9)


def test_one_seed_draws_one_state_of_the_world_for_every_taxon():
    said = of(table(*MIXED))
    genus, species = (
        said.drawn_within(asked, n_sets=50, rng=np.random.default_rng(8))
        for asked in ("Pseudemys", "Pseudemys nelsoni")
    )
    assert not (species & ~genus).any()
