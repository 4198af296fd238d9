"""Report: what the nests did, in numbers that tell no place."""

from __future__ import annotations

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
        The public gets no number of fewer than three nests.
    """
    key, title = "nests", "What the nests did"
    try:
        found = season_outcomes(path, as_of=as_of)
    except NotEnoughDataError as error:
        return Section(key, title, lacking=f"{error}.")
    counts = {str(row["fate"]): int(row["nests"]) for row in found.counts.to_dict("records")}
    total = sum(counts.values())
    if audience == "public" and total < LEAST_RECORDS:
        return Section(
            key, title, lacking=f"Fewer than {LEAST_RECORDS} nests are on record: nothing is told of so few."
        )
    rows, hidden = _shown_counts(counts, audience)
    every = found.groups.iloc[0]
    sentences = [f"{counted(total, 'nest')} {'is' if total == 1 else 'are'} on record up to {as_of.isoformat()}."]
    if np.isfinite(every["success"]):
        sentences.append(
            f"Of 100 nests {100 * every['success']:.0f} came through the {every['period_days']:.0f} days from laying "
            f"to leaving ({100 * every['success_low']:.0f} to {100 * every['success_high']:.0f}, 95 %; "
            f"{_losses_words(int(every['losses']), audience)} in {every['exposure_days']:,.0f} days watched)."
        )
    else:
        sentences.append("No nest was seen emptied, so no success over the whole time is told.")
    if hidden:
        sentences.append(f"Endings of fewer than {LEAST_RECORDS} nests are put together as 'other'.")
    sentences.append(CAUTION)
    return Section(key, title, tuple(sentences), (), (Table("nests", "How nests ended so far", rows),))


def _losses_words(losses: int, audience: Audience) -> str:
    """Losses in number; the public is told no number under three."""
    if audience == "public" and losses < LEAST_RECORDS:
        return f"fewer than {LEAST_RECORDS} losses"
    return counted(losses, "loss", "losses")


def _shown_counts(counts: dict[str, int], audience: Audience) -> tuple[pd.DataFrame, bool]:
    """Endings with their nests; for the public those of fewer than three, with the next one, as other."""
    shown, other = dict(counts), 0
    if audience == "public":
        for fate, nests in sorted(counts.items(), key=lambda item: item[1]):
            if nests < LEAST_RECORDS or 0 < other < LEAST_RECORDS:
                other += shown.pop(fate)
    named = {FATES.get(fate, fate.replace("_", " ")): nests for fate, nests in shown.items()}
    if other:
        named["other"] = other
    return pd.DataFrame({"Ending": list(named), "Nests": list(named.values())}), bool(other)
