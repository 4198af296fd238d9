"""How much more often two names go with one animal than with two, given how sure the observers were."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_values import value
from roadwatch.records.fields import CONFIDENCE_WORDS
from roadwatch.records.sightings import numbers, words
from roadwatch.records.taxa import all_taxa

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

    from roadwatch.records.taxa import Taxon

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

EVEN_WEIGHT = 20.0
"""So many records are spread evenly over all taxa before the season's own are counted (a convention)."""


def name_log_odds(records: pd.DataFrame, left: Ints, right: Ints, *, taxa: Mapping[str, Taxon] | None = None) -> Floats:
    """
    Natural logarithm of P(both names | one animal) over P(both names | two animals) for pairs of records.

    Each name, weighed by how sure the observer was, becomes a probability for every terminal taxon: the confidence
    goes to the taxa within the name, the rest to the others of its family, by how common they are in the season
    itself. One animal has one taxon, so the odds are the sum over taxa of p_left p_right / p_season. A plain slip of
    the pen is always possible. A name given later by a second person stands for the observer's.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings``.
    left, right
        (k,) indices of the pairs.
    taxa
        The tree of taxa by name; None takes the one shipped.

    Source
    ------
    fellegi1969, confidence_convention
    """
    tree = all_taxa() if taxa is None else taxa
    kind, named = _named(records)
    leaf_odds = _leaf_odds(named, np.bincount(kind, minlength=len(named)), tree)
    pairs, back = np.unique(kind[left] * len(named) + kind[right], return_inverse=True)
    odds = _odds_of_pairs(leaf_odds, pairs // max(len(named), 1), pairs % max(len(named), 1))
    slip = value("slip")
    return np.asarray(np.log(slip + (1 - slip) * odds)[back.ravel()], dtype=np.float64)


def _odds_of_pairs(leaf_odds: tuple[Floats, Floats], one: Ints, other: Ints) -> Floats:
    belief, season = leaf_odds
    blocks = [slice(k, k + 50_000) for k in range(0, len(one), 50_000)]
    return np.concatenate([np.zeros(0), *[((belief[one[b]] * belief[other[b]]) @ (1 / season)) for b in blocks]])


def _named(records: pd.DataFrame) -> tuple[Ints, pd.DataFrame]:
    """Each record's number among the distinct pairs of name and confidence, and those pairs."""
    verified = words(records, "verified_taxon")
    name = words(records, "taxon").where(verified.isna(), verified).fillna("")
    sure = pd.Series(numbers(records, "id_confidence"), index=records.index).fillna(CONFIDENCE_WORDS["likely"])
    sure = sure.where(verified.isna(), CONFIDENCE_WORDS["certain"]).round(2)
    by_name, names = pd.factorize(name)
    kind, distinct = pd.factorize(by_name * 1000 + (sure * 100).round().to_numpy().astype(np.int64))
    named = pd.DataFrame({"name": np.asarray(names, dtype=object)[distinct // 1000], "sure": distinct % 1000 / 100})
    return kind.astype(np.int64), named


def _leaf_odds(named: pd.DataFrame, counts: Ints, taxa: Mapping[str, Taxon]) -> tuple[Floats, Floats]:
    """(k, leaves) belief of each distinct name, and (leaves,) how common each leaf is in the season."""
    parents = {taxon.parent for taxon in taxa.values()}
    leaves = [name for name in taxa if name not in parents]
    inside = {name: np.array([name in _line(leaf, taxa) for leaf in leaves]) for name in taxa}
    even = np.full(len(leaves), 1 / len(leaves))
    first = _beliefs(named, inside, even, taxa)
    season = (counts @ first + EVEN_WEIGHT * even) / (counts.sum() + EVEN_WEIGHT)
    return _beliefs(named, inside, season, taxa), season


def _beliefs(
    named: pd.DataFrame, inside: Mapping[str, npt.NDArray[np.bool_]], common: Floats, taxa: Mapping[str, Taxon]
) -> Floats:
    rows = [_belief(str(name), float(sure), inside, common, taxa) for name, sure in named.to_numpy()]
    return np.array(rows).reshape(len(named), len(common))


def _belief(
    name: str, sure: float, inside: Mapping[str, npt.NDArray[np.bool_]], common: Floats, taxa: Mapping[str, Taxon]
) -> Floats:
    if name not in inside:
        return np.asarray(common / common.sum())
    within = inside[name]
    families = [step for step in _line(name, taxa) if taxa[step].rank in {"family", "order"}]
    others = inside[families[0]] & ~within if families else np.zeros_like(within)
    if not others.any():
        sure = 1.0
    belief = sure * within * common / (within * common).sum()
    if others.any():
        belief = belief + (1 - sure) * others * common / (others * common).sum()
    return np.asarray(belief)


def _line(name: str, taxa: Mapping[str, Taxon]) -> list[str]:
    steps: list[str] = []
    while name in taxa:
        steps.append(name)
        name = taxa[name].parent
    return steps
