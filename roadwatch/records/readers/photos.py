"""Geotagged photographs, one, a folder or an archive of them: each is a crossing whose animal is still to be named."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import partial
from typing import IO, TYPE_CHECKING

from roadwatch.errors import UsageError
from roadwatch.records.readers.archives import PHOTO_ENDINGS, is_shown, opened_archive
from roadwatch.records.readers.content import ACCEPTED, name_of
from roadwatch.records.readers.exif import COLUMNS, NotAPhotoError, PhotoFacts, read_photo
from roadwatch.records.readers.limits import LARGEST_PHOTO_MB, MOST_PHOTOS
from roadwatch.records.readers.wording import counted, unfit
from roadwatch.records.tables import RawTable, RowFault

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from pathlib import Path


@dataclass(frozen=True)
class _Photo:
    """A photograph that waits: its name, its size, and how to open it."""

    name: str
    n_bytes: int
    opened: Callable[[], AbstractContextManager[IO[bytes]]]


def read_photo_file(path: Path) -> list[RawTable]:
    """
    Read one photograph.

    Raises
    ------
    UnfitFileError
        It is damaged.
    """
    photo = _Photo(path.name, path.stat().st_size, _opener(path))
    return [_table([photo], source=name_of(path), others=[])]


def read_photo_folder(folder: Path) -> list[RawTable]:
    """
    Read the JPEG photographs that lie in a folder, in the order of their names; links are not followed.

    Returns
    -------
    One table of crossings with blank ``taxon``; lines count the photographs from 1.

    Raises
    ------
    UsageError
        There is no such folder.
    UnfitFileError
        It holds no photograph, or more than a camera's folder does.
    """
    source = name_of(folder)
    try:
        entries = sorted(folder.iterdir(), key=lambda path: path.name)
    except FileNotFoundError as error:
        raise UsageError(f"{folder}: there is no such folder; check the name") from error
    except OSError as error:
        raise unfit(
            source, found="a folder that cannot be opened", expected=ACCEPTED, cure="check the permissions"
        ) from error
    photos = [path for path in entries if _is_photo(path)]
    others = [_other(path) for path in entries if path not in set(photos) and not path.name.startswith(".")]
    waiting = [_Photo(path.name, path.stat().st_size, _opener(path)) for path in photos]
    return [_table(waiting, source=source, others=others)]


def read_zipped_photos(path: Path) -> list[RawTable]:
    """
    Read the JPEG photographs of a zip archive, in whatever folder of it.

    Raises
    ------
    UnfitFileError
        The archive is damaged or made to harm.
    """
    with opened_archive(path) as archive:
        members = [one for one in archive.infolist() if is_shown(one.filename) and not one.is_dir()]
        photos = sorted((one for one in members if _has_photo_ending(one.filename)), key=lambda one: one.filename)
        others = [one.filename for one in members if not _has_photo_ending(one.filename)]
        waiting = [_Photo(one.filename, one.file_size, partial(archive.open, one)) for one in photos]
        return [_table(waiting, source=name_of(path), others=others)]


def _table(photos: list[_Photo], *, source: str, others: list[str]) -> RawTable:
    if not 0 < len(photos) <= MOST_PHOTOS:
        raise unfit(
            source,
            found=f"{counted(len(photos), 'JPEG photograph')}{_listed(others)}",
            expected=f"1 to {MOST_PHOTOS}",
            cure="name the files in it one by one, or save the pictures as JPEG",
        )
    refused, source = source, f"{source}, photographs"
    rows: list[dict[str, str | None]] = []
    lines: list[int] = []
    faults: list[RowFault] = []
    for number, photo in enumerate(photos, start=1):
        try:
            facts = _read(photo)
        except NotAPhotoError as error:
            faults.append(_unreadable(source, number, photo, error))
            continue
        row = {**dict.fromkeys(COLUMNS), **facts.cells, "photo": photo.name}
        rows.append(row)
        lines.append(number)
        faults.extend(_doubts(source, number, row, facts))
    if not rows:
        raise unfit(
            refused,
            found=f"{counted(len(photos), 'photograph')}, none readable ({faults[0].reason})",
            expected="JPEG photographs",
            cure="copy them from the camera again",
        )
    return RawTable.of_columns(
        source,
        {name: [row[name] for row in rows] for name in COLUMNS},
        lines=lines,
        originals=[_original(row) for row in rows],
        notes=_notes(rows, others),
        faults=tuple(faults),
        kind="crossings",
    )


def _read(photo: _Photo) -> PhotoFacts:
    if photo.n_bytes > LARGEST_PHOTO_MB * 1_000_000:
        raise NotAPhotoError(f"is larger than {LARGEST_PHOTO_MB} MB; send a smaller copy that keeps place and time")
    try:
        with photo.opened() as stream:
            return read_photo(stream)
    except OSError as error:
        raise NotAPhotoError("cannot be opened; copy it from the camera again") from error


def _notes(rows: list[dict[str, str | None]], others: list[str]) -> tuple[str, ...]:
    n_bare = sum(
        bool(row["observed_at"]) and len(row["observed_at"] or "") == len("2025-05-12T07:40:00") for row in rows
    )
    notes = ["format: photographs with Exif tags", "taxon is blank: name the animal of each photograph"]
    if n_bare:
        notes.append(f"{counted(n_bare, 'time')} without an offset taken as local, by the camera's own clock")
    if others:
        notes.append(f"not read{_listed(others)}")
    return tuple(notes)


def _listed(others: list[str]) -> str:
    if not others:
        return ""
    shown = ", ".join(name[:40] for name in others[:5])
    n_others = counted(len(others), "other file or folder", "other files or folders")
    return f": {n_others} ({shown}{', ...' if len(others) > 5 else ''})"


def _doubts(source: str, number: int, row: dict[str, str | None], facts: PhotoFacts) -> Iterator[RowFault]:
    for column, found, why in facts.doubts:
        reason = f"{row['photo']}: {why}"
        yield RowFault(source, number, _original(row), column, found, reason, severity="note")


def _unreadable(source: str, number: int, photo: _Photo, error: Exception) -> RowFault:
    original = json.dumps({"photo": photo.name}, ensure_ascii=False)
    return RowFault(source, number, original, "photo", photo.name[:60], f"the photograph {photo.name} {error}")


def _original(row: dict[str, str | None]) -> str:
    return json.dumps({name: cell for name, cell in row.items() if cell}, ensure_ascii=False)


def _opener(path: Path) -> Callable[[], AbstractContextManager[IO[bytes]]]:
    return lambda: path.open("rb")


def _is_photo(path: Path) -> bool:
    """A plain file with the ending of a JPEG; a link could lead anywhere."""
    return not path.is_symlink() and path.is_file() and _has_photo_ending(path.name) and not path.name.startswith(".")


def _has_photo_ending(name: str) -> bool:
    return name.lower().endswith(PHOTO_ENDINGS)


def _other(path: Path) -> str:
    return f"{path.name}/" if path.is_dir() else path.name
