"""A season as Darwin Core Archives: occurrences with their probabilities, and searches as events."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.identify.identities import identities
from roadwatch.identify.tables import identify_tables
from roadwatch.share.archives import About, ArchiveTable, darwin_core_archive
from roadwatch.share.darwin_core import (
    OPEN_RIGHTS,
    confidence_facts,
    found_in_searches,
    public_occurrences,
    search_events,
    taxon_facts,
    team_occurrences,
)
from roadwatch.share.masking import TEAM_WORDS

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date
    from pathlib import Path

    from roadwatch.records.taxonomy import Taxonomy


def public_archive(rows: pd.DataFrame, *, title: str, as_of: date, words: tuple[str, ...], taxonomy: Taxonomy) -> bytes:
    """Write what everybody may have: occurrences in the open, squares with a count, and how sure names were."""
    core = public_occurrences(rows, taxonomy=taxonomy)
    facts = confidence_facts(rows["public_id"], rows["id_confidence"])
    about = About(title, as_of.isoformat(), words, OPEN_RIGHTS)
    return darwin_core_archive(core, [ArchiveTable("MeasurementOrFact", facts)], about=about)


def team_archives(
    held: Mapping[str, pd.DataFrame], *, title: str, as_of: date, region: str | None, own_tables: Path | None
) -> dict[str, tuple[bytes, int]]:
    """
    Write what the team may have.

    An archive has one core, and a fact of an extension belongs to a row of the core. Probabilities belong to
    occurrences, so the first archive has these as its core; searches, also those that found nothing, are the core of
    a second one, with what they found as its extension.

    Parameters
    ----------
    held
        The season's ``crossings nests searches``.
    title, as_of
        What the archives are called, and the day of publication.
    region, own_tables
        What probabilities of taxa rest on; without a region there are none but those that observers stated.

    Returns
    -------
    The archives by what is added to the file's name (nothing, ``events``), each with the rows of its core.
    """
    tables = identify_tables(own_tables)
    occurrences = team_occurrences(held["crossings"], held["nests"], taxonomy=tables.tree.taxonomy)
    stated = pd.concat([held["crossings"]["id_confidence"], held["nests"]["id_confidence"]], ignore_index=True)
    ids = occurrences.rows["occurrenceID"]
    facts = [confidence_facts(ids, stated)]
    if region in tables.priors and len(held["crossings"]):
        sure = identities(held["crossings"], region=region, tables=tables)
        own = ids.iloc[: len(held["crossings"])]
        facts.append(taxon_facts(own, sure.p, tuple(tables.taxa), basis=sure.basis))
    about = About(f"{title} (team only)", as_of.isoformat(), (TEAM_WORDS,), TEAM_WORDS)
    measured = ArchiveTable("MeasurementOrFact", pd.concat(facts, ignore_index=True))
    made = {"": (darwin_core_archive(occurrences, [measured], about=about), len(occurrences.rows))}
    if len(held["searches"]):
        events = search_events(held["searches"])
        found = found_in_searches(occurrences, events)
        made["events"] = (darwin_core_archive(events, [found], about=about), len(events.rows))
    return made
