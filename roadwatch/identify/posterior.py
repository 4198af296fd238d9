"""From answers to the probability of each taxon: Bayes' rule with a discount for marks that go together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse import csr_array

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.identify.evidence import Answer, Evidence
    from roadwatch.identify.frequencies import Matrix

DEFAULT_RHO = 0.25
"""Correlation taken within a group of characters; found by simulating slips of one look, a group, a whole record."""

LEAST_LIKELIHOOD = 1e-12
"""No state is impossible, whatever a measured share of 0 says."""

_BLOCK = 16_384
"""Records at a time, so that a block stays in the processor's cache."""


def likelihood(frequencies: NDArray[np.float64], states: tuple[int, ...], *, slip: float) -> NDArray[np.float64]:
    """
    Probability that one of these states is reported, by form.

    A share ``slip`` of looks goes wrong and lands on any state alike. A doubt between states adds their probabilities.

    Parameters
    ----------
    frequencies
        (forms, states) shares.
    states
        Positions of the states reported.
    slip
        0 to 1.

    Returns
    -------
    (forms,) probabilities.
    """
    reported = frequencies[:, list(states)].sum(axis=1)
    return np.asarray(np.maximum((1 - slip) * reported + slip * len(states) / frequencies.shape[1], LEAST_LIKELIHOOD))


def through_observer(frequencies: NDArray[np.float64], reports: NDArray[np.float64]) -> NDArray[np.float64]:
    """
    What is reported of each form, where an observer's habits were measured state by state.

    Parameters
    ----------
    frequencies
        (forms, states) shares.
    reports
        (states, states) row: the true state, column: what is reported of it; each row adds to 1.

    Returns
    -------
    (forms, states) shares of reports.
    """
    return np.asarray(frequencies @ reports)


def log_likelihoods(answers: tuple[Answer, ...], matrix: Matrix) -> NDArray[np.float64]:
    """(answers, forms) logarithm of the probability of each distinct answer."""
    rows = [
        np.log(likelihood(matrix.frequencies[answer.character], answer.states, slip=answer.slip)) for answer in answers
    ]
    return np.array(rows) if rows else np.zeros((0, len(matrix.form_taxon)))


def group_weights(evidence: Evidence, matrix: Matrix, *, rho: float) -> NDArray[np.float64]:
    """
    Weight of each answer: 1 for a character alone in its group, less where its group was looked at more.

    With ``n`` characters of a group answered, each weighs ``1 / (1 + rho (n - 1))``: the design effect. ``rho`` 0 is
    plain naive Bayes, ``rho`` 1 lets a whole group count as one average character.

    Returns
    -------
    (entries,) weights.

    Source
    ------
    kish1965
    """
    groups = {group: k for k, group in enumerate(dict.fromkeys(c.group for c in matrix.characters.values()))}
    of_answer = np.array([groups[matrix.characters[a.character].group] for a in evidence.answers], dtype=np.intp)
    cell = evidence.record * len(groups) + of_answer[evidence.answer]
    n_in_group = np.bincount(cell, minlength=evidence.n_records * len(groups))[cell]
    return np.asarray(1 / (1 + rho * (n_in_group - 1)))


def posterior(
    evidence: Evidence, matrix: Matrix, *, prior: NDArray[np.float64], rho: float = DEFAULT_RHO
) -> NDArray[np.float64]:
    """
    Probability of each taxon for each record.

    Parameters
    ----------
    evidence
        What was seen.
    matrix
        How often each taxon shows what.
    prior
        (taxa,) for all records alike, or (records, taxa).
    rho
        Correlation within a group of characters.

    Returns
    -------
    (records, taxa) probabilities; each row adds to 1.

    Source
    ------
    kish1965
    """
    by_form = form_posterior(evidence, matrix, prior=prior, rho=rho)
    return np.asarray(np.add.reduceat(by_form, matrix.form_start, axis=1))


def form_posterior(
    evidence: Evidence, matrix: Matrix, *, prior: NDArray[np.float64], rho: float = DEFAULT_RHO
) -> NDArray[np.float64]:
    """
    Probability of each form of each taxon for each record; arguments as of :func:`posterior`.

    Returns
    -------
    (records, forms) probabilities; each row adds to 1.

    Source
    ------
    kish1965
    """
    weights = csr_array(
        (group_weights(evidence, matrix, rho=rho), (evidence.record, evidence.answer)),
        shape=(evidence.n_records, len(evidence.answers)),
    )
    log_table = log_likelihoods(evidence.answers, matrix)
    with np.errstate(divide="ignore"):  # a taxon of prior 0 stays at 0
        log_prior = np.log(np.atleast_2d(prior)[:, matrix.form_taxon] * matrix.form_share)
    result = np.empty((evidence.n_records, len(matrix.form_taxon)))
    for start in range(0, evidence.n_records, _BLOCK):
        block = slice(start, start + _BLOCK)
        score = result[block]
        score[:] = np.asarray(weights[block] @ log_table)
        score += log_prior if len(log_prior) == 1 else log_prior[block]
        score -= score.max(axis=1, keepdims=True)
        np.exp(score, out=score)
        score /= score.sum(axis=1, keepdims=True)
    return result
