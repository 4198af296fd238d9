"""What an evaluation may say: never that a measure works because its interval happens to be wide."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

NOTES = (
    (
        "Deaths are records found on searches, doubles merged, one each however many animals; a record near an end of "
        "a measure counts inside and outside by the chance that it lies there (its position error); chance finds "
        "are not used. Road never searched before or never after the measure is unknown and left out on both "
        "sides."
    ),
    (
        "ratio: deaths per search-kilometre after over before, on the measure's road over its controls' (the "
        "sections of about 500 m most alike in rate before, kind of road, traffic and nearness to water, at "
        "least 500 m from every measure), with its 95 % interval."
    ),
    (
        "Regression to the mean: measures are built where counts were high, and high counts fall by "
        "themselves. ratio_corrected puts what the rates before let expect, once the county's spread of rates "
        "around those of like sections is known, in the place of the counts before, on both sides. Where the place was "
        "chosen because it is truly dangerous for a reason that neither traffic nor water on file tells, no method "
        "can know it from its counts: the correction is too strict there and ratio is the fairer; where its limits "
        "were drawn around its deaths it is still too hopeful. So a fall or a rise is told only where both show it."
    ),
    (
        "with_ends counts the 200 m of road outside the measure's ends in, so that deaths that moved there "
        "are no success; ends_ratio looks at those 200 m alone (columns of --json and of files)."
    ),
    "smallest_fall_seen: the smallest fall that this much search would have shown in 80 of 100 cases, by simulation.",
    (
        "Searches by car and on foot find different shares: where one side's methods changed and the other's "
        "did not, the ratio is of methods, not of the measure. A carcass found in the first days may be from "
        "before."
    ),
    (
        "Statistics show where and how much, not why. Changes to a fence, sign or speed limit need the road "
        "authority and licensed engineers; fences need passages."
    ),
)

REGRESSION_NOTE = 3
"""Behind this note stands towards what the rates before are drawn."""

CLOSE = 1.05
"""A ratio under this is written with two digits after the point, so that 1.04 does not read as no change."""


def share(value: float) -> str:
    """Write a share as percent."""
    return f"{100.0 * value:.0f} %"


def verdict_of(row: Mapping[str, float]) -> str:
    """
    Put a row into plain words; a fall or a rise is told only where the ratio as counted and the corrected one show it.

    Parameters
    ----------
    row
        ``ratio_low ratio_high corrected_low corrected_high with_ends_high ends_low smallest_fall_seen``; nan where
        unknown.
    """
    low, high = row["corrected_low"], row["corrected_high"]
    if high < 1.0 and row["ratio_high"] < 1.0:
        told = f"fewer deaths than expected without it: between {share(1.0 - high)} and {share(1.0 - low)} fewer"
        if row["with_ends_high"] >= 1.0:
            told += "; with the road at its ends counted in a fall is not shown, deaths may have moved there"
    elif low > 1.0 and row["ratio_low"] > 1.0:
        told = f"more deaths than expected without it: {low:.1f} to {high:.1f} times as many"
    else:
        if not low <= 1.0 <= high:
            low, high = row["ratio_low"], row["ratio_high"]
        told = f"not shown: these records fit anything from {_change(low)} to {_change(high)}; {_seen(row)}"
    if row["ends_low"] > 1.0:
        told += "; more deaths at its ends than the controls let expect, they may have moved there"
    return told


def _change(ratio: float) -> str:
    if math.isinf(ratio):
        return "any number of times as many"
    return (
        f"{share(1.0 - ratio)} fewer deaths" if ratio < 1.0 else f"{ratio:.{2 if ratio < CLOSE else 1}f} times as many"
    )


def _seen(row: Mapping[str, float]) -> str:
    fall = row["smallest_fall_seen"]
    if math.isnan(fall):
        return "with this much search not even the end of all deaths there would surely be seen"
    return f"with this much search you could have seen a fall of {share(fall)}"
