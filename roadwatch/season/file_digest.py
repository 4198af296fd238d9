"""What a file is known by: a digest of its bytes, and of those of the files that belong to it."""

from __future__ import annotations

import hashlib
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.season.shown import shown

if TYPE_CHECKING:
    from pathlib import Path

SHAPEFILE_PARTS = (".shx", ".dbf", ".prj", ".cpg")
"""Endings of the files without which a shapefile says something else."""


def digest_of(path: Path) -> str:
    """
    SHA-256 of a file, streamed; a folder, and a file with others beside it, by the names and bytes of all.

    Raises
    ------
    UsageError
        There is no such file or folder.
    UnfitFileError
        It cannot be read, or is neither a file nor a folder.
    """
    if not path.exists():
        raise UsageError(f"{shown(path)} does not exist; check the name")
    if not path.is_file() and not path.is_dir():
        raise UnfitFileError(f"{shown(path)} is neither a file nor a folder; name a file of records")
    try:
        return _of_folder(path) if path.is_dir() else _of_file_and_parts(path)
    except OSError as error:
        raise UnfitFileError(f"{shown(path)} cannot be read ({error.strerror}); check your right to use it") from error


def _of_file_and_parts(path: Path) -> str:
    parts = [path.with_name(f"{path.name}-wal")]
    if path.suffix.lower() == ".shp":
        parts += [path.with_suffix(end) for ending in SHAPEFILE_PARTS for end in (ending, ending.upper())]
    present = [part for part in parts if part.is_file()]
    return _of_many([path, *present], path.parent) if present else _of_file(path)


def _of_folder(folder: Path) -> str:
    return _of_many([path for path in folder.rglob("*") if path.is_file() and not path.is_symlink()], folder)


def _of_many(paths: list[Path], folder: Path) -> str:
    named = sorted((path.relative_to(folder).as_posix(), path) for path in paths)
    digest = hashlib.sha256()
    for name, path in named:
        digest.update(f"{name}\x1f{_of_file(path)}\x1e".encode("utf-8", "surrogateescape"))
    return digest.hexdigest()


def _of_file(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
