"""Opening a season file safely: one transaction a write, and every fault of the file told in plain words."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records import store_schema
from roadwatch.records.store_schema import APPLICATION_ID, MIGRATIONS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SQLITE_MAGIC = b"SQLite format 3\x00"
LOCK_WAIT_S = 30.0
"""How long a second writer waits for the first."""

PRAGMAS = ("journal_mode = DELETE", "synchronous = FULL", "foreign_keys = ON", "cache_size = -65536")
"""A rollback journal leaves no file beside the closed season; FULL waits until the disk has it."""

TOLD: tuple[tuple[tuple[int, ...], str], ...] = (
    ((sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED), "is being written by another program; try again when it is done"),
    ((sqlite3.SQLITE_READONLY,), "cannot be written; give yourself the right to change the file and its folder"),
    ((sqlite3.SQLITE_FULL,), "cannot grow, the disk is full; nothing of this step was stored: make room and repeat it"),
    ((sqlite3.SQLITE_IOERR,), "cannot be read or written by the disk; check the disk or connection, then repeat"),
    ((sqlite3.SQLITE_CANTOPEN,), "cannot be opened; check your right to use the file and its folder"),
    ((sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB), "is damaged; go back to your last copy of it"),
)


@contextmanager
def reading(path: Path) -> Iterator[sqlite3.Connection]:
    """Open a season to read; everything read in one block belongs to the same state of the file."""
    with _told_plainly(path), closing(connect(path)) as connection:
        connection.execute("BEGIN")
        yield connection
        connection.rollback()


@contextmanager
def writing(path: Path) -> Iterator[sqlite3.Connection]:
    """
    Open a season to write: all that is done in one block is stored, or none of it.

    Raises
    ------
    UnfitFileError
        Another program is writing, the disk is full, or the file is read-only or damaged.
    """
    with _told_plainly(path), closing(connect(path)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
        except BaseException:
            connection.rollback()
            raise
        connection.execute("COMMIT")


def connect(path: Path) -> sqlite3.Connection:
    """Open an existing file in SQLite with the settings that keep a season whole."""
    address = f"{path.resolve().as_uri()}?mode=rw"
    connection = sqlite3.connect(address, uri=True, timeout=LOCK_WAIT_S, isolation_level=None)
    try:
        for pragma in PRAGMAS:
            connection.execute(f"PRAGMA {pragma}")
    except BaseException:
        connection.close()
        raise
    return connection


def check_season_file(path: Path) -> None:
    """
    Refuse what is not a season, in words that say what to do instead; bring an older season up to date.

    Raises
    ------
    UsageError
        The file does not exist.
    UnfitFileError
        The file is empty, of another kind, damaged, cut short, or from a newer version.
    """
    if not path.is_file():
        what = "is a folder, not a season file" if path.is_dir() else "does not exist"
        raise UsageError(f"{path} {what}; check the name, or start a season with 'roadwatch new'")
    _check_first_bytes(path)
    with reading(path) as connection:
        _check_tables(connection, path)
        version = _schema_version(connection, path)
    if version < store_schema.SCHEMA_VERSION:
        _migrate(path, version)


def _check_first_bytes(path: Path) -> None:
    try:
        with path.open("rb") as file:
            first = file.read(len(SQLITE_MAGIC))
    except OSError as error:
        raise UnfitFileError(f"{path} cannot be read ({error.strerror}); check your right to use it") from error
    if not first:
        raise UnfitFileError(f"{path} is empty; delete it and start a season with 'roadwatch new'")
    if first != SQLITE_MAGIC:
        raise UnfitFileError(
            f"{path} is not a season file; name the file made by 'roadwatch new', and take in others with 'ingest'"
        )


def _check_tables(connection: sqlite3.Connection, path: Path) -> None:
    (application_id,) = connection.execute("PRAGMA application_id").fetchone()
    tables = {name for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")}
    if application_id != APPLICATION_ID or not {"settings", "batches", "source_rows"} <= tables:
        kind = "a GeoPackage" if application_id == APPLICATION_ID else "a database"
        raise UnfitFileError(
            f"{path} is {kind} but not a season; start one with 'roadwatch new', and take in this file with "
            "'ingest' or 'layer'"
        )


def _schema_version(connection: sqlite3.Connection, path: Path) -> int:
    row = connection.execute("SELECT value FROM settings WHERE name = 'schema_version'").fetchone()
    if row is None or not str(row[0]).isdigit():
        raise UnfitFileError(f"{path} does not say its schema version; go back to your last copy of it")
    version = int(row[0])
    if version > store_schema.SCHEMA_VERSION:
        raise UnfitFileError(
            f"{path} was made by a newer version of this program (schema {version}, this one knows "
            f"{store_schema.SCHEMA_VERSION}); install the newer version"
        )
    return version


def _migrate(path: Path, version: int) -> None:
    """Keep a copy beside the season, then take it step by step to today's schema in one transaction."""
    copy = path.with_name(f"{path.stem}.schema-{version}{path.suffix}")
    with _told_plainly(path), closing(connect(path)) as old, closing(sqlite3.connect(copy)) as new:
        old.backup(new)
    with writing(path) as connection:
        for step in range(_schema_version(connection, path), store_schema.SCHEMA_VERSION):
            MIGRATIONS[step](connection)
        connection.execute(
            "UPDATE settings SET value = ? WHERE name = 'schema_version'", (str(store_schema.SCHEMA_VERSION),)
        )


@contextmanager
def _told_plainly(path: Path) -> Iterator[None]:
    try:
        yield
    except sqlite3.DatabaseError as error:
        sentence = _sentence_for(error)
        if sentence is None:
            raise
        raise UnfitFileError(f"{path} {sentence}") from error


def _sentence_for(error: sqlite3.DatabaseError) -> str | None:
    if "no such function: ST_" in str(error):
        return "has a spatial index that another program added and that keeps this one from writing; remove it there"
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the low byte is the family of an extended code
    return next((said for codes, said in TOLD if code in codes), None)
