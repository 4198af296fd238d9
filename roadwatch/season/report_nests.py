"""Report: what the nests did, in numbers that tell no place."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.season.outcomes import CAUTION, season_outcomes
from roadwatch.season.report_words import counted
from roadwatch.share.grid import LEAST_RECORDS
from roadwatch.share.report_parts import Section, Table

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from roadwatch.share.masking import Audience

KEY, TITLE = "nests", "What the nests did"
STEP = 5
"""The public hears of nests in steps of so many (a convention)."""

FATES = {
    "emerged": "emerged",
    "in_ground": "still in the ground",
    "hatched_waiting": "hatched and waiting in the nest",
    "lost": "lost",
}


def nests_section(path: Path, *, as_of: date, audience: Audience) -> Section:
    """
    How nests ended so far, success with its interval, and what is still in the ground.

    Parameters
    ----------
    path
        The season file: numbers over all nests tell no place.
    as_of
        Later visits are not used.
    audience
        The public gets rounded numbers, and none of few.
    """
    try:
        found = season_outcomes(path, as_of=as_of)
    except NotEnoughDataError as error:
        return Section(KEY, TITLE, lacking=f"{error}.")
    counts = {str(row["fate"]): int(row["nests"]) for row in found.counts.to_dict("records")}
    every = found.groups.iloc[0]
    if audience == "public":
        return _for_everybody(counts, every, as_of=as_of)
    total = sum(counts.values())
    sentences = [f"{counted(total, 'nest')} {'is' if total == 1 else 'are'} on record up to {as_of.isoformat()}."]
    if np.isfinite(every["success"]):
        sentences.append(
            f"Of 100 nests {100 * every['success']:.0f} came through the {every['period_days']:.0f} days from laying "
            f"to leaving ({100 * every['success_low']:.0f} to {100 * every['success_high']:.0f}, 95 %; "
            f"{counted(int(every['losses']), 'loss', 'losses')} in {every['exposure_days']:,.0f} days watched)."
        )
    else:
        sentences.append("No nest was seen emptied, so no success over the whole time is told.")
    named = {FATES.get(fate, fate.replace("_", " ")): nests for fate, nests in counts.items()}
    rows = pd.DataFrame({"Ending": list(named), "Nests": list(named.values())})
    tables = (Table("nests", "How nests ended so far", rows),)
    return Section(KEY, TITLE, (*sentences, CAUTION), (), tables)


def _for_everybody(counts: dict[str, int], every: pd.Series, *, as_of: date) -> Section:
    """Rounded numbers only: two reports a week apart must not tell how one nest ended."""
    total = sum(counts.values()) // STEP * STEP
    if not total:
        return Section(KEY, TITLE, lacking=f"Fewer than {STEP} nests are on record: nothing is told of so few.")
    sentences = [
        f"At least {total} nests are on record up to {as_of.isoformat()}, in steps of {STEP}; no single one is told of."
    ]
    if counts.get("emerged", 0) >= LEAST_RECORDS and every["losses"] >= LEAST_RECORDS and np.isfinite(every["success"]):
        low, high = math.floor(10 * every["success_low"]), math.ceil(10 * every["success_high"])
        sentences.append(
            f"Of ten nests about {10 * every['success']:.0f} came through from laying to leaving ({low} to {high}, 95 "
            "%, rounded outward)."
        )
    else:
        sentences.append("Too few were seen to end for a share that came through.")
    return Section(KEY, TITLE, (*sentences, CAUTION))
