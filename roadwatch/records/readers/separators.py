"""Which sign parts the cells of a text table, and which sign parts the decimals."""

from __future__ import annotations

import csv
import re
from collections import Counter
from typing import TYPE_CHECKING

from roadwatch.records.readers.limits import LONGEST_CELL

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

SEPARATOR_NAMES = {",": "comma", ";": "semicolon", "\t": "tab", "|": "vertical bar"}

_SAMPLE_LINES = 60
_SAMPLE_CELLS = 200
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")
_COMMA_NUMBER = re.compile(r"[+-]?\d+,\d+")
_POINT_NUMBER = re.compile(r"[+-]?\d*\.\d+")


def sniff_separator(lines: Sequence[str]) -> str | None:
    r"""
    Find the separator that cuts the first lines into the same number of cells, at least two.

    >>> sniff_separator(["lat;lon\n", "42,37;-72,51\n"])
    ';'

    Returns
    -------
    The separator, or None where no candidate makes a table.
    """
    declared = re.fullmatch(r"sep=(.)\s*", lines[0], re.IGNORECASE) if lines else None
    if declared:
        return declared.group(1)
    scores = {separator: _fit(lines, separator) for separator in SEPARATOR_NAMES}
    best = max(scores, key=lambda separator: scores[separator])
    return best if scores[best] > (0.0, 1) else None


def _fit(lines: Sequence[str], separator: str) -> tuple[float, int]:
    """Share of rows with the commonest width above one, and that width."""
    sample = [line for line in lines[:_SAMPLE_LINES] if len(line) <= LONGEST_CELL]
    try:
        widths = [len(row) for row in csv.reader(sample, delimiter=separator) if any(row)]
    except csv.Error:
        return (0.0, 1)
    tables = Counter(width for width in widths if width > 1)
    if not tables:
        return (0.0, 1)
    width, n_rows = max(tables.items(), key=lambda item: (item[1], item[0]))
    return (n_rows / len(widths), width)


def has_decimal_comma(columns: Iterable[Sequence[str | None]]) -> bool:
    """
    Tell whether a table writes numbers with a decimal comma, and does so throughout.

    Parameters
    ----------
    columns
        (columns, rows) The cells of each column.

    Returns
    -------
    True where some column holds nothing but numbers, some of them with a comma, and no such column has a point.
    """
    comma = False
    for cells in columns:
        sample = [cell for cell in cells[:_SAMPLE_CELLS] if cell]
        if not all(_NUMBER.fullmatch(cell) for cell in sample):
            continue
        filled = [cell for cell in cells if cell]
        if any(_POINT_NUMBER.fullmatch(cell) for cell in filled):
            return False
        comma = comma or (
            all(_NUMBER.fullmatch(cell) for cell in filled) and any(_COMMA_NUMBER.fullmatch(cell) for cell in filled)
        )
    return comma
