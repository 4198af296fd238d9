"""Text tables: row by row, with the line numbers a person sees, and no row lost."""

from __future__ import annotations

import csv
import io
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.readers.limits import LONGEST_CELL
from roadwatch.records.readers.separators import SEPARATOR_NAMES, sniff_separator
from roadwatch.records.readers.wording import line_list, unfit
from roadwatch.records.tables import RowFault

if TYPE_CHECKING:
    from roadwatch.records.readers.text import DecodedText

_SAMPLE_LINES = 500
_MOST_READ_TWICE = 10
"""Lines may be read again after a broken quotation mark, up to this many times the length of the file."""
_BROKEN_QUOTE = "a quotation mark opens and does not close within its cell; close it, or double it inside a text"
_ENDLESS = f"a cell is longer than {LONGEST_CELL} characters; shorten it"


@dataclass
class SplitText:
    """
    A text file cut into cells, before any row is known as the header.

    Parameters
    ----------
    records
        Stripped cells of each row that is not blank; a blank cell is None.
    lines
        First line of each row as a person counts it.
    originals
        Each row verbatim, without its line end.
    short_rows_are_said
        A row that ends early is worth a note; in a sheet it only has blanks at its end.
    row_word
        What the numbers count for a person: lines of a text, rows of a sheet.
    cure_of_long_rows
        What to do about a row with more cells than the header.
    """

    source: str
    separator: str
    records: list[list[str | None]] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    originals: list[str] = field(default_factory=list)
    faults: list[RowFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    ends_with_newline: bool = True
    short_rows_are_said: bool = True
    row_word: str = "line"
    cure_of_long_rows: str = "put text that holds the separator in quotation marks"


def split_text(decoded: DecodedText, *, source: str) -> SplitText:
    """
    Cut the text of a table into rows and cells.

    Raises
    ------
    UnfitFileError
        No separator makes a table of it, or its quotation marks are broken throughout.
    """
    text = decoded.text.lstrip("\ufeff").rstrip("\x1a")
    with_nul = [at for at, line in enumerate(_lines_of(text), start=1) if "\x00" in line] if "\x00" in text else []
    lines = _lines_of(text.replace("\x00", ""))
    separator = sniff_separator(lines)
    if separator is None:
        raise unfit(
            source,
            found="one column only",
            expected="columns separated by commas, semicolons or tabs",
            cure="save it as CSV (UTF-8)",
        )
    split = SplitText(source, separator, ends_with_newline=lines[-1].endswith(("\n", "\r")))
    split.notes += [f"encoding: {decoded.encoding}", f"separator: {SEPARATOR_NAMES.get(separator, repr(separator))}"]
    if with_nul:
        split.notes.append(f"zero bytes taken out of {line_list(with_nul)}")
    _fill(split, lines)
    return split


def _lines_of(text: str) -> list[str]:
    r"""Lines with their ends; only \n, \r and \r\n end a line."""
    return list(io.StringIO(text, newline=""))


def _fill(split: SplitText, lines: list[str]) -> None:
    width = _usual_width(lines, split.separator)
    start = 1 if lines[0].lower().startswith("sep=") else 0
    budget = _MOST_READ_TWICE * len(lines) + 10_000
    while start < len(lines):
        stop, looked_at = _read_until_broken(split, lines, start=start, width=width)
        budget -= looked_at - stop
        if budget < 0:
            raise unfit(
                split.source,
                found="quotation marks that open and never close, again and again",
                expected="quotation marks in pairs",
                cure="export the table again as CSV (UTF-8)",
            )
        start = stop


def _usual_width(lines: list[str], separator: str) -> int:
    """Number of cells of most rows, by the lines without quotation marks where there are any."""
    sample = [line for line in lines[:_SAMPLE_LINES] if line.strip() and len(line) <= LONGEST_CELL]
    widths = Counter(line.count(separator) + 1 for line in sample if '"' not in line)
    if not widths:
        try:
            widths = Counter(len(row) for row in csv.reader(sample, delimiter=separator, skipinitialspace=True))
        except csv.Error:
            return 0
    return max(widths.items(), key=lambda item: (item[1], item[0]))[0] if widths else 0


def _read_until_broken(split: SplitText, lines: list[str], *, start: int, width: int) -> tuple[int, int]:
    """
    Read on from a line until a quotation mark is found broken.

    Returns
    -------
    The line to start again from, and the line up to which was looked.
    """
    reader = csv.reader(lines[start:] if start else lines, delimiter=split.separator, skipinitialspace=True)
    records, numbers, originals = split.records, split.lines, split.originals
    first = start
    try:
        for cells in reader:
            last = start + reader.line_num
            one_line = last == first + 1
            original = lines[first] if one_line else "".join(lines[first:last])
            if not one_line and (len(cells) != width or original.count('"') % 2):
                return _broken_quote(split, lines, first), last
            if (
                '"' in original
                and last == len(lines)
                and original.count('"') % 2
                and _is_open(original, split.separator)
            ):
                return _broken_quote(split, lines, first), last
            row = [cell.strip() or None for cell in cells]
            if any(row):
                records.append(row)
                numbers.append(first + 1)
                originals.append(original.rstrip("\r\n"))
            first = last
    except csv.Error:
        if _is_endless(lines[first], split.separator):
            return _hold_back(split, lines, first, _ENDLESS), start + reader.line_num
        return _broken_quote(split, lines, first), start + reader.line_num
    return len(lines), len(lines)


def _is_open(original: str, separator: str) -> bool:
    try:
        list(csv.reader([original], delimiter=separator, skipinitialspace=True, strict=True))
    except csv.Error as error:
        return "unexpected end" in str(error)
    return False


def _is_endless(line: str, separator: str) -> bool:
    """A line has a cell longer than the limit, of itself."""
    try:
        list(csv.reader([line], delimiter=separator, skipinitialspace=True))
    except csv.Error as error:
        return "field larger" in str(error)
    return False


def _broken_quote(split: SplitText, lines: list[str], at: int) -> int:
    return _hold_back(split, lines, at, _BROKEN_QUOTE)


def _hold_back(split: SplitText, lines: list[str], at: int, reason: str) -> int:
    original = lines[at].rstrip("\r\n")
    split.faults.append(
        RowFault(
            source=split.source,
            line=at + 1,
            original=original,
            column="",
            found=original[:60],
            reason=reason,
        )
    )
    return at + 1
