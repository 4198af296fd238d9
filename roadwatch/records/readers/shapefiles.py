"""Shapefiles in their folder or in a zip archive, looked over before anything opens them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from roadwatch.records.readers.archives import is_shown, opened_archive
from roadwatch.records.readers.content import name_of
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    import zipfile
    from pathlib import Path

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
        The archive is damaged or made to harm, or holds no whole shapefile.
    """
    source = name_of(path)
    with opened_archive(path) as archive:
        names = [member.filename for member in archive.infolist()]
        shapes = [name for name in names if name.lower().endswith(".shp") and is_shown(name)]
        if not shapes:
            raise unfit(source, found="no .shp in the archive", expected="a zipped shapefile", cure="unpack it first")
        for shape in shapes:
            _check_parts(archive, shape, names, source=source)
    return [
        Shapefile(f"{source}, layer {PurePosixPath(shape).stem}", f"/vsizip/{{{path}}}/{shape}") for shape in shapes
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
