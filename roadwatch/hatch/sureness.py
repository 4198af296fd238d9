"""How far a window can be trusted, in three words, by rules that anybody can check."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from roadwatch.hatch.development import Sureness

LEVELS: tuple[Sureness, ...] = ("low", "medium", "high")

RULES = (
    "Sureness starts from the parameter set's own word. It falls one level for each of: taxon less than 90 % certain, "
    "laying span over a week (an assumed span makes it low), exposure not noted, fewer than 15 past years, no reading "
    "in the two weeks before the day asked for, flooding, a nest warmer or colder than the eggs that were measured. "
    "It rises one level where the nest's own logger and a seen laying day leave nothing of that to doubt."
)

CERTAIN_ENOUGH = 0.9
FEW_YEARS = 15
LONG_SPAN_DAYS = 7
STALE_DAYS = 14
"""Limits of the rules (convention)."""


def sureness_of(start: Sureness, *, doubts: Sequence[str], own_logger: bool, seen_laying: bool) -> Sureness:
    """
    Lower a set's sureness by one level a doubt, or raise it where the nest itself was measured.

    Parameters
    ----------
    start
        The parameter set's word; ``none`` stays none.
    doubts
        One entry for each rule that applies.
    own_logger, seen_laying
        Whether the nest's logger gave its temperatures, and whether somebody saw the laying.
    """
    if start == "none":
        return "none"
    level = LEVELS.index(start) - len(doubts)
    if not doubts and own_logger and seen_laying:
        level += 1
    return LEVELS[min(max(level, 0), len(LEVELS) - 1)]
