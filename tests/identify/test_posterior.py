"""Bayes' rule with a discount: small examples that can be worked by hand, a reference library, and invariances."""

from dataclasses import replace
from itertools import product

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simulated_records import SLIPS, simulate
from sklearn.naive_bayes import CategoricalNB

from roadwatch.identify.evidence import answers_of, evidence_of
from roadwatch.identify.posterior import DEFAULT_RHO, LEAST_LIKELIHOOD, likelihood, posterior, through_observer
from roadwatch.identify.scores import calibration_error, leading, log_scores, reliability
from roadwatch.identify.tables import identify_tables

TOLERANCE = 5e-4  # of the worked examples, which are given to so many places


def test_three_taxa_and_two_characters_by_hand(tiny):
    # by hand: .5*.85*.97 = .41225, .3*.02*.10 = .0006, .2*.10*.10 = .0020, sum .41485
    animal = tiny(
        {"smudges": [[0.85, 0.15], [0.02, 0.98], [0.10, 0.90]], "jaw": [[0.97, 0.03], [0.1, 0.9], [0.1, 0.9]]}
    )
    p = animal.posterior({"smudges": 0, "jaw": 0}, prior=[0.5, 0.3, 0.2])
    np.testing.assert_allclose(p, [0.99373, 0.00145, 0.00482], atol=TOLERANCE)


@pytest.mark.parametrize(("rho", "expected"), [(0, 0.98635), (0.25, 0.96845), (0.5, 0.94550), (1, 0.89474)])
def test_two_marks_of_one_group_count_less_than_twice(tiny, rho, expected):
    # by hand: ratio 72.25 to the power 2/(1 + rho); with rho 1 one mark alone, 8.5/(1 + 8.5)
    red = [[0.85, 0.15], [0.10, 0.90]]
    animal = tiny({"belly": red, "rim": red}, groups={"belly": "under", "rim": "under"})
    assert animal.posterior({"belly": 0, "rim": 0}, prior=[0.5, 0.5], rho=rho)[0] == pytest.approx(
        expected, abs=TOLERANCE
    )


def test_counting_less_than_twice_comes_nearer_to_what_two_marks_together_are_worth(tiny):
    # by hand: shown together by .80 of one taxon and .06 of the other: ratio 13.333, 13.333/14.333 = .93023
    together = tiny({"both": [[0.80, 0.20], [0.06, 0.94]]}).posterior({"both": 0}, prior=[0.5, 0.5])[0]
    assert together == pytest.approx(0.93023, abs=TOLERANCE)
    red = [[0.85, 0.15], [0.10, 0.90]]
    animal = tiny({"belly": red, "rim": red}, groups={"belly": "under", "rim": "under"})
    twice, less = (animal.posterior({"belly": 0, "rim": 0}, prior=[0.5, 0.5], rho=rho)[0] for rho in (0, DEFAULT_RHO))
    assert abs(less - together) < abs(twice - together)


def test_a_measured_share_of_none_is_rare_and_never_impossible():
    assert likelihood(np.array([[0.0, 1.0]]), (0,), slip=0.0)[0] == LEAST_LIKELIHOOD > 0


def test_marks_of_two_groups_count_whole(tiny):
    red = [[0.85, 0.15], [0.10, 0.90]]
    animal = tiny({"belly": red, "rim": red})
    assert animal.posterior({"belly": 0, "rim": 0}, prior=[0.5, 0.5], rho=1)[0] == pytest.approx(0.98635, abs=TOLERANCE)


def test_looked_and_absent_is_evidence_and_not_seen_is_none(tiny):
    # by hand: .03/(.03 + .98) = .02970
    animal = tiny({"cusps": [[0.97, 0.03], [0.02, 0.98]]})
    assert animal.posterior({"cusps": 1}, prior=[0.5, 0.5])[0] == pytest.approx(0.02970, abs=TOLERANCE)
    np.testing.assert_allclose(animal.posterior({}, prior=[0.5, 0.5]), [0.5, 0.5])


@pytest.mark.parametrize(
    ("sensitivity", "false", "state", "expected"),
    [(0.80, 0.10, 0, 0.87234), (0.98, 0.01, 0, 0.97001), (0.80, 0.10, 1, 0.19964), (0.98, 0.01, 1, 0.04815)],
)
def test_a_measured_observer_changes_what_a_report_is_worth(tiny, sensitivity, false, state, expected):
    # by hand: novice, reported: .80*.97 + .10*.03 = .779 against .80*.02 + .10*.98 = .114; .779/.893 = .87234
    reports = np.array([[sensitivity, 1 - sensitivity], [false, 1 - false]])
    animal = tiny({"cusps": through_observer(np.array([[0.97, 0.03], [0.02, 0.98]]), reports)})
    assert animal.posterior({"cusps": state}, prior=[0.5, 0.5])[0] == pytest.approx(expected, abs=TOLERANCE)


