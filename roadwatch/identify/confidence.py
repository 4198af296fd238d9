"""From what a record says to the probability that the animal is of the taxon asked for."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.identify.identities import identities, spread_name
from roadwatch.identify.tables import Tables, identify_tables

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray


def asked_taxon(name: str, *, tables: Tables | None = None) -> str:
    """
    The canonical name of a taxon that a user asks for.

    Parameters
    ----------
    name
        Any name a person writes.
    tables
        The tables; None is the shipped set.

    Raises
    ------
    UsageError
        The name is in no table; the message proposes near ones.
    """
    taxonomy = (tables or identify_tables()).tree.taxonomy
    found = taxonomy.read_name(name).taxon
    if found is None:
        near = taxonomy.suggest(name)
        cure = f"did you mean {' or '.join(near)}?" if near else "write a scientific or English name"
        raise UsageError(f"taxon '{name}' is not known; {cure}")
    return found


def regional_weights(region: str | None, *, tables: Tables | None = None) -> dict[str, float]:
    """
    How common each taxon is in a region, as shares that add to 1; alike for all where no region is named.

    Source
    ------
    judgement
    """
    tables = tables or identify_tables()
    return dict(zip(tables.taxa, tables.prior(region).tolist(), strict=True))


@cache
def probability_if_named(
    asked: str, named: str, confidence: float, region: str | None, *, tables: Tables | None = None
) -> float:
    """
    Probability that an animal is of the taxon asked for, given the name an observer wrote and how sure they were.

    Parameters
    ----------
    asked, named
        Canonical names.
    confidence
        Probability 0 to 1 that the name as written is right.
    region
        Key of the region, or None for equal shares.
    tables
        The tables; None is the shipped set.

    Source
    ------
    confidence_convention
    """
    tables = tables or identify_tables()
    spread = spread_name(named, confidence, tables, prior=tables.prior(region))
    inside = [tables.tree.is_within(taxon, asked) for taxon in tables.taxa]
    itself = float(tables.tree.is_within(named, asked)) - float(inside[spread.place])
    return float(spread.p[inside].sum() + spread.own * itself)


def probability_of(
    asked: str, records: pd.DataFrame, *, region: str | None, tables: Tables | None = None
) -> NDArray[np.float64]:
    """
    Probability that each record is of the taxon asked for.

    Parameters
    ----------
    asked
        Canonical name of the taxon, of any rank.
    records
        (n,) rows of kind ``crossings`` or ``nests``; ``seen_*`` columns decide where they are filled.
    region
        Key of the region; None takes all taxa as equally common.
    tables
        The tables; None is the shipped set.

    Returns
    -------
    (n,) probabilities.

    Source
    ------
    confidence_convention
    """
    return identities(records, region=region, tables=tables).of(asked)


def probability_sensitive(
    records: pd.DataFrame, *, region: str | None, tables: Tables | None = None
) -> NDArray[np.float64]:
    """
    Probability that each record is of any taxon whose places are kept from the public.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings`` or ``nests``.
    region
        Key of the region; None takes all taxa as equally common.
    tables
        The tables; None is the shipped set.

    Returns
    -------
    (n,) probabilities.

    Source
    ------
    confidence_convention
    """
    return identities(records, region=region, tables=tables).sensitive()
