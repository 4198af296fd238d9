"""Which of an animal's records tells best what it was, where several people recorded it."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Hashable

    import pandas as pd

VERIFIED, MARKS, NAME = 2, 1, 0
"""A second person's name tells more than marks that were seen, and those more than a name, as in identification."""

_SEEN = "seen_"
_NAMED_BY = ("taxon", "id_confidence", "verified_taxon", "verified_by", "verified_how", "observer_skill", "view")


def with_best_identity(kept: pd.DataFrame, records: pd.DataFrame) -> pd.DataFrame:
    """
    Give each animal the name, marks and verification of the record that tells them best.

    They are taken whole from one record, never joined from two; the record that stands for the animal keeps its own
    where no other tells more.

    Parameters
    ----------
    kept
        (animals,) the record that stands for each ``animal``.
    records
        (n,) every record of those animals, first those that come first where they tell as much.
    """
    told = _told(records)
    best = records.loc[told.groupby(records["animal"]).idxmax()].set_index("animal")
    better = told.groupby(records["animal"]).max().loc[kept["animal"]].to_numpy() > _told(kept).to_numpy()
    if not better.any():
        return kept
    result, animals = kept.copy(), kept.loc[better, "animal"]
    for column in _columns(kept):
        result[column] = result[column].astype(object)
        result.loc[better, column] = best[column].astype(object).loc[animals].to_numpy()
        result[column] = result[column].astype(kept[column].dtype)
    return result


def _told(records: pd.DataFrame) -> pd.Series:
    """How much each record tells of what it was."""
    marks = [name for name in records.columns if str(name).startswith(_SEEN)]
    has_marks = (records[marks].notna() & (records[marks] != "not_seen")).any(axis=1)
    told = has_marks.map({True: MARKS, False: NAME}).astype(int)
    return told.mask(records["verified_taxon"].notna(), VERIFIED)


def _columns(records: pd.DataFrame) -> list[Hashable]:
    return [name for name in records.columns if name in _NAMED_BY or str(name).startswith(_SEEN)]