def test_one_good_character_does_not_overturn_a_low_prior(tiny):
    # by hand: .05*.85 = .0425 of .1375
    animal = tiny({"mark": [[0.10, 0.90], [0.10, 0.90], [0.85, 0.15]]})
    p = animal.posterior({"mark": 0}, prior=[0.5, 0.45, 0.05])
    np.testing.assert_allclose(p, [0.3636, 0.3273, 0.3091], atol=TOLERANCE)


def test_marks_that_vanish_together_are_modelled_together(tiny):
    # by hand: .9*.10*.20 + .1*.90*.95 = .1035; a second taxon that always shows both states gives the ratio
    no_blotch, plain = [[0.10, 0.90], [0.90, 0.10], [1, 0]], [[0.20, 0.80], [0.95, 0.05], [1, 0]]
    animal = tiny({"blotch": no_blotch, "pattern": plain}, form_taxon=[0, 0, 1], form_share=[0.9, 0.1, 1.0])
    p = animal.posterior({"blotch": 0, "pattern": 0}, prior=[0.5, 0.5])
    assert p[0] / p[1] == pytest.approx(0.1035, abs=TOLERANCE)
    alone = [animal.posterior({key: 0}, prior=[0.5, 0.5]) for key in ("blotch", "pattern")]
    assert np.prod([one[0] / one[1] for one in alone]) == pytest.approx(0.0495, abs=TOLERANCE)  # .18 * .275


def test_a_doubt_between_states_adds_their_probabilities():
    shares = np.array([[0.5, 0.3, 0.2]])
    assert likelihood(shares, (0, 1), slip=0.0)[0] == pytest.approx(0.8)
    assert likelihood(shares, (0, 1), slip=0.3)[0] == pytest.approx(0.7 * 0.8 + 0.3 * 2 / 3)  # by hand


def test_reports_of_all_states_add_to_one():
    shares = np.array([[0.5, 0.3, 0.2], [0.0, 0.0, 1.0]])
    total = sum(likelihood(shares, (k,), slip=0.15) for k in range(3))
    np.testing.assert_allclose(total, 1.0, atol=1e-9)


def test_without_slip_and_discount_it_is_naive_bayes(tables):
    """scikit-learn's CategoricalNB, fitted to every combination of states in the tables' shares, says the same."""
    keys = ["plastron_pattern", "head_side", "scl_mm"]
    shares = [tables.matrix.by_taxon(key)[:-1] for key in keys]
    every = np.array(list(product(*(range(rows.shape[1]) for rows in shares))))
    weight = np.prod([rows[:, every[:, at]] for at, rows in enumerate(shares)], axis=0)  # (taxa, combinations)
    n_taxa = len(weight)
    prior = tables.prior("FL_panhandle")[:-1] / 0.995
    model = CategoricalNB(alpha=1e-10, force_alpha=True, class_prior=prior)
    model.fit(np.tile(every, (n_taxa, 1)), np.repeat(np.arange(n_taxa), len(every)), sample_weight=weight.ravel())
    names = [np.array([state.key for state in tables.characters[key].states], dtype=object) for key in keys]
    seen = pd.DataFrame({f"seen_{key}": names[at][every[:, at]] for at, key in enumerate(keys)})
    perfect = replace(tables, slips=tables.slips | {"perfect": 0.0})
    ours = posterior(
        evidence_of(seen.assign(observer_skill="perfect"), perfect),
        without_forms(tables.matrix),
        prior=np.append(prior, 0.0),
        rho=0.0,
    )
    np.testing.assert_allclose(ours[:, :-1], model.predict_proba(every), atol=1e-9)


def without_forms(matrix):
    n_taxa = len(matrix.taxa)
    return replace(
        matrix,
        form_taxon=np.arange(n_taxa),
        form_share=np.ones(n_taxa),
        frequencies={key: matrix.by_taxon(key) for key in matrix.characters},
    )


SEEN = {"head_side": "thin_stripes_only", "scl_mm": "m230_319", "rump": "vertical_stripes", "keel": "looked_absent"}


def of(tables, seen, *, view="in_hand", skill="trained", region="FL_peninsula", life_stage=None, rho=DEFAULT_RHO):
    evidence = answers_of(seen, tables, view=view, skill=skill, life_stage=life_stage)
    return posterior(evidence, tables.matrix, prior=tables.prior(region), rho=rho)[0]


