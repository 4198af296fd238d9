"""How many animals of each taxon to expect among records whose names are uncertain."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.hotspots.named_draws import pooled_interval

if TYPE_CHECKING:
    from roadwatch.identify.identities import Identities
    from roadwatch.roads.arrays import FloatArray

COLUMNS = ["taxon", "expected", "identity_variance", "low", "high"]


def counts_by_taxon(sure: Identities | None, animals: FloatArray) -> pd.DataFrame:
    """
    Count by probability, with the variance that uncertain names add to that of a count.

    Parameters
    ----------
    sure
        How sure we are of each of n records; None gives an empty table.
    animals
        (n,) Animals of each record: all of them are of one taxon.

    Returns
    -------
    ``taxon expected identity_variance low high``, most first: the animals of all taxa add up to those recorded; low
    to high holds the mean count of such a season with 95 %, names and chance taken together.

    Source
    ------
    rubin1987, garwood1936
    """
    if sure is None:
        return pd.DataFrame(columns=COLUMNS)
    outside = sorted({str(name) for name in sure.named[sure.own > 0]})
    rows = []
    for taxon in (*sure.tables.taxa, *outside):
        p = sure.of(taxon) if taxon in outside else sure.exactly(taxon)
        expected, variance = float(animals @ p), float(animals**2 @ (p * (1 - p)))
        rows.append((taxon, expected, variance, *pooled_interval(expected, expected + variance)))
    table = pd.DataFrame(rows, columns=COLUMNS).sort_values(["expected", "taxon"], ascending=[False, True])
    return table.reset_index(drop=True)
