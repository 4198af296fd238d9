"""What a file is, told by its first bytes; its name is only a hint, because names lie."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Literal

from roadwatch.errors import UsageError
from roadwatch.records.readers.limits import LARGEST_MB, LONGEST_LINE
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    from pathlib import Path

Format = Literal["text", "json", "gpx", "kml", "geopackage", "zip", "shapefile", "flatgeobuf", "jpeg"]

ACCEPTED = (
    "CSV text, a spreadsheet (XLSX, ODS), GPX, KML, GeoJSON, a GeoPackage, a zipped shapefile, JPEG photographs "
    "or a temperature file"
)

_HEAD_BYTES = 4096
_SAVE_AGAIN = "open it in a spreadsheet program and save it as .xlsx or .ods, without a password"
_SAVE_AS_JPEG = "save it as JPEG with its place and time, or name it in the column photo of a table"
_REFUSED: tuple[tuple[bytes, str, str], ...] = (
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or document, or one locked by a password", _SAVE_AGAIN),
    (b"%PDF", "a PDF document", "type or export the table as CSV"),
    (b"\x89PNG", "a PNG picture", _SAVE_AS_JPEG),
    (b"GIF8", "a GIF picture", _SAVE_AS_JPEG),
    (b"II*\x00", "a TIFF picture", "export the layer as a GeoPackage"),
    (b"MM\x00*", "a TIFF picture", "export the layer as a GeoPackage"),
    (b"\x1f\x8b", "a gzip archive", "unpack it first"),
    (b"7z\xbc\xaf", "a 7-Zip archive", "unpack it first"),
    (b"Rar!", "a RAR archive", "unpack it first"),
    (b"PAR1", "a Parquet file", "export it as CSV or a GeoPackage"),
    (b"{\\rtf", "a rich-text document", "save the table as CSV"),
)
_COMMENT = re.compile(r"<!--.*?(?:-->|\Z)", re.DOTALL)
_GEOPACKAGE_IDS = (b"GPKG", b"GP10", b"GP11")


def name_of(path: Path) -> str:
    """How messages call a file."""
    return path.name or str(path)


def read_bytes(path: Path, *, largest_mb: int = LARGEST_MB) -> bytes:
    """
    Read a whole file.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        It is a folder, unreadable, empty or larger than ``largest_mb``.
    """
    try:
        n_bytes = path.stat().st_size
        if path.is_file() and n_bytes > largest_mb * 1_000_000:
            raise unfit(
                name_of(path),
                found=f"{n_bytes / 1e6:.0f} MB",
                expected=f"at most {largest_mb} MB of this format",
                cure="split the file",
            )
        body = path.read_bytes() if path.is_file() else b""
    except FileNotFoundError as error:
        raise UsageError(f"{path}: there is no such file; check the name and the folder") from error
    except OSError as error:
        raise unfit(
            name_of(path),
            found=f"an error on reading ({error.strerror})",
            expected=ACCEPTED,
            cure="check the permissions",
        ) from error
    if path.is_dir():
        raise unfit(name_of(path), found="a folder", expected=ACCEPTED, cure="name the files in it")
    if not body:
        raise unfit(name_of(path), found="no bytes", expected=ACCEPTED, cure="export or copy the file again")
    return body


def refuse_endless_line(path: Path) -> None:
    """
    Refuse a text file with a line that no table has, before the file is taken into memory.

    Raises
    ------
    UnfitFileError
        A line is longer than the limit.
    """
    run = 0
    with path.open("rb") as stream:
        while piece := stream.read(1 << 20):
            ends = [at for at in (piece.find(b"\n"), piece.find(b"\r")) if at >= 0]
            run += min(ends, default=len(piece))
            if run > LONGEST_LINE:
                raise unfit(
                    name_of(path),
                    found=f"a line of more than {LONGEST_LINE} characters",
                    expected="a table whose rows stand on lines of their own",
                    cure="export the table again as CSV (UTF-8)",
                )
            if ends:
                run = len(piece) - 1 - max(piece.rfind(b"\n"), piece.rfind(b"\r"))


def read_head(path: Path) -> bytes:
    """
    Read the first bytes of a file; same refusals as :func:`read_bytes`, whatever the size.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        It is a folder, unreadable or empty.
    """
    try:
        if path.is_file() and path.stat().st_size > _HEAD_BYTES:
            with path.open("rb") as stream:
                return stream.read(_HEAD_BYTES)
    except OSError:
        pass  # told by read_bytes
    return read_bytes(path)


def recognise(path: Path) -> Format:
    """
    Tell the format of a file from its content.

    Raises
    ------
    UsageError
        There is no such file.
    UnfitFileError
        The file is empty, unreadable, or of a kind that holds no records; the message says what to do.
    """
    head = read_head(path)
    for magic, found, cure in _REFUSED:
        if head.startswith(magic):
            raise unfit(name_of(path), found=found, expected=ACCEPTED, cure=cure)
    if head[4:8] == b"ftyp":
        raise unfit(name_of(path), found="a HEIC picture or a film", expected=ACCEPTED, cure=_SAVE_AS_JPEG)
    if head.startswith(b"SQLite format 3\x00"):
        return _recognise_sqlite(path, head)
    if head.startswith((b"PK\x03\x04", b"PK\x05\x06", b"PK\x07\x08")):
        return "zip"
    if head.startswith(b"\x00\x00\x27\x0a"):
        return "shapefile"
    if head.startswith(b"fgb\x03"):
        return "flatgeobuf"
    if head.startswith(b"\xff\xd8\xff"):
        return "jpeg"
    opening = _opening_text(head)
    if opening.startswith("<"):
        return _recognise_markup(path, opening)
    return "json" if opening.startswith(("{", "[")) else "text"


def _recognise_sqlite(path: Path, head: bytes) -> Format:
    if head[68:72] not in _GEOPACKAGE_IDS:
        raise unfit(
            name_of(path),
            found="an SQLite database that is not a GeoPackage",
            expected=ACCEPTED,
            cure="export the table as CSV",
        )
    page = int.from_bytes(head[16:18], "big")
    pages = int.from_bytes(head[28:32], "big")
    is_size_told = head[24:28] == head[92:96]  # else an old program wrote last (SQLite file format, section 1.3.8)
    needed = (65_536 if page == 1 else page) * pages if is_size_told else 0
    if path.stat().st_size < needed:
        raise unfit(
            name_of(path),
            found=f"{path.stat().st_size} bytes of a GeoPackage cut short",
            expected=f"{needed} bytes by its own header",
            cure="copy the file again",
        )
    return "geopackage"


def _recognise_markup(path: Path, opening: str) -> Format:
    opening = _COMMENT.sub("", opening)
    root = re.search(r"<(?![?!])(?:[\w.-]+:)?([\w.-]+)", opening)
    name = root.group(1).lower() if root else ""
    if name in ("gpx", "kml"):
        return "gpx" if name == "gpx" else "kml"
    if name == "html" or re.match(r"<!doctype html", opening, re.IGNORECASE):
        raise unfit(
            name_of(path),
            found="a web page",
            expected=ACCEPTED,
            cure="download the data file itself, not the page that shows it",
        )
    if name == "document" and "opendocument" in opening:
        raise unfit(name_of(path), found="a flat spreadsheet or text", expected=ACCEPTED, cure="save it as .ods")
    raise unfit(
        name_of(path),
        found=f"XML with the root element {name!r}" if name else "XML without a root element",
        expected="GPX (root element gpx) or KML (root element kml)",
        cure="export the records as CSV, GPX, KML or GeoJSON",
    )


def _opening_text(head: bytes) -> str:
    encoding = "utf-16" if head.startswith((b"\xff\xfe", b"\xfe\xff")) else "utf-8"
    return head.decode(encoding, errors="ignore").lstrip("\ufeff \t\r\n")
