"""Long columns of whole numbers as short texts: a page of 100,000 records must stay small."""

from __future__ import annotations

import re
from base64 import b64encode
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.render.words import shown_value

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    IntArray = NDArray[np.int64]

STEPS_PER_DEGREE = 100_000
"""Places are kept to 0.00001 degree, about 1 m: finer than any hand-held receiver."""

_BITS = 7
_UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


def steps_between(points: NDArray[np.float64]) -> IntArray:
    """
    Places as whole steps of which each pair counts from the pair before.

    Parameters
    ----------
    points
        (n, 2) longitude and latitude in degrees.

    Returns
    -------
    (2n,) longitude and latitude in turn, in units of 0.00001 degree.
    """
    steps = np.rint(points * STEPS_PER_DEGREE).astype(np.int64)
    return np.diff(steps, axis=0, prepend=np.zeros((1, 2), dtype=np.int64)).ravel()


def pack_numbers(numbers: IntArray) -> str:
    """
    Whole numbers, most of them small, as base64 of bytes: seven bits a byte, lowest first, the eighth says "goes on".

    A number's sign stands in its lowest bit, so that small negative numbers stay short too.

    >>> pack_numbers(np.array([0, -1, 1, 64])), len(pack_numbers(np.array([10**6])))
    ('AAECgAE=', 4)

    Parameters
    ----------
    numbers
        (n,) whole numbers of either sign.

    Returns
    -------
    Text of letters, digits, ``+ / =``.
    """
    folded = (numbers << 1) ^ (numbers >> 63)
    limits = 2 ** (_BITS * np.arange(1, 9, dtype=np.int64))
    n_bytes = 1 + np.searchsorted(limits, folded, side="right")
    place = np.arange(n_bytes.sum()) - np.repeat(np.cumsum(n_bytes) - n_bytes, n_bytes)
    part = (np.repeat(folded, n_bytes) >> (_BITS * place)) & 127
    goes_on = np.where(place < np.repeat(n_bytes, n_bytes) - 1, 128, 0)
    return b64encode((part | goes_on).astype(np.uint8).tobytes()).decode("ascii")


def pack_codes(codes: IntArray) -> int | str:
    """
    Which text each row has, as short as it goes.

    >>> pack_codes(np.array([2, 2])), pack_codes(np.array([0, 1, 2])), pack_codes(np.array([1, -1]))
    (3, '', '1AgA=')

    Parameters
    ----------
    codes
        (n,) places in a list of texts, -1 for none.

    Returns
    -------
    Codes count from 1 here, and 0 is none. One number where all rows are alike; blank where row i has text i; else
    the number of bytes a row (1, 2 or 4) and base64 of unsigned numbers, lowest byte first.
    """
    if len(codes) and (codes == codes[0]).all():
        return int(codes[0]) + 1
    if (codes == np.arange(len(codes))).all():
        return ""
    width = next(width for width in (1, 2, 4) if codes.max() + 1 < 256**width)
    return f"{width}{b64encode((codes + 1).astype(f'<u{width}').tobytes()).decode('ascii')}"


def text_columns(table: pd.DataFrame, labels: Mapping[str, str]) -> list[dict[str, object]]:
    """
    Each column as its different texts and, for every row, which of them it has.

    Parameters
    ----------
    table
        Any table; a column that is missing or blank throughout is left out.
    labels
        Heading of each column by its name, in the order in which they are shown.

    Returns
    -------
    Dictionaries with ``key label texts codes``; the codes as :func:`pack_codes` writes them. Where every text is a
    UUID, ``uuids`` stands for ``texts``.
    """
    columns: list[dict[str, object]] = []
    for name, label in labels.items():
        if name in table.columns:
            codes, texts = _told_once(table[name], name)
            if texts:
                told = {"uuids": pack_uuids(texts)} if all(map(_UUID.fullmatch, texts)) else {"texts": texts}
                columns.append({"key": name, "label": label, **told, "codes": pack_codes(codes)})
    return columns


def pack_uuids(texts: Sequence[str]) -> str:
    """
    Names of 36 characters as base64 of their 16 bytes each.

    Parameters
    ----------
    texts
        (n,) UUIDs in small letters, written with hyphens.

    Returns
    -------
    Text of letters, digits, ``+ / =``.

    Source
    ------
    rfc9562
    """
    return b64encode(bytes.fromhex("".join(texts).replace("-", ""))).decode("ascii")


def _told_once(column: pd.Series, name: str) -> tuple[IntArray, list[str]]:
    """Each different value is put in words once, however many rows have it."""
    raw, values = pd.factorize(column)
    words = shown_value(pd.DataFrame({name: values}), name)
    named, texts = pd.factorize(pd.Series(words, dtype=object).replace("", None))
    return np.append(named, -1)[raw].astype(np.int64), [str(text) for text in texts]