@given(order=st.permutations(list(SEEN)))
@settings(max_examples=12, deadline=None)
def test_the_order_of_evidence_changes_nothing(order):
    tables = identify_tables()
    np.testing.assert_allclose(of(tables, {k: SEEN[k] for k in order}), of(tables, SEEN), atol=1e-12)


@given(key=st.sampled_from(sorted(set(identify_tables().characters) - set(SEEN))))
@settings(max_examples=12, deadline=None)
def test_adding_not_seen_changes_nothing(key):
    tables = identify_tables()
    np.testing.assert_array_equal(of(tables, SEEN | {key: "not_seen"}), of(tables, SEEN))


def test_records_do_not_touch_each_other(tables):
    many = pd.DataFrame([{f"seen_{k}": v for k, v in SEEN.items()}, {"seen_shell_cover": "leathery"}, {}])
    evidence = evidence_of(many, tables)
    together = posterior(evidence, tables.matrix, prior=tables.prior("FL_peninsula"))
    alone = [
        posterior(evidence_of(many.iloc[[k]], tables), tables.matrix, prior=tables.prior("FL_peninsula"))[0]
        for k in range(3)
    ]
    np.testing.assert_allclose(together, alone, atol=1e-12)
    np.testing.assert_allclose(together[2], tables.prior("FL_peninsula"), atol=1e-12)


def test_each_record_may_have_its_own_prior(tables):
    seen = pd.DataFrame({"seen_shell_cover": ["hard_scutes", "hard_scutes"]})
    priors = np.array([tables.prior("FL_peninsula"), tables.prior("NC_VA_tidewater")])
    both = posterior(evidence_of(seen, tables), tables.matrix, prior=priors)
    one = posterior(evidence_of(seen.iloc[:1], tables), tables.matrix, prior=priors[1])
    np.testing.assert_allclose(both[1], one[0])


def test_a_novice_moves_the_prior_less_than_an_expert(tables):
    seen = {"upper_jaw": "notch_with_cusps", "plastron_colour": "orange_red_pink"}
    nelsoni = tables.taxa.index("Pseudemys nelsoni")
    novice, expert = (of(tables, seen, skill=skill)[nelsoni] for skill in ("novice", "expert"))
    assert tables.prior("FL_peninsula")[nelsoni] < novice < expert


def test_a_turtle_that_fits_nothing_goes_to_other_turtle(tables):
    # an invented animal: leathery, stumpy feet, three shell stripes, a snorkel and rings: no taxon of the tables
    odd = {
        "shell_cover": "leathery",
        "feet": "stumpy_or_shovel",
        "carapace_length_stripes": "three",
        "carapace_pattern": "ringed_scutes",
        "tail": "long_saw_toothed",
        "hinge": "two",
        "pectoral_shape": "triangular",
        "marginal_top_red": "present",
    }
    assert of(tables, odd, skill="expert")[-1] > 0.5


# reference: simulation limits of discount 0.25, half the characters seen, 15 % of looks taken from a relative,
# slip held at 0.07, in hand, 4,000 records: the calibration errors of a separate implementation of the same formula
REFERENCE_ERROR = {"character": 0.020, "group": 0.014, "record": 0.034}


@pytest.mark.parametrize("slip", SLIPS)
def test_stated_probabilities_hold_on_simulated_records(tables, slip):
    n = 3000
    records, truth = simulate(
        tables,
        region="FL_peninsula",
        n=n,
        slip=slip,
        share_of_slips=0.15,
        share_seen=0.5,
        rng=np.random.default_rng(20250601),
    )
    p = posterior(evidence_of(records, tables), tables.matrix, prior=tables.prior("FL_peninsula"))
    true = np.eye(len(tables.taxa), dtype=bool)[truth]
    sure, right = leading(p, true)
    table = reliability(sure, right)
    # chance alone: each bin's share errs by at most 2 standard errors of the binomial, weighed by its records
    chance = (table["n"] / n * 2 * np.sqrt(table["mean_sure"] * (1 - table["mean_sure"]) / table["n"])).sum()
    assert calibration_error(table) < REFERENCE_ERROR[slip] + chance


def test_the_discount_helps_where_a_whole_record_was_seen_wrongly(tables):
    records, truth = simulate(
        tables, region="FL_peninsula", n=3000, slip="record", share_of_slips=0.15, share_seen=0.5,
        rng=np.random.default_rng(5),
    )  # fmt: skip
    true = np.eye(len(tables.taxa), dtype=bool)[truth]
    evidence, prior = evidence_of(records, tables), tables.prior("FL_peninsula")
    log = {rho: log_scores(posterior(evidence, tables.matrix, prior=prior, rho=rho), true).mean() for rho in (0, 0.25)}
    assert log[0.25] < log[0]
