"""What an XLSX workbook says of itself: its calendar, where its sheets are, and which formats show a time of day."""

from __future__ import annotations

import posixpath
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element

from defusedxml.ElementTree import fromstring
from openpyxl.styles.numbers import BUILTIN_FORMATS

if TYPE_CHECKING:
    import zipfile
    from collections.abc import Iterator

_ELAPSED_OR_QUOTED = re.compile(r'"[^"]*"|\\.|\[[^\]]*\]')


@dataclass(frozen=True)
class Book:
    """
    Facts of a workbook.

    Parameters
    ----------
    parts
        Name of each sheet to the part of the archive that holds it.
    is_1904
        Days are counted from 1904-01-01.
    clock_styles
        Numbers of the cell formats, as text, that show a time of day.
    """

    parts: dict[str, str]
    is_1904: bool
    clock_styles: frozenset[str]


def look_into_book(archive: zipfile.ZipFile) -> Book:
    """
    Read the facts of a workbook whose parts were looked over.

    Raises
    ------
    KeyError
        A part is missing.
    xml.etree.ElementTree.ParseError
        Its XML is broken.

    Source
    ------
    ecma376
    """
    names = {name.lower(): name for name in archive.namelist()}
    book = _parsed(archive, names["xl/workbook.xml"])
    relations = _parsed(archive, names["xl/_rels/workbook.xml.rels"])
    targets = {one.get("Id"): one.get("Target", "") for one in _named(relations, "Relationship")}
    parts = {}
    for sheet in _named(book, "sheet"):
        relation = next((value for key, value in sheet.items() if key.endswith("}id")), None)
        target = targets.get(relation, "")
        part = target.lstrip("/") if target.startswith("/") else posixpath.normpath(f"xl/{target}")
        parts[sheet.get("name") or ""] = names.get(part.lower(), part)
    styles = _parsed(archive, names["xl/styles.xml"]) if "xl/styles.xml" in names else Element("styleSheet")
    return Book(parts, _is_1904(book), frozenset(_clock_styles(styles)))


def _parsed(archive: zipfile.ZipFile, part: str) -> Element:
    root: Element = fromstring(archive.read(part), forbid_dtd=True)
    return root


def _is_1904(book: Element) -> bool:
    return any(one.get("date1904") in ("1", "true", "on") for one in _named(book, "workbookPr"))


def _clock_styles(styles: Element) -> Iterator[str]:
    """Cell formats whose number format shows hours: not in quotation marks, and not hours gone by."""
    formats: dict[str | None, str] = {str(number): code for number, code in BUILTIN_FORMATS.items()}
    formats |= {one.get("numFmtId"): one.get("formatCode") or "" for one in _named(styles, "numFmt")}
    for cell_formats in _named(styles, "cellXfs"):
        for number, one in enumerate(_named(cell_formats, "xf")):
            if "h" in _ELAPSED_OR_QUOTED.sub("", formats.get(one.get("numFmtId"), "")).lower():
                yield str(number)


def _named(parent: Element, name: str) -> Iterator[Element]:
    return (one for one in parent.iter() if isinstance(one.tag, str) and one.tag.rpartition("}")[2] == name)
