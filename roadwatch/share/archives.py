"""Darwin Core Archives: tables of tab-free text with a map of their terms, and who may use them, in one zip file."""

from __future__ import annotations

import csv
import io
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING
from xml.etree.ElementTree import Element, SubElement, indent, register_namespace, tostring

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

DWC = "http://rs.tdwg.org/dwc/terms/"
DC = "http://purl.org/dc/terms/"
TEXT = "http://rs.tdwg.org/dwc/text/"
EML = "eml://ecoinformatics.org/eml-2.1.1"
XSI = "http://www.w3.org/2001/XMLSchema-instance"

DUBLIN_CORE = frozenset({"accessRights", "type", "modified", "license"})
"""Terms that Darwin Core takes over from Dublin Core."""

FIRST_DAY = (1980, 1, 1, 0, 0, 0)
"""Stands as the time of every member, so that equal tables give equal bytes; the zip format knows none earlier."""


@dataclass(frozen=True)
class ArchiveTable:
    """
    One file of an archive.

    Parameters
    ----------
    row_type
        Darwin Core class of its rows: ``Occurrence``, ``Event`` or ``MeasurementOrFact``.
    rows
        Columns named by terms. The first column is the id of a core, or of the core row that an extension's row
        belongs to.
    """

    row_type: str
    rows: pd.DataFrame

    @property
    def file_name(self) -> str:
        """Name of the file in the archive."""
        return f"{self.row_type.lower()}.csv"


@dataclass(frozen=True)
class About:
    """What an archive says of itself: title, day of publication, paragraphs, and who may use it."""

    title: str
    published: str
    paragraphs: tuple[str, ...]
    rights: str
    creator: str = "The county's turtle road watch"


def darwin_core_archive(core: ArchiveTable, extensions: Sequence[ArchiveTable], *, about: About) -> bytes:
    """
    Write an archive.

    Parameters
    ----------
    core
        The table with one id a row.
    extensions
        Tables whose first column names a row of the core.
    about
        Becomes the metadata in EML.

    Returns
    -------
    The zip file: UTF-8, comma-separated, every cell as it is; the same tables give the same bytes.

    Source
    ------
    dwc_text
    """
    members = {"meta.xml": _meta(core, extensions), "eml.xml": _eml(about)}
    members |= {table.file_name: _csv(table.rows) for table in (core, *extensions)}
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", compression=zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            member = zipfile.ZipInfo(name, date_time=FIRST_DAY)
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, content)
    return packed.getvalue()


def term_uri(term: str) -> str:
    """
    The full name of a term.

    >>> term_uri("eventDate"), term_uri("accessRights")
    ('http://rs.tdwg.org/dwc/terms/eventDate', 'http://purl.org/dc/terms/accessRights')
    """
    return (DC if term in DUBLIN_CORE else DWC) + term


def _csv(rows: pd.DataFrame) -> bytes:
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n", quoting=csv.QUOTE_MINIMAL)
    writer.writerow(rows.columns)
    writer.writerows([_cell(cell) for cell in row] for row in rows.astype(object).to_numpy())
    return text.getvalue().encode("utf-8")


def _cell(value: object) -> str:
    if value is None or value != value:  # nan differs from itself
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return " ".join(str(value).splitlines())  # a row stays one line: readers of archives count lines


def _meta(core: ArchiveTable, extensions: Sequence[ArchiveTable]) -> bytes:
    root = Element("archive", {"xmlns": TEXT, "metadata": "eml.xml"})
    for kind, table in (("core", core), *(("extension", table) for table in extensions)):
        entry = SubElement(
            root,
            kind,
            {
                "encoding": "UTF-8",
                "fieldsTerminatedBy": ",",
                "linesTerminatedBy": "\\n",
                "fieldsEnclosedBy": '"',
                "ignoreHeaderLines": "1",
                "rowType": DWC + table.row_type,
            },
        )
        SubElement(SubElement(entry, "files"), "location").text = table.file_name
        SubElement(entry, "id" if kind == "core" else "coreid", {"index": "0"})
        first = 0 if kind == "core" else 1
        for index, term in list(enumerate(table.rows.columns))[first:]:
            SubElement(entry, "field", {"index": str(index), "term": term_uri(str(term))})
    return _xml(root)


def _eml(about: About) -> bytes:
    register_namespace("eml", EML)
    attributes = {"packageId": about.title, "system": "Roadwatch", "scope": "system", "xml:lang": "en"}
    root = Element(f"{{{EML}}}eml", attributes)
    dataset = SubElement(root, "dataset")
    SubElement(dataset, "title").text = about.title
    for role in ("creator", "metadataProvider"):
        SubElement(SubElement(dataset, role), "organizationName").text = about.creator
    SubElement(dataset, "pubDate").text = about.published
    SubElement(dataset, "language").text = "en"
    for name, paragraphs in (("abstract", about.paragraphs), ("intellectualRights", (about.rights,))):
        block = SubElement(dataset, name)
        for paragraph in paragraphs:
            SubElement(block, "para").text = paragraph
    SubElement(SubElement(dataset, "contact"), "organizationName").text = about.creator
    return _xml(root)


def _xml(root: Element) -> bytes:
    indent(root)
    content: bytes = tostring(root, encoding="utf-8", xml_declaration=True)
    return content
