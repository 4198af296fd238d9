"""From a name and how sure the observer was to the probability that the animal is of the taxon asked for."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import UsageError
from roadwatch.records.fields import CONFIDENCE_WORDS
from roadwatch.records.taxa import all_taxa, is_within, lineage, read_name, suggest

if TYPE_CHECKING:
    from numpy.typing import NDArray

BLANK_CONFIDENCE = CONFIDENCE_WORDS["likely"]
"""Taken where an observer left ``id_confidence`` blank; a stated convention, no source."""


@cache
def regional_weights(region: str | None) -> dict[str, float]:
    """
    How common each terminal taxon is in a region, as weights; alike for all where no region is named.

    Source
    ------
    judgement
    """
    with (files("roadwatch") / "data" / "priors.csv").open(encoding="utf-8") as file:
        table = pd.read_csv(file)
    table["taxon"] = [read_name(name).taxon for name in table["taxon"]]
    if region not in set(table["region"]):
        return dict.fromkeys(table["taxon"].unique(), 1.0)
    rows = table[table["region"] == region]
    return dict(zip(rows["taxon"], rows["prior"].astype(float), strict=True))


def asked_taxon(name: str) -> str:
    """
    The canonical name of a taxon that a user asks for.

    Raises
    ------
    UsageError
        The name is in no table; the message proposes near ones.
    """
    found = read_name(name).taxon
    if found is None:
        near = suggest(name)
        cure = f"did you mean {' or '.join(near)}?" if near else "write a scientific or English name"
        raise UsageError(f"taxon '{name}' is not known; {cure}")
    return found


def family_of(taxon: str) -> str:
    """The family of a taxon, or its order where it is coarser than a family."""
    coarse = [name for name in lineage(taxon) if all_taxa()[name].rank in {"family", "order"}]
    return coarse[0]


def _share(candidates: list[str], asked: str, weights: dict[str, float]) -> float:
    """The weight of those candidates that are the taxon asked for, as a share of all."""
    total = sum(weights[name] for name in candidates)
    return sum(weights[name] for name in candidates if is_within(name, asked)) / total if total else 0.0


@cache
def probability_if_named(asked: str, named: str, confidence: float, region: str | None) -> float:
    """
    Probability that an animal is of the taxon asked for, given the name an observer wrote and how sure they were.

    The observer's probability goes to the taxa within the name, the rest to the other taxa of its family, each by how
    common it is in the region. Nothing is dropped: over all terminal taxa the probabilities add to 1.

    Parameters
    ----------
    asked, named
        Canonical names.
    confidence
        Probability 0 to 1 that the name as written is right.
    region
        Key of the region, or None for equal weights.

    Source
    ------
    confidence_convention
    """
    weights = regional_weights(region)
    within = [name for name in weights if is_within(name, named)]
    family = family_of(named)
    others = [name for name in weights if is_within(name, family) and name not in within]
    right = _share(within, asked, weights) if within else float(is_within(named, asked))
    if not others:
        return right
    return confidence * right + (1 - confidence) * _share(others, asked, weights)


def probability_of(asked: str, records: pd.DataFrame, *, region: str | None) -> NDArray[np.float64]:
    """
    Probability that each record is of the taxon asked for.

    A name given later by a second person stands in place of the observer's, as ``certain``.

    Parameters
    ----------
    asked
        Canonical name of the taxon, of any rank.
    records
        (n,) rows of kind ``crossings`` or ``nests``.
    region
        Key of the region whose commonness weighs look-alikes; None weighs them alike.

    Returns
    -------
    (n,) probabilities.

    Source
    ------
    confidence_convention
    """
    verified = records["verified_taxon"]
    named = verified.where(verified.notna(), records["taxon"])
    sure = records["id_confidence"].astype(float).fillna(BLANK_CONFIDENCE)
    sure = sure.where(verified.isna(), CONFIDENCE_WORDS["certain"])
    pairs = pd.MultiIndex.from_arrays([named, sure])
    codes, unique = pd.factorize(pairs)
    values = [probability_if_named(asked, str(name), float(confidence), region) for name, confidence in unique]
    return np.asarray(values, dtype=float)[codes] if len(records) else np.zeros(0)
