"""Which taxa a nest may be of, from the name written, how sure its observer was, and what lives in the region."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.identify.confidence import probability_if_named, regional_weights
from roadwatch.records.fields import CONFIDENCE_WORDS

if TYPE_CHECKING:
    import pandas as pd


def with_verified_names(nests: pd.DataFrame) -> pd.DataFrame:
    """Put a second person's name in place of the observer's, as certain, where there is one."""
    verified = nests["verified_taxon"]
    known = verified.notna()
    taxon = nests["taxon"].where(~known, verified)
    sure = nests["id_confidence"].astype(float).where(~known, CONFIDENCE_WORDS["certain"])
    return nests.assign(taxon=taxon, id_confidence=sure)


def nest_candidates(nests: pd.DataFrame, *, region: str | None) -> dict[str, dict[str, float]]:
    """
    Spread the doubt about each nest's name over the taxa of the region.

    Parameters
    ----------
    nests
        Table of kind ``nests``; a nest without a taxon, without a stated certainty, or certain without doubt, is
        taken as written.
    region
        Key of the region whose commonness weighs look-alikes; None takes every nest as written.

    Returns
    -------
    Probability by taxon, for each nest that may be of several.

    Source
    ------
    confidence_convention
    """
    if region is None:
        return {}
    doubted = nests[nests["taxon"].notna() & nests["id_confidence"].notna() & (nests["id_confidence"] < 1)]
    found: dict[str, dict[str, float]] = {}
    for nest, named, sure in zip(doubted["nest_id"], doubted["taxon"], doubted["id_confidence"], strict=True):
        shares = {
            name: probability_if_named(name, str(named), float(sure), region) for name in regional_weights(region)
        }
        found[str(nest)] = {name: p for name, p in shares.items() if p > 0}
    return found
