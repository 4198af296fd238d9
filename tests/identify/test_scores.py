"""Scores agree with hand examples and with general reference libraries."""

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binomtest
from sklearn.calibration import calibration_curve
from sklearn.metrics import brier_score_loss, log_loss

from roadwatch.identify.scores import (
    LOG_FLOOR,
    brier_scores,
    calibration_error,
    leading,
    log_scores,
    reliability,
    wilson_limits,
)

SAID = np.array([0.9, 0.8, 0.7, 0.6, 0.95])
CAME = np.array([1, 1, 0, 1, 1])


def two_sided(said, came):
    """A yes/no forecast as two taxa."""
    p = np.column_stack([said, 1 - said])
    return p, np.column_stack([came == 1, came == 0])


def test_yes_or_no_forecasts_by_hand():
    p, true = two_sided(SAID, CAME)
    assert brier_scores(p, true).mean() / 2 == pytest.approx(0.1405, abs=5e-4)  # (.01+.04+.49+.16+.0025)/5
    assert log_scores(p, true).mean() == pytest.approx(0.41892, abs=5e-4)


@pytest.mark.parametrize(("truth", "expected"), [(0, 0.14), (1, 1.14)])
def test_three_taxa_by_hand(truth, expected):
    # by hand: .09 + .04 + .01 and .49 + .64 + .01
    assert brier_scores(np.array([[0.7, 0.2, 0.1]]), np.eye(3, dtype=bool)[[truth]])[0] == pytest.approx(expected)


def test_calibration_error_by_hand():
    # by hand: 10/50*|.60-.65| + 20/50*|.80-.85| + 20/50*|.95-.97| = .038
    table = pd.DataFrame({"n": [10, 20, 20], "mean_sure": [0.65, 0.85, 0.97], "share_right": [0.6, 0.8, 0.95]})
    assert calibration_error(table) == pytest.approx(0.038)


def test_scores_agree_with_scikit_learn():
    rng = np.random.default_rng(8)
    p = rng.dirichlet(np.ones(6), size=500)
    truth = np.array([rng.choice(6, p=row) for row in p])
    true = np.eye(6, dtype=bool)[truth]
    assert log_scores(p, true).mean() == pytest.approx(log_loss(truth, p, labels=range(6)), abs=1e-9)
    assert brier_scores(p, true).mean() == pytest.approx(
        brier_score_loss(truth, p, labels=list(range(6)), scale_by_half=False), abs=1e-9
    )


def test_the_reliability_table_agrees_with_scikit_learn():
    rng = np.random.default_rng(9)
    said = rng.random(800)
    came = rng.random(800) < said
    table = reliability(said, came)
    shares, means = calibration_curve(came, said, n_bins=10)
    np.testing.assert_allclose(table["share_right"], shares)
    np.testing.assert_allclose(table["mean_sure"], means)
    assert table["n"].sum() == 800


@pytest.mark.parametrize(("n_right", "n"), [(0, 5), (3, 5), (5, 5), (80, 100), (4000, 5000)])
def test_wilson_limits_are_those_of_scipy(n_right, n):
    low, high = wilson_limits(np.array([float(n_right)]), np.array([float(n)]))
    reference = binomtest(n_right, n).proportion_ci(method="wilson")
    assert (low[0], high[0]) == pytest.approx((reference.low, reference.high), abs=1e-9)


def test_limits_of_nothing_are_everything():
    low, high = wilson_limits(np.zeros(1), np.zeros(1))
    assert (low[0], high[0]) == (0.0, 1.0)


def test_a_truth_said_to_be_impossible_costs_the_floor_and_no_more():
    score = log_scores(np.array([[1.0, 0.0]]), np.array([[False, True]]))[0]
    assert score == pytest.approx(-np.log(LOG_FLOOR))


def test_a_coarse_truth_counts_as_one_answer():
    # by hand: the verified genus holds the first two: .5 + .3 = .8; (1-.8)^2 + .2^2 = .08
    p, true = np.array([[0.5, 0.3, 0.2]]), np.array([[True, True, False]])
    assert brier_scores(p, true)[0] == pytest.approx(0.08)
    assert log_scores(p, true)[0] == pytest.approx(-np.log(0.8))
    sure, right = leading(p, true)
    assert (sure[0], right[0]) == (pytest.approx(0.8), True)


def test_the_leading_answer_is_right_or_wrong_as_it_was_given():
    sure, right = leading(np.array([[0.6, 0.4], [0.6, 0.4]]), np.array([[True, False], [False, True]]))
    assert sure.tolist() == [0.6, 0.6]
    assert right.tolist() == [True, False]


def test_empty_bins_are_left_out_and_the_ends_are_in():
    table = reliability(np.array([0.0, 0.05, 1.0]), np.array([False, False, True]))
    assert table["n"].tolist() == [2, 1]
    assert table[["sure_from", "sure_to"]].iloc[-1].tolist() == [0.9, 1.0]


def test_no_record_has_no_calibration_error():
    assert np.isnan(calibration_error(reliability(np.zeros(0), np.zeros(0, dtype=bool))))
