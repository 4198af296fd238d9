"""Hatch windows beside their nests: the state of each on a day, and the months of several together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.share.grid import LEAST_RECORDS

if TYPE_CHECKING:
    from datetime import date

WINDOW_STATES = ("not yet", "open", "over", "none")
"""Before, within or after early to late; ``none`` where no window could be given."""

# fmt: off
MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)
# fmt: on

_SHOWN = ("hatch_early", "hatch_likely", "hatch_late", "p_hatched", "basis", "sureness", "note")


def with_windows(nests: pd.DataFrame, windows: pd.DataFrame | None, *, today: date) -> pd.DataFrame:
    """
    Put each nest's window beside it, in columns that begin with ``window_``.

    Parameters
    ----------
    nests
        Table with ``nest_id``.
    windows
        Table with ``nest_id`` and the columns of a hatch window, at most one row a nest, or None.
    today
        The day for which ``window_state`` is told.

    Returns
    -------
    The nests in their order with ``window_early window_likely window_late window_p_hatched window_basis
    window_sureness window_note window_state``; blank where a nest has no window.
    """
    known = windows if windows is not None else pd.DataFrame({"nest_id": pd.Series([], dtype=object)})
    by_nest = known.drop_duplicates("nest_id").set_index("nest_id").reindex(columns=list(_SHOWN))
    beside = by_nest.reindex(nests["nest_id"]).set_axis(nests.index).rename(columns=_window_name)
    joined = nests.join(beside.astype(object).where(beside.notna(), None))
    states = [_state(early, late, today) for early, late in zip(joined.window_early, joined.window_late, strict=True)]
    return joined.assign(window_state=states)


def months_of(nests: pd.DataFrame) -> str:
    """
    Name the months that the windows of several nests touch, such as ``August to October``.

    Blank when fewer than three of them have a window: the months of one nest would be told.
    """
    dated = nests.dropna(subset=["window_early", "window_late"])
    if len(dated) < LEAST_RECORDS:
        return ""
    first = MONTHS[int(min(str(day) for day in dated.window_early)[5:7]) - 1]
    last = MONTHS[int(max(str(day) for day in dated.window_late)[5:7]) - 1]
    return first if first == last else f"{first} to {last}"


def _window_name(column: str) -> str:
    return "window_" + column.removeprefix("hatch_")


def _state(early: object, late: object, today: date) -> str:
    if pd.isna(early) or pd.isna(late):  # type: ignore[call-overload]  # a date text or a blank, never an array
        return "none"
    if today.isoformat() < str(early)[:10]:
        return "not yet"
    return "open" if today.isoformat() <= str(late)[:10] else "over"
