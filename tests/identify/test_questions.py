"""What to look at next tells most, can be seen from here, and stops when the answer stands."""

import numpy as np
import pytest
from scipy.stats import entropy

from roadwatch.identify.characters import VIEWS
from roadwatch.identify.evidence import answers_of
from roadwatch.identify.posterior import posterior, through_observer
from roadwatch.identify.questions import Look, entropy_bits, information_gain, next_questions

EVEN = np.array([0.5, 0.5])


def two(a, b):
    return np.array([[a, 1 - a], [b, 1 - b]])


@pytest.mark.parametrize(
    ("name", "reports", "bits"),
    [
        ("cusps", two(0.97, 0.02), 0.8320),
        ("dome", two(0.85, 0.40), 0.1640),
        ("red rim", two(0.68, 0.02), 0.4112),
        ("cusps as a novice sees them", through_observer(two(0.97, 0.02), np.array([[0.8, 0.2], [0.1, 0.9]])), 0.3548),
    ],
)  # by hand: 1 bit of doubt less the mean doubt after each report
def test_information_gain_by_hand(name, reports, bits):
    assert information_gain(EVEN, reports) == pytest.approx(bits, abs=5e-4), name


def test_entropy_is_that_of_scipy():
    p = np.random.default_rng(1).dirichlet(np.ones(30), size=20)
    np.testing.assert_allclose(entropy_bits(p), entropy(p, axis=1, base=2), atol=1e-12)
    assert entropy_bits(np.array([1.0, 0.0])) == 0.0


def test_information_gain_is_mutual_information_as_scipy_computes_it():
    rng = np.random.default_rng(2)
    for _ in range(20):
        prior, reports = rng.dirichlet(np.ones(8)), rng.dirichlet(np.ones(5), size=8)
        joint = prior[:, None] * reports
        independent = np.outer(joint.sum(1), joint.sum(0))
        assert information_gain(prior, reports) == pytest.approx(entropy(joint.ravel(), independent.ravel(), base=2))


def ask(tables, seen, *, view="in_hand", region="FL_peninsula", skill="trained", life_stage=None, **look):
    evidence = answers_of(seen, tables, view=view, skill=skill, life_stage=life_stage)
    return next_questions(
        evidence, tables, prior=tables.prior(region), look=Look(view, skill, life_stage=life_stage, **look)
    )


TWO_COOTERS = {"head_side": "thin_stripes_only", "scl_mm": "m230_319"}


@pytest.mark.parametrize(
    ("view", "expected"),
    [
        ("in_hand", {"head_top": 0.826, "upper_jaw": 0.696, "plastron_colour": 0.424}),
        ("from_above", {"carapace_pattern": 0.361, "carapace_outline": 0.358, "marginal_top_red": 0.327}),
        ("carcass", {"plastron_colour": 0.424, "carapace_pattern": 0.361, "carapace_outline": 0.358}),
    ],
)
def test_the_questions_of_a_separate_computation_are_asked(tables, view, expected):
    # reference: the same formula computed apart, without blackened animals and without 'other turtle', which move
    # each value by at most about a hundredth of a bit
    asked = {question.character.key: question.bits for question in ask(tables, TWO_COOTERS, view=view)}
    assert set(asked) == set(expected)
    for key, bits in expected.items():
        assert asked[key] == pytest.approx(bits, abs=0.015)


def test_the_posterior_behind_them_is_that_of_the_separate_computation(tables):
    # reference: PPE .456, PNE .456, doubt 1.578 bits
    evidence = answers_of(TWO_COOTERS, tables, view="in_hand", skill="trained")
    p = posterior(evidence, tables.matrix, prior=tables.prior("FL_peninsula"))[0]
    for taxon in ("Pseudemys peninsularis", "Pseudemys nelsoni"):
        assert p[tables.taxa.index(taxon)] == pytest.approx(0.456, abs=0.005)
    assert float(entropy_bits(p)) == pytest.approx(1.578, abs=0.03)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("seen", [{}, {"shell_cover": "hard_scutes"}, {"head_side": "thin_stripes_only"}])
def test_every_view_asks_only_what_it_can_show(tables, view, seen):
    asked = ask(tables, seen, view=view)
    assert 0 < len(asked) <= 3
    assert all(question.character.certainty[view] > 0 for question in asked)
    assert not set(seen) & {question.character.key for question in asked}


def test_a_carcass_without_a_head_is_never_asked_about_its_head(tables):
    seen = {}
    for _ in range(12):
        questions = ask(tables, seen, view="carcass")
        if not questions:
            break
        assert not any(question.character.needs_head for question in questions)
        seen[questions[0].character.key] = questions[0].character.states[0].key
    assert seen


def test_a_carcass_with_its_head_may_be_asked_about_it(tables):
    keys = {question.character.key for question in ask(tables, TWO_COOTERS, view="carcass", head_present=True)}
    assert "upper_jaw" in keys


def test_the_most_telling_comes_first(tables):
    bits = [question.bits for question in ask(tables, {})]
    assert bits == sorted(bits, reverse=True)


def test_it_stops_when_the_answer_would_not_change(tables):
    sure = {
        "shell_cover": "leathery", "snout": "snorkel", "soft_front_edge": "round_bumps", "scl_mm": "ge320",
        "carapace_outline": "pancake_leathery",
    }  # fmt: skip
    assert ask(tables, sure, skill="expert") == []


def test_a_genus_that_is_the_finest_of_the_tables_is_fine_enough(tables):
    map_turtle = {
        "keel": "knobs_or_spines", "head_top": "blotch_between_eyes", "head_side": "pale_blotch_joined",
        "rear_edge": "strongly_saw_toothed", "carapace_outline": "oval_medium_dome", "hinge": "none",
        "upper_jaw": "no_notch", "plastron_colour": "yellow_cream", "lower_jaw": "rounded_below",
    }  # fmt: skip
    assert ask(tables, map_turtle, region="AL_Mobile_delta", skill="expert") == []


def test_handling_comes_with_a_safety_word(tables):
    words = {key: character.safety for key, character in tables.characters.items()}
    for key in (
        "plastron_pattern",
        "plastron_colour",
        "marginal_underside",
        "hinge",
        "plastron_size",
        "pectoral_shape",
    ):
        assert "Never turn a snapper" in words[key]
        assert "Wash your hands" in words[key]
    for key in ("upper_jaw", "lower_jaw", "barbels"):
        assert "bite" in words[key]
    assert "never lift a turtle by its tail" in words["tail"]


def test_the_size_of_a_young_animal_is_never_asked(tables):
    asked = ask(tables, {"shell_cover": "hard_scutes"}, life_stage="hatchling", view="from_above")
    assert "scl_mm" not in {question.character.key for question in asked}


def test_no_question_promises_less_than_nothing(tables):
    assert all(question.bits > 0 for question in ask(tables, {"carapace_pattern": "plain_dark"}))
    assert all(0 <= question.p_change <= 1 + 1e-9 for question in ask(tables, {"carapace_pattern": "plain_dark"}))
