"""Opening a season file safely: one transaction a write, and every fault of the file told in plain words."""

from __future__ import annotations

import sqlite3
from contextlib import closing, contextmanager, suppress
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.records import store_schema
from roadwatch.records.store_migrations import MIGRATIONS
from roadwatch.records.store_schema import APPLICATION_ID

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

SQLITE_MAGIC = b"SQLite format 3\x00"
LOCK_WAIT_S = 30.0
"""How long a second writer waits for the first."""

PRAGMAS = ("synchronous = FULL", "foreign_keys = ON", "cache_size = -65536")
"""FULL waits until the disk has what is stored."""

BUSY = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)
READ_ELSEWHERE = (
    "is open in another program that goes on reading it; close it there and repeat this step: nothing of it was stored"
)

TOLD: tuple[tuple[tuple[int, ...], str], ...] = (
    (BUSY, "is being written by another program; try again when it is done"),
    ((sqlite3.SQLITE_READONLY,), "cannot be written; give yourself the right to change the file and its folder"),
    ((sqlite3.SQLITE_FULL,), "cannot grow, the disk is full; nothing of this step was stored: make room and repeat it"),
    (
        (sqlite3.SQLITE_IOERR,),
        "cannot be read or written by the disk; check its room and connection, then repeat this step",
    ),
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
def writing(path: Path, *, has_foreign_keys: bool = True) -> Iterator[sqlite3.Connection]:
    """
    Open a season to write: all that is done in one block is stored, or none of it.

    Raises
    ------
    UnfitFileError
        Another program is writing or goes on reading, the disk is full, or the file is read-only or damaged.
    """
    with _told_plainly(path), closing(connect(path)) as connection:
        connection.execute(f"PRAGMA foreign_keys = {'ON' if has_foreign_keys else 'OFF'}")
        with suppress(sqlite3.OperationalError):  # another program may hold the file in its own mode, which is safe too
            connection.execute("PRAGMA journal_mode = DELETE")  # leaves no file beside the closed season
        connection.execute("BEGIN IMMEDIATE")
        try:
            yield connection
            connection.execute("COMMIT")
        except BaseException as error:
            connection.rollback()
            if isinstance(error, sqlite3.DatabaseError) and _family(error) in BUSY:
                raise UnfitFileError(f"{path} {READ_ELSEWHERE}") from error
            raise


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


def reserve(path: Path) -> None:
    """
    Make the empty file, so that two makers of one name cannot both succeed.

    Raises
    ------
    UsageError
        The file exists, or cannot be made.
    """
    try:
        path.open("xb").close()
    except FileExistsError as error:
        raise UsageError(f"{path} exists; choose another name, or add to this season with 'ingest'") from error
    except OSError as error:
        raise UsageError(f"{path} cannot be made ({error.strerror}); check the folder and your right to it") from error


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
        _migrate(path)


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


def _migrate(path: Path) -> None:
    """Keep a copy beside the season, then take it step by step to today's schema in one transaction."""
    copy: Path | None = None
    try:
        with writing(path, has_foreign_keys=False) as connection:
            version = _schema_version(connection, path)
            if version == store_schema.SCHEMA_VERSION:
                return  # another process was faster
            copy = _free_name(path, version)
            with closing(connect(path)) as unchanged, closing(sqlite3.connect(copy)) as new:
                unchanged.backup(new)  # the writing connection itself would wait for its own lock
            for step in range(version, store_schema.SCHEMA_VERSION):
                MIGRATIONS[step](connection)
            connection.execute(
                "UPDATE settings SET value = ? WHERE name = 'schema_version'", (str(store_schema.SCHEMA_VERSION),)
            )
    except BaseException:
        if copy:
            copy.unlink(missing_ok=True)
        raise


def _free_name(path: Path, version: int) -> Path:
    """A name beside the season that no file has, so that no older copy is overwritten."""
    names = (f"{path.stem}.schema-{version}{extra}{path.suffix}" for extra in ("", *(f"-{n}" for n in range(2, 1000))))
    return next(free for free in map(path.with_name, names) if not free.exists())


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
    return next((said for codes, said in TOLD if _family(error) in codes), None)


def _family(error: sqlite3.DatabaseError) -> int:
    """The family of an extended code of SQLite is its low byte."""
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF
