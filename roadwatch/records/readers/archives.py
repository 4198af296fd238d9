"""Zip archives, which spreadsheets, KMZ files and shapefiles come in: looked over before anything is unpacked."""

from __future__ import annotations

import stat
import zipfile
import zlib
from contextlib import contextmanager
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Literal

from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.limits import LARGEST_RATIO, LARGEST_SUM_MB, MOST_MEMBERS, MOST_PHOTOS
from roadwatch.records.readers.wording import counted, unfit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

Archive = Literal["xlsx", "ods", "kmz", "shapefiles", "photos"]

BROKEN_ZIP = (zipfile.BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError, ValueError)
"""What reading a damaged archive can raise."""

PHOTO_ENDINGS = (".jpg", ".jpeg")


@contextmanager
def opened_archive(path: Path) -> Iterator[zipfile.ZipFile]:
    """
    Open a zip archive whose directory passes :func:`check_members`.

    Raises
    ------
    UnfitFileError
        The archive is damaged, or made to fill the disk or to reach outside of itself.
    """
    source = name_of(path)
    try:
        with zipfile.ZipFile(path) as archive:
            check_members(archive.infolist(), source=source)
            yield archive
    except BROKEN_ZIP as error:
        raise damaged_archive(source, error) from error


def damaged_archive(source: str, error: BaseException) -> Exception:
    """The refusal of an archive that does not unpack."""
    return unfit(
        source,
        found=f"a zip archive that is damaged or cut short ({str(error)[:160]})",
        expected="a complete archive",
        cure="copy or export it again",
    )


def kind_of_archive(path: Path) -> Archive:
    """
    Tell what an archive holds, by the names of its members.

    Raises
    ------
    UnfitFileError
        It is damaged, made to harm, or holds nothing that is read.
    """
    with opened_archive(path) as archive:
        names = [member.filename for member in archive.infolist() if is_shown(member.filename)]
        lower = [name.lower() for name in names]
        if "xl/workbook.xml" in lower:
            return "xlsx"
        if "content.xml" in lower and b"spreadsheet" in _mimetype(archive):
            return "ods"
        if any(name.endswith(".shp") for name in lower):
            return "shapefiles"
        if any(name.endswith(".kml") for name in lower):
            return "kmz"
        if any(name.endswith(PHOTO_ENDINGS) for name in lower):
            return "photos"
    raise _nothing_to_read(name_of(path), names)


def check_members(members: Sequence[zipfile.ZipInfo], *, source: str) -> None:
    """
    Refuse archives made to fill the disk or to reach outside of themselves, by their directory alone.

    Raises
    ------
    UnfitFileError
        A limit is passed, or a member is a link, encrypted, or named outside of the archive.
    """
    found = None
    n_bytes = sum(member.file_size for member in members)
    photos = sum(member.filename.lower().endswith(PHOTO_ENDINGS) for member in members)
    if len(members) - photos > MOST_MEMBERS or photos > MOST_PHOTOS:
        found = counted(len(members), "member")
    elif n_bytes > LARGEST_SUM_MB * 1_000_000:
        found = f"{n_bytes / 1e6:.0f} MB once unpacked"
    for member in members:
        found = _fault_of(member) or found
    if found:
        raise unfit(
            source,
            found=f"in the archive {found}",
            expected=f"plain files, at most {MOST_MEMBERS} and {LARGEST_SUM_MB} MB",
            cure="zip the files of the layer, sheet or photographs alone",
        )


def is_shown(name: str) -> bool:
    """Tell a member from the hidden copies that desktops add."""
    return not any(part.startswith((".", "__MACOSX")) for part in PurePosixPath(name).parts)


def _fault_of(member: zipfile.ZipInfo) -> str | None:
    shown = repr(member.filename[:60])
    if member.file_size > LARGEST_RATIO * max(member.compress_size, 1) and member.file_size > 1_000_000:
        return f"{shown} packed more than {LARGEST_RATIO} times"
    if stat.S_ISLNK(member.external_attr >> 16):
        return f"{shown}, a link to another file"
    if member.flag_bits & 0x1:
        return f"{shown}, which is encrypted"
    if member.filename.startswith(("/", "\\")) or ".." in PurePosixPath(member.filename.replace("\\", "/")).parts:
        return f"{shown}, which points outside of the archive"
    return None


def _mimetype(archive: zipfile.ZipFile) -> bytes:
    """The type that an OpenDocument archive states in its first member (OpenDocument 1.3, part 2, 3.3)."""
    try:
        with archive.open("mimetype") as stream:
            return stream.read(200)
    except KeyError:
        return b""


def _nothing_to_read(source: str, names: list[str]) -> Exception:
    lower = {name.lower() for name in names}
    if "xl/workbook.bin" in lower:
        return unfit(source, found="a binary spreadsheet", expected="a spreadsheet", cure="save it as .xlsx or .ods")
    if lower & {"content.xml", "word/document.xml", "ppt/presentation.xml"}:
        return unfit(source, found="an office document", expected="a table", cure="save the table as CSV (UTF-8)")
    listed = ", ".join(names[:3])[:80] or "nothing"
    return unfit(
        source,
        found=f"a zip archive of {listed}",
        expected="a spreadsheet, KMZ, zipped shapefile or photographs (JPEG)",
        cure="unpack it first",
    )
