"""A county's own tables: checked once, kept beside the season file, used by every later command."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.hatch.development import hatch_tables
from roadwatch.identify.table_files import TABLE_FILES
from roadwatch.identify.tables import identify_tables
from roadwatch.records.taxa import taxonomy_of

if TYPE_CHECKING:
    from pathlib import Path

    from roadwatch.records.store import Season

HATCH_FILES = ("development.csv", "emergence.csv", "regions.csv")
SETTING = "own_tables"


def check_tables(folder: Path) -> tuple[str, ...]:
    """
    Read every table of a folder as the commands will, and name those that were found.

    Parameters
    ----------
    folder
        Files named and shaped like those in the package's ``data`` folder; each replaces or extends the shipped one.

    Returns
    -------
    Names of the files found.

    Raises
    ------
    UsageError
        The folder does not exist.
    UnfitFileError
        A table does not fit, or none of the files is one that is read.
    """
    if not folder.is_dir():
        raise UsageError(f"{folder} is not a folder; name the folder that holds your tables")
    known = ("taxa.csv", *TABLE_FILES, *HATCH_FILES)
    found = tuple(name for name in known if (folder / name).is_file())
    if not found:
        raise UnfitFileError(f"{folder} holds none of the tables that can be replaced: {', '.join(known)}")
    taxonomy_of(folder)
    identify_tables(folder)
    hatch_tables(folder)
    return found


def keep_tables(folder: Path, season_path: Path) -> Path:
    """Copy the known tables of a folder beside a season file; returns the copy, named like the season."""
    kept = season_path.with_suffix(".tables")
    kept.mkdir()
    for name in check_tables(folder):
        shutil.copyfile(folder / name, kept / name)
    return kept


def tables_folder(season: Season) -> Path | None:
    """
    The folder of a season's own tables; None where it uses the shipped ones.

    Raises
    ------
    UnfitFileError
        The season was made with its own tables and they no longer lie beside it.
    """
    name = season.settings.get(SETTING)
    if not name:
        return None
    folder: Path = season.path.parent / name
    if not folder.is_dir():
        raise UnfitFileError(
            f"{season.path} was made with its own tables, and the folder {folder} is missing; "
            "put it back beside the season"
        )
    return folder
