"""The tree of taxa, and how names as people write them find their place in it."""

from __future__ import annotations

import csv
import math
import re
import unicodedata
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

ROOT = "Testudines"
"""The order of turtles, the coarsest answer there is."""

_DOUBT = re.compile(r"\?|\b(?:probabl[ey]|prob|possibl[ey]|poss|maybe|perhaps|likely)\b\.?", re.IGNORECASE)
_QUALIFIER = re.compile(r"\b(?:cf|aff)\b")
_RANK_ENDING = re.compile(r"\b(?:sp|spp|ssp|subsp|indet)\b")
_ARTICLE = re.compile(r"^\s*(?:an?|the)\s+")
_AUTHORITY = re.compile(r"\s\(?[A-Z][^()\d]*\b\d{4}\)?\s*$")
_CHOICE_OF_NAMES = re.compile(r"\s*/\s*|\s+or\s+", re.IGNORECASE)
_TOO_LOOSE_IN_A_SENTENCE = frozenset(
    {
        *("map", "box", "mud", "musk", "spotted", "painted", "bog", "gopher"),
        *("unknown", "unidentified", "shell", "basker"),
    }
)
"""Short names that mean something else in running text, such as 'in the mud' or 'spotted crossing'."""


@dataclass(frozen=True)
class Taxon:
    """One place in the tree: scientific name, rank, parent, English name and what else it is called."""

    name: str
    rank: str
    parent: str
    english: str
    names: tuple[str, ...]
    sensitive: bool
    greatest_length_mm: float
    length_source: str
    code: str
    note: str

    @property
    def all_names(self) -> tuple[str, ...]:
        """Every full name: scientific, English, and the others in their order."""
        return (self.name, self.english, *self.names)


@dataclass(frozen=True)
class Reading:
    """What a written name was taken for; ``taxon`` is None where it is not known."""

    taxon: str | None
    doubt: bool = False


@cache
def all_taxa() -> dict[str, Taxon]:
    """
    Every taxon by its name, from ``data/taxa.csv``, parents before children or after.

    >>> all_taxa()["Pseudemys nelsoni"].parent
    'red-bellied group'
    """
    text = (files("roadwatch") / "data" / "taxa.csv").read_text(encoding="utf-8")
    return {row["taxon"]: _taxon(row) for row in csv.DictReader(text.splitlines())}


def _taxon(row: dict[str, str]) -> Taxon:
    return Taxon(
        name=row["taxon"],
        rank=row["rank"],
        parent=row["parent"],
        english=row["english"],
        names=tuple(name for name in row["names"].split(";") if name),
        sensitive=row["sensitive"] == "1",
        greatest_length_mm=float(row["greatest_length_mm"] or "nan"),
        length_source=row["length_source"],
        code=row["code"],
        note=row["note"],
    )


@cache
def lineage(taxon: str) -> tuple[str, ...]:
    """
    The taxon and all that hold it, up to the order; empty for a name that is not in the table.

    >>> lineage("Trachemys scripta")
    ('Trachemys scripta', 'Trachemys', 'Emydidae', 'Testudines')
    """
    steps: list[str] = []
    while taxon in all_taxa():
        steps.append(taxon)
        taxon = all_taxa()[taxon].parent
    return tuple(steps)


def is_within(taxon: str | None, asked: str) -> bool:
    """
    Tell whether a taxon is the one asked for or a part of it; ``asked`` may be any name a person writes.

    >>> is_within("Trachemys scripta elegans", "slider"), is_within("Pseudemys", "Pseudemys nelsoni")
    (True, False)
    """
    return taxon is not None and read_name(asked).taxon in lineage(taxon)


def within(taxa: pd.Series, *, asked: str) -> NDArray[np.bool_]:
    """
    Tell for each of many taxa whether it is the one asked for or a part of it.

    Parameters
    ----------
    taxa
        (n,) names from the table, None or NaN where unknown.
    asked
        Any name a person writes.

    Returns
    -------
    (n,) True where it is.
    """
    inside = {name for name in all_taxa() if is_within(name, asked)}
    return taxa.isin(inside).to_numpy(dtype=bool)


def greatest_length_mm(taxon: str) -> float:
    """The greatest shell length in mm that a source gives for this taxon, nan where none was read."""
    known = all_taxa().get(taxon)
    return known.greatest_length_mm if known else math.nan


def resolve_names(written: pd.Series) -> pd.DataFrame:
    """
    Find the taxon of each written name.

    Parameters
    ----------
    written
        (n,) names as written; None or NaN for blank.

    Returns
    -------
    (n,) table with ``taxon`` (None where unknown), ``rank``, and ``doubt`` (a mark such as '?' stood with the name).
    """
    codes, distinct = pd.factorize(written)
    readings = [read_name(str(name)) for name in distinct] + [Reading(None)]
    ranks = [all_taxa()[reading.taxon].rank if reading.taxon else None for reading in readings]
    table = pd.DataFrame(
        {
            "taxon": pd.Series([reading.taxon for reading in readings], dtype=object),
            "rank": pd.Series(ranks, dtype=object),
            "doubt": [reading.doubt for reading in readings],
        }
    )
    return table.iloc[codes].set_index(written.index)  # code -1, blank, picks the last reading


