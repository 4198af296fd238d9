"""The parts of a spreadsheet archive, looked over as bytes before a library takes them in."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from roadwatch.records.readers.limits import (
    FREE_SHEET_MB,
    LARGEST_PART_MB,
    LAST_COLUMN,
    LAST_ROW,
    MOST_TABLES,
    MOST_TIMES_PACKED,
)
from roadwatch.records.readers.wording import unfit

if TYPE_CHECKING:
    import zipfile

_PIECE_BYTES = 1 << 20
_OVERLAP_BYTES = 256
_DOCUMENT_TYPE = re.compile(rb"<!(?:DOCTYPE|ENTITY)", re.IGNORECASE)
_UTF16 = (b"\xff\xfe", b"\xfe\xff", b"<\x00", b"\x00<")
_BEYOND_SHEET = re.compile(rb"\sr\s*=\s*[\"'](?:[^\"']{11}|[^\"']*&|[A-Za-z$]{4}|[A-Za-z$]*\d{8})")
"""A cell or row address longer than that of the last cell, XFD1048576."""
_SHEET = re.compile(rb"<(?:\w+:)?sheet\s")
_MARKS = {"formulas": re.compile(rb"<(?:\w+:)?f[\s/>]"), "merged cells": re.compile(rb"<(?:\w+:)?mergeCell\s")}

Marks = dict[str, set[str]]
"""Name of a part to what was seen in it: ``formulas``, ``merged cells``."""


def look_over(archive: zipfile.ZipFile, *, form: str, cells_in: tuple[str, ...], source: str) -> Marks:
    """
    Refuse a spreadsheet that would fill the memory, or whose XML declares a document type.

    Parameters
    ----------
    archive
        The archive, whose directory was checked.
    form
        ``xlsx`` or ``ods``.
    cells_in
        Beginnings of the names of the parts that hold cells and their texts; only they may be large.
    source
        How messages call the file.

    Returns
    -------
    What was seen in each part.

    Raises
    ------
    UnfitFileError
        A limit is passed.
    """
    _refuse_swollen(archive, form=form, cells_in=cells_in, source=source)
    marks: Marks = {}
    for member in archive.infolist():
        if member.filename.lower().endswith((".xml", ".rels")):
            marks[member.filename] = _look_over_part(archive, member, source=source)
    return marks


def _refuse_swollen(archive: zipfile.ZipFile, *, form: str, cells_in: tuple[str, ...], source: str) -> None:
    members = [member for member in archive.infolist() if member.filename.lower().endswith((".xml", ".rels"))]
    cells = [member for member in members if member.filename.startswith(cells_in)]
    unpacked = sum(member.file_size for member in cells)
    packed = sum(member.compress_size for member in cells)
    most = max(FREE_SHEET_MB * 1_000_000, MOST_TIMES_PACKED[form] * packed)
    large = [one for one in members if one not in cells and one.file_size > LARGEST_PART_MB * 1e6]
    if unpacked > most:
        found = f"{unpacked / 1e6:.0f} MB of cells packed into {packed / 1e6:.1f} MB"
    elif large:
        found = f"{large[0].file_size / 1e6:.0f} MB of {large[0].filename[:60]}, which holds no cells"
    else:
        return
    raise unfit(
        source,
        found=found,
        expected=f"cells of at most {MOST_TIMES_PACKED[form]} times their packed size, {LARGEST_PART_MB} MB of others",
        cure="copy the records alone into a new spreadsheet, without formats, or save each sheet as CSV (UTF-8)",
    )


def _look_over_part(archive: zipfile.ZipFile, member: zipfile.ZipInfo, *, source: str) -> set[str]:
    is_sheet = "worksheets/" in member.filename
    seen: set[str] = set()
    tail = b""
    n_sheets = 0
    with archive.open(member) as stream:
        while piece := stream.read(_PIECE_BYTES):
            text = tail + piece
            if not tail and text.startswith(_UTF16):
                raise _odd(source, member, "not written in UTF-8")
            if _DOCUMENT_TYPE.search(text):
                raise _odd(source, member, "with a document type declaration, which can hide other files")
            if is_sheet and _BEYOND_SHEET.search(text):
                raise _odd(source, member, f"with cells beyond row {LAST_ROW} or column {LAST_COLUMN}")
            n_sheets += len(_SHEET.findall(piece)) if member.filename == "xl/workbook.xml" else 0
            if n_sheets > MOST_TABLES:
                raise _odd(source, member, f"of more than {MOST_TABLES} sheets")
            if is_sheet:
                seen |= {name for name, mark in _MARKS.items() if name not in seen and mark.search(text)}
            tail = text[-_OVERLAP_BYTES:]
    return seen


def _odd(source: str, member: zipfile.ZipInfo, how: str) -> Exception:
    return unfit(
        source,
        found=f"a part {member.filename[:60]} {how}",
        expected="a spreadsheet as the common programs save it",
        cure="open it in a spreadsheet program and save it again as .xlsx, or save each sheet as CSV (UTF-8)",
    )
