"""Closing rows held back in earlier batches whose place the rows of a new batch take."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from roadwatch.records.store_discards import COUNT
from roadwatch.records.store_held_back import settle

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Mapping

    import pandas as pd

    from roadwatch.records.store_batches import Batch
    from roadwatch.records.store_held_back import Settled

Place = tuple[int, int]


def count_settled(
    connection: sqlite3.Connection, number: int, *, n_accepted: int, n_settled: int
) -> tuple[int, int, int]:
    """Move settled rows of a batch from held back to accepted or known; returns all, still held back, discarded."""
    connection.execute(
        "UPDATE batches SET accepted = accepted + ?1, known = known + ?2 - ?1, held_back = held_back - ?2 "
        "WHERE id = ?3",
        (n_accepted, n_settled, number),
    )
    query = f"SELECT rows_in, held_back, {COUNT} FROM batches WHERE id = ?"  # noqa: S608  # one of our own texts
    rows_in, held, discarded = connection.execute(query, (number,)).fetchone()
    return int(rows_in), int(held) - int(discarded), int(discarded)


def settle_mended(connection: sqlite3.Connection, number: int, batch: Batch, kept: pd.DataFrame) -> None:
    """Close the rows whose place the rows of a mended file take, those that are still at fault too."""
    if not batch.mends:
        return
    key_of = dict(zip(kept["line"].tolist(), kept["record_key"].tolist(), strict=True))
    closed = {place: key_of.get(line) for line, place in batch.mends.items()}
    _close(connection, closed, how="mended", when=batch.ingested_at, number=number)


def settle_replaced(connection: sqlite3.Connection, number: int, batch: Batch, kept: pd.DataFrame) -> int:
    """
    Close rows held back in older copies of a file; returns how many.

    One is closed only where its row in the newer copy is a record of which no row of the older copy told, or is held
    back again with the same wording.
    """
    if not batch.replaces:
        return 0
    key_of = dict(zip(kept["line"].tolist(), kept["record_key"].tolist(), strict=True))
    keys = [key for line in batch.replaces if (key := key_of.get(line))]
    told = {one: _told_by(connection, one, keys) for one in {place[0] for place in batch.replaces.values()}}
    closed: dict[Place, str | None] = {}
    for line, place in batch.replaces.items():
        key = key_of.get(line)
        is_sure = key not in told[place[0]] if key else _is_held_alike(connection, (number, line), place)
        if is_sure:
            closed[place] = key
    return _close(connection, closed, how="replaced", when=batch.ingested_at, number=number)


def _close(
    connection: sqlite3.Connection, closed: Mapping[Place, str | None], *, how: Settled, when: str, number: int
) -> int:
    n_closed = 0
    for earlier in {place[0] for place in closed}:
        places = [place for place in closed if place[0] == earlier]
        n_settled = settle(
            connection,
            places,
            how=how,
            when=when,
            batch=number,
            record_keys=[closed[place] for place in places],
        )
        count_settled(connection, earlier, n_accepted=0, n_settled=n_settled)
        n_closed += n_settled
    return n_closed


def _told_by(connection: sqlite3.Connection, number: int, keys: list[str]) -> set[str]:
    """Those of some records of which a batch tells; its rows are gone through once."""
    query = "SELECT record_id FROM source_rows WHERE batch = ? AND record_id IN (SELECT value FROM json_each(?))"
    return {key for (key,) in connection.execute(query, (number, json.dumps(keys)))}


def _is_held_alike(connection: sqlite3.Connection, one: Place, other: Place) -> bool:
    query = "SELECT original FROM held_back WHERE batch = ? AND line = ? AND settled_at IS NULL"
    wordings = [connection.execute(query, place).fetchone() for place in (one, other)]
    return wordings[0] is not None and wordings[0] == wordings[1]