@cache
def read_name(written: str) -> Reading:
    """
    Find the taxon of one written name: exact names only, never the nearest spelling.

    'cf.' and 'aff.' leave the genus; of 'slider or cooter' the taxon that holds both is taken.

    >>> read_name("Yellowbelly sliders?")
    Reading(taxon='Trachemys scripta scripta', doubt=True)
    """
    doubt = bool(_DOUBT.search(written))
    plain = _DOUBT.sub(" ", written)
    key = _key(plain)
    if _QUALIFIER.search(key):
        return Reading(_taxon_of_key(_QUALIFIER.sub(" ", key).split()[0] if key.split()[1:] else key), doubt=True)
    taxon = _taxon_of_key(key)
    if taxon is None and _AUTHORITY.search(plain):
        taxon = _taxon_of_key(_key(_AUTHORITY.sub("", plain)))
    if taxon is None:
        taxon = _held_by_all([_taxon_of_key(_key(part)) for part in _CHOICE_OF_NAMES.split(plain)])
    return Reading(taxon, doubt)


def _held_by_all(taxa: list[str | None]) -> str | None:
    lines = [lineage(taxon) for taxon in taxa if taxon]
    if len(lines) < len(taxa) or len(lines) < 2:
        return None
    return next((step for step in lines[0] if all(step in line for line in lines)), None)


def find_name(text: str) -> tuple[Reading, str]:
    """
    Find a taxon within running text, such as a waypoint's comment.

    Of several names on one line of descent the finest is taken; names of different lines give None.

    Parameters
    ----------
    text
        Any text.

    Returns
    -------
    The reading, and the words it rests on, joined by ' / ' (blank where none was found).

    >>> find_name("DOR yellow-bellied slider by the culvert")[1]
    'yellow bellied slider'
    """
    words = list(dict.fromkeys(_names_pattern().findall(_key(text))))
    taxa = list(dict.fromkeys(taxon for taxon in map(_taxon_of_key, words) if taxon))
    finest = [taxon for taxon in taxa if all(other in lineage(taxon) for other in taxa)]
    doubt = bool(_DOUBT.search(text))
    if not finest:
        return Reading(None, doubt), " / ".join(words)
    word = next(word for word in words if _taxon_of_key(word) == finest[0])
    return Reading(finest[0], doubt), word


def suggest(name: str, *, most: int = 3) -> list[str]:
    """
    Names close to one that is not known, nearest first, for the person to choose from.

    >>> suggest("yelow belied slider")[0]
    'yellow-bellied slider'
    """
    key = _key(_DOUBT.sub(" ", name))
    close = get_close_matches(key, list(_taxon_by_key()), n=4 * most, cutoff=0.72)
    closest = get_close_matches(key, close, n=most, cutoff=0.85)
    within_text = _taxon_of_key(find_name(name)[1])
    taxa = dict.fromkeys(_taxon_by_key()[near] for near in closest)
    taxa |= dict.fromkeys([within_text] if within_text not in (None, ROOT) else [])
    taxa |= dict.fromkeys(_taxon_by_key()[near] for near in close)
    return [all_taxa()[taxon].english for taxon in list(taxa)[:most]]


def _key(written: str) -> str:
    """Letters, digits and single spaces only, lower case, without accents, articles and rank endings."""
    flat = unicodedata.normalize("NFKD", written.replace("×", " x ").replace("'", "").replace("’", "")).casefold()
    flat = _ARTICLE.sub("", "".join(sign for sign in flat if not unicodedata.combining(sign)))
    return " ".join(_RANK_ENDING.sub(" ", re.sub(r"[^a-z0-9]+", " ", flat)).split())


def _taxon_of_key(key: str) -> str | None:
    """The taxon of a key, in the singular or the plural."""
    known = _taxon_by_key()
    return known.get(key) or (known.get(key[:-1]) if key.endswith("s") else None)


@cache
def _taxon_by_key() -> dict[str, str]:
    known = {_key(name): taxon.name for taxon in all_taxa().values() for name in taxon.all_names}
    for taxon in all_taxa().values():
        known.setdefault(_key(taxon.code), taxon.name)
    for short, taxa in _abbreviations().items():
        if len(taxa) == 1:
            known.setdefault(short, taxa[0])
    known.pop("", None)
    return known


def _abbreviations() -> dict[str, list[str]]:
    """Names with initials, such as 't scripta' and 't s elegans', with all taxa they can stand for."""
    meant: dict[str, list[str]] = {}
    for taxon in all_taxa().values():
        words = _key(taxon.name).split()
        if taxon.rank in ("species", "subspecies") and len(words) in (2, 3):
            for short in {" ".join([words[0][0], *words[1:]]), " ".join([w[0] for w in words[:-1]] + words[-1:])}:
                meant.setdefault(short, []).append(taxon.name)
    return meant


@cache
def _names_pattern() -> re.Pattern[str]:
    names = [name for name in _taxon_by_key() if len(name) > 3 and name not in _TOO_LOOSE_IN_A_SENTENCE]
    return re.compile(rf"\b(?:{'|'.join(sorted(names, key=len, reverse=True))})(?=s?\b)")
