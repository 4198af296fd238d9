"""Shapefiles in their folder or in a zip archive, looked over before anything opens them."""

from __future__ import annotations

import stat
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from pathlib import Path

LARGEST_SUM_MB = 500
LARGEST_RATIO = 200
MOST_MEMBERS = 1000
_NEEDED = (".shx", ".dbf")
_PARTS = (".shp", ".shx", ".dbf", ".prj", ".cpg")
_SHP_HEADER_BYTES = 100


@dataclass(frozen=True)
class Shapefile:
    """One shapefile: how messages call it, and the name under which GDAL opens it."""

    source: str
    dataset: str


def shapefiles_in_zip(path: Path) -> list[Shapefile]:
    """
    Find the shapefiles of a zip archive and read them through once, so that damage shows.

    Raises
    ------
    UnfitFileError
        The archive is damaged, encrypted, holds links, more than 1,000 members, more than 500 MB or members packed
        more than 200 times; or it holds no whole shapefile.
    """
    source = name_of(path)
    try:
        with zipfile.ZipFile(path) as archive:
            members = archive.infolist()
            check_members(members, source=source)
            names = [member.filename for member in members]
            shapes = [name for name in names if name.lower().endswith(".shp") and not _is_hidden(name)]
            if not shapes:
                raise _without_shapefile(source, names)
            for shape in shapes:
                _check_parts(archive, shape, names, source=source)
    except (zipfile.BadZipFile, zlib.error, OSError, EOFError, NotImplementedError, RuntimeError, ValueError) as error:
        raise unfit(
            source,
            found=f"a zip archive that is damaged or cut short ({error})",
            expected="a complete archive",
            cure="copy or export it again",
        ) from error
    several = len(shapes) > 1
    return [
        Shapefile(f"{source}, layer {PurePosixPath(shape).stem}" if several else source, f"/vsizip/{{{path}}}/{shape}")
        for shape in shapes
    ]


def single_shapefile(path: Path) -> Shapefile:
    """
    Look over a shapefile that lies in a folder.

    Raises
    ------
    UnfitFileError
        It is cut short, or lacks its .shx or .dbf.
    """
    source = name_of(path)
    beside = {other.suffix.lower() for other in path.parent.iterdir() if other.stem == path.stem}
    _refuse_missing([part for part in _NEEDED if part not in beside], source=source, file_name=path.name)
    with path.open("rb") as stream:
        _check_length(stream.read(_SHP_HEADER_BYTES), path.stat().st_size, source=source)
    return Shapefile(source, str(path))


def check_members(members: list[zipfile.ZipInfo], *, source: str) -> None:
    """
    Refuse archives made to fill the disk or to reach outside of themselves, by their directory alone.

    Raises
    ------
    UnfitFileError
        A limit of this module is passed, or a member is a link, encrypted, or named outside of the archive.
    """
    found = None
    n_bytes = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS:
        found = f"{len(members)} members"
    elif n_bytes > LARGEST_SUM_MB * 1_000_000:
        found = f"{n_bytes / 1e6:.0f} MB once unpacked"
    for member in members:
        if member.file_size > LARGEST_RATIO * max(member.compress_size, 1) and member.file_size > 1_000_000:
            found = f"{member.filename[:60]!r} packed more than {LARGEST_RATIO} times"
        elif stat.S_ISLNK(member.external_attr >> 16):
            found = f"{member.filename[:60]!r}, a link to another file"
        elif member.flag_bits & 0x1:
            found = f"{member.filename[:60]!r}, which is encrypted"
        elif member.filename.startswith(("/", "\\")) or ".." in PurePosixPath(member.filename).parts:
            found = f"{member.filename[:60]!r}, which points outside of the archive"
    if found:
        raise unfit(
            source,
            found=f"in the archive {found}",
            expected=f"plain files, at most {MOST_MEMBERS} and {LARGEST_SUM_MB} MB",
            cure="zip the layer's files alone",
        )


def _is_hidden(name: str) -> bool:
    return any(part.startswith((".", "__MACOSX")) for part in PurePosixPath(name).parts)


def _check_parts(archive: zipfile.ZipFile, shape: str, names: list[str], *, source: str) -> None:
    stem = shape[: -len(".shp")]
    parts = {name[len(stem) :].lower(): name for name in names if name.startswith(stem)}
    _refuse_missing([part for part in _NEEDED if part not in parts], source=source, file_name=shape)
    for part in _PARTS:
        if part in parts:
            with archive.open(parts[part]) as stream:
                head = stream.read(_SHP_HEADER_BYTES)
                n_bytes = len(head)
                while piece := stream.read(1 << 20):  # reading to the end checks the member's sum
                    n_bytes += len(piece)
            if part == ".shp":
                _check_length(head, n_bytes, source=source)


def _check_length(head: bytes, n_bytes: int, *, source: str) -> None:
    """A shapefile's header says its length in 16-bit words (ESRI Shapefile Technical Description, 1998)."""
    told = 2 * int.from_bytes(head[24:28], "big")
    if len(head) < _SHP_HEADER_BYTES or not head.startswith(b"\x00\x00\x27\x0a") or told > n_bytes:
        raise unfit(
            source,
            found=f"{n_bytes} bytes of a .shp that is damaged or cut short",
            expected=f"{max(told, _SHP_HEADER_BYTES)} bytes by its own header",
            cure="copy or export it again",
        )


def _refuse_missing(missing: list[str], *, source: str, file_name: str) -> None:
    if missing:
        raise unfit(
            source,
            found=f"{file_name} without its {' and '.join(missing)}",
            expected="all parts of the shapefile",
            cure="put .shp, .shx, .dbf and .prj into one zip archive",
        )


def _without_shapefile(source: str, names: list[str]) -> Exception:
    lower = [name.lower() for name in names]
    if "xl/workbook.xml" in lower:
        return unfit(source, found="a spreadsheet", expected="CSV text", cure="save each sheet as CSV (UTF-8)")
    if "content.xml" in lower or "word/document.xml" in lower:
        return unfit(source, found="an office document", expected="CSV text", cure="save the table as CSV (UTF-8)")
    listed = ", ".join(names[:3])[:80] or "nothing"
    return unfit(source, found=f"a zip archive of {listed}", expected="a zipped shapefile", cure="unpack it first")
