"""What visits have already settled about a nest: some outcomes end its window, and none of them is guessed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd

ENDED: dict[str, str] = {
    "depredated_full": "no window: found fully depredated on {day}",
    "failed_undeveloped": "no window: opened on {day} and found undeveloped",
    "failed_other": "no window: found failed on {day}",
    "crushed_or_mown": "no window: found crushed or mown on {day}",
    "relocated_by_permit": "no window: its eggs were moved by permit on {day}; their new place decides",
    "emerged": "no window: hatchlings had emerged by {day}",
}
"""Outcomes after which nothing is projected."""

HATCHED_WAITING = "hatched_overwintering"

EMERGING = "emerging"

HATCHED = (HATCHED_WAITING, EMERGING)
"""Outcomes that show the eggs hatched, with hatchlings that may still be in the nest."""

REMARKED: dict[str, str] = {
    "flooded": "flooded when seen on {day}; eggs may have died, the window says when living ones hatch",
    "depredated_partial": "partly depredated by {day}",
    "lost_marker": "marker not found on {day}",
}
"""Outcomes that leave the window standing, with a word."""


@dataclass(frozen=True)
class Visited:
    """An outcome that matters for the window, with the local day on which it was seen."""

    outcome: str
    day: str

    @property
    def ended(self) -> str | None:
        """The sentence that stands in place of a window, if the nest is past one."""
        return ENDED[self.outcome].format(day=self.day) if self.outcome in ENDED else None

    @property
    def hatched(self) -> bool:
        """Whether the eggs were seen to have hatched while hatchlings may still be in the nest."""
        return self.outcome in HATCHED

    @property
    def remark(self) -> str | None:
        """A word for the note, if the outcome leaves the window standing."""
        return REMARKED[self.outcome].format(day=self.day) if self.outcome in REMARKED else None


def last_outcomes(checks: pd.DataFrame | None, *, as_of: date) -> dict[str, Visited]:
    """
    Read what visits up to a day have settled.

    Parameters
    ----------
    checks
        Table with ``nest_id checked_at outcome``, or None.
    as_of
        Later visits are not used.

    Returns
    -------
    By nest: its latest ending outcome; else the latest that shows it hatched; else the latest that is remarked on.
    Nests seen intact, or not visited, are not in it.
    """
    if checks is None or checks.empty:
        return {}
    table = checks.reindex(columns=["nest_id", "checked_at", "outcome"]).dropna()
    table = table[table["checked_at"].str[:10] <= as_of.isoformat()]
    weights = {**dict.fromkeys(REMARKED, 1), **dict.fromkeys(HATCHED, 2), **dict.fromkeys(ENDED, 3)}
    table = table.assign(weight=table["outcome"].map(weights)).dropna(subset=["weight"])
    table = table.sort_values(["nest_id", "weight", "checked_at"], kind="stable").drop_duplicates(
        "nest_id", keep="last"
    )
    return {
        str(nest): Visited(str(outcome), str(at)[:10])
        for nest, at, outcome in zip(table["nest_id"], table["checked_at"], table["outcome"], strict=True)
    }
