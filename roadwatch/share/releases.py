"""What a release may show, given all that earlier releases have shown: no difference of two tells one record."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.share.grid import LEAST_RECORDS

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

KEYS = ["kind", "record_key", "square"]
OPEN = ""
"""The square of a record that is shown where it lies."""

NOTHING_RELEASED = pd.DataFrame(
    {name: pd.Series([], dtype=object) for name in ("number", "first_released_at", *KEYS, "content")}
)


@dataclass(frozen=True)
class Release:
    """
    What one release shows.

    Parameters
    ----------
    shown
        ``kind record_key square content number first_released_at`` of every record in it: blank square where it is
        shown where it lies; number and first release blank for a record that no earlier release showed.
    came
        The rows of ``shown`` that are new, in an order that their content alone decides.
    changed
        Number and content of open records that are shown otherwise than before.
    left
        Numbers of records that earlier releases showed and this one does not.
    kept_open
        Names of records that must be masked by now and were shown where they lie before; they stay as first shown.
    """

    shown: pd.DataFrame
    came: pd.DataFrame
    changed: tuple[tuple[int, str], ...]
    left: tuple[int, ...]
    kept_open: frozenset[str]

    @property
    def squares(self) -> pd.DataFrame:
        """``kind square records``: how many records each square shows, by square."""
        masked = self.shown[self.shown["square"] != OPEN]
        return masked.groupby(["kind", "square"], sort=True).size().rename("records").reset_index()


def numbered(release: Release, *, standing: pd.DataFrame) -> Release:
    """
    The same release with the numbers that its records got when it was noted.

    Parameters
    ----------
    release
        What a release shows.
    standing
        What the union of all releases shows, with this one.
    """
    shown = release.shown.drop(columns=["number", "first_released_at"])
    named = shown.merge(standing[["number", "first_released_at", *KEYS]], on=KEYS, how="left")
    return replace(release, shown=named[list(release.shown)])


def plan_release(masked: pd.DataFrame, in_the_open: pd.DataFrame, *, standing: pd.DataFrame) -> Release:
    """
    Decide what a release shows, so that no two releases differ by fewer than three masked records of a square.

    A square shows a fixed set of records, not a running count. Records that came since wait until three of the same
    square and kind have gathered, then all of them enter together; records that went (corrected, undone, moved) stay
    counted until three have gone, then leave together; a square left with fewer than three closes. So every count
    that the public sees changes by groups of at least three, whoever compares which releases, and the first and the
    last count cannot be split by those between. Classes of counts (3 to 9, 10 to 29 ...) were not chosen: a class
    changes by one record too, at its edge.

    A record shown where it lies can become one to be masked, when a second person names it otherwise. Taking it out,
    or renaming it, would point at it; so it stays as it was first shown and is counted in no square. Open records
    that left the season go three at a time for the same reason: one that was read in anew under another name would
    look like one deleted.

    Whoever knows all records of a square but one, from elsewhere, still learns that one; no count of three hides it.

    Parameters
    ----------
    masked
        ``kind record_key square`` of the records that only their square may show.
    in_the_open
        ``kind record_key content`` of the records that may be shown where they lie, and what is shown of them.
    standing
        What the union of all earlier releases shows; ``NOTHING_RELEASED`` for the first.

    Source
    ------
    chapman2020
    """
    was_open = standing["square"] == OPEN
    opened, squared = standing[was_open], standing[~was_open]
    turned = frozenset(opened["record_key"]) & frozenset(_names(masked, "crossings"))
    masked = masked[~((masked["kind"] == "crossings") & masked["record_key"].isin(turned))]
    stay, enter, left = _squares(masked, squared)
    open_stay, open_enter, changed, open_left = _open(in_the_open, opened, turned)
    came = pd.concat([open_enter, enter], ignore_index=True).sort_values(["square", "kind", "content"], kind="stable")
    shown = pd.concat([open_stay, stay, came], ignore_index=True)
    return Release(shown, came.reset_index(drop=True), changed, (*open_left, *left), turned)


def _names(table: pd.DataFrame, kind: str) -> pd.Series:
    return table.loc[table["kind"] == kind, "record_key"]


def _squares(masked: pd.DataFrame, standing: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame, list[int]]:
    """Which records stay in their squares, which enter, and the numbers of those that leave."""
    both = standing.merge(masked[KEYS], on=KEYS, how="outer", indicator=True)
    is_new, is_gone = (both["_merge"] == "right_only").to_numpy(), (both["_merge"] == "left_only").to_numpy()
    waits = _in_group(is_new, both) < LEAST_RECORDS
    lingers = _in_group(is_gone, both) < LEAST_RECORDS
    is_in = ~((is_new & waits) | (is_gone & ~lingers))
    is_in &= _in_group(is_in, both) >= LEAST_RECORDS
    rows = both.drop(columns="_merge").assign(content=OPEN)
    left = [int(number) for number in rows.loc[~is_in & ~is_new, "number"]]
    blank = rows[is_in & is_new].assign(number=None, first_released_at=None).sort_values(KEYS)
    return rows[is_in & ~is_new], blank, left


def _in_group(is_so: NDArray[np.bool_], rows: pd.DataFrame) -> NDArray[np.int64]:
    """For each row, how many rows of its kind and square are so."""
    groups = pd.Series(is_so.astype(np.int64)).groupby([rows["kind"].to_numpy(), rows["square"].to_numpy()])
    return groups.transform("sum").to_numpy(dtype=np.int64)


def _open(
    current: pd.DataFrame, standing: pd.DataFrame, turned: Collection[str]
) -> tuple[pd.DataFrame, pd.DataFrame, tuple[tuple[int, str], ...], list[int]]:
    """Which open records stay, which enter, which are shown otherwise, and the numbers of those that leave."""
    content = dict(zip(current["record_key"], current["content"], strict=True))
    is_gone = ~(standing["record_key"].isin(content) | standing["record_key"].isin(turned))
    leaves = is_gone & (is_gone.sum() >= LEAST_RECORDS)
    told = [content.get(key, old) for key, old in zip(standing["record_key"], standing["content"], strict=True)]
    stay = standing.assign(content=told)
    is_other = (stay["content"] != standing["content"]) & ~leaves
    changed = tuple(
        zip(stay.loc[is_other, "number"].astype(int), stay.loc[is_other, "content"].astype(str), strict=True)
    )
    enter = current[~current["record_key"].isin(standing["record_key"])]
    enter = enter.assign(square=OPEN, number=None, first_released_at=None)
    return stay[~leaves], enter, changed, [int(number) for number in standing.loc[leaves, "number"]]
