"""Which taxa a nest may be of: from marks seen, or from the name written and how sure its observer was."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.identify.identities import CHARACTERS, UNKNOWN, identities
from roadwatch.identify.tables import identify_tables
from roadwatch.records.fields import CONFIDENCE_WORDS

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.identify.tables import Tables


def with_verified_names(nests: pd.DataFrame) -> pd.DataFrame:
    """Put a second person's name in place of the observer's, as certain, where there is one."""
    verified = nests["verified_taxon"]
    known = verified.notna()
    taxon = nests["taxon"].where(~known, verified)
    sure = nests["id_confidence"].astype(float).where(~known, CONFIDENCE_WORDS["certain"])
    return nests.assign(taxon=taxon, id_confidence=sure)


def nest_candidates(
    nests: pd.DataFrame, *, region: str | None, tables: Tables | None = None
) -> dict[str, dict[str, float]]:
    """
    Spread the doubt about each nest's name over the taxa of the region.

    Parameters
    ----------
    nests
        Table of kind ``nests``. Without marks seen, a nest without a taxon, without a stated certainty, or certain
        without doubt, is taken as written.
    region
        Key of the region whose commonness weighs look-alikes; None, or one of which nothing says how common taxa
        are, takes every nest as written.
    tables
        The tables; None is the shipped set.

    Returns
    -------
    Probability by taxon, for each nest that may be of several.

    Source
    ------
    confidence_convention
    """
    tables = tables or identify_tables()
    if region not in tables.priors:
        return {}
    table = nests.reset_index(drop=True)
    sure = identities(table, region=region, tables=tables)
    is_doubted = (table["taxon"].notna() & (table["id_confidence"].astype(float) < 1)).to_numpy(dtype=bool)
    spread = (sure.basis == CHARACTERS) | (is_doubted & (sure.basis != UNKNOWN))
    found: dict[str, dict[str, float]] = {}
    for row in np.flatnonzero(spread):
        shares = {name: float(p) for name, p in zip(tables.taxa, sure.p[row], strict=True)}
        if sure.own[row] > 0:  # a name that the tables do not hold stands for itself
            shares[tables.taxa[sure.place[row]]] -= float(sure.own[row])
            shares[str(sure.named[row])] = float(sure.own[row])
        found[str(table["nest_id"].iloc[row])] = {name: p for name, p in shares.items() if p > 0}
    return found
