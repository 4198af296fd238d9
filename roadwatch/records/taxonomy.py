"""A tree of taxa with all their names, read from a table that a coordinator can extend."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.records.name_index import NameIndex
from roadwatch.records.taxa_table import Taxon, extended, taxa_in
from roadwatch.records.written_names import has_doubt, key_of, take_apart

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    import numpy as np
    from numpy.typing import NDArray

TABLE_NAME = "taxa.csv"
"""Name of a coordinator's own table within the folder of tables."""

_AUTHORITY = re.compile(r"\s\(?[A-Z][^()\d]*\b\d{4}\)?\s*$")
_CHOICE_OF_NAMES = re.compile(r"\s*/\s*|\s+or\s+", re.IGNORECASE)


@dataclass(frozen=True)
class Reading:
    """
    What a written name was taken for.

    Parameters
    ----------
    taxon
        The part that is sure, None where it is not known.
    doubt
        A mark such as '?', or cf. or aff., stood with the name.
    qualifier
        What expresses the doubt, in the words of open nomenclature; blank where there is none.
    taken_as
        The name that was meant, where a slip in the spelling was mended.
    """

    taxon: str | None
    doubt: bool = False
    qualifier: str = ""
    taken_as: str = ""


@dataclass(frozen=True, eq=False)
class Taxonomy:
    """
    A tree of taxa.

    Parameters
    ----------
    taxa
        Every taxon by its name, parents before children or after.
    root
        The taxon that holds all others.
    """

    taxa: dict[str, Taxon]
    root: str

    def lineage(self, taxon: str) -> tuple[str, ...]:
        """The taxon and all that hold it, up to the root; empty for a name that is not in the table."""
        return self._lineages.get(taxon, ())

    def is_within(self, taxon: str | None, asked: str) -> bool:
        """Tell whether a taxon is the one asked for or a part of it; ``asked`` may be any name a person writes."""
        return taxon is not None and self.read_name(asked).taxon in self.lineage(taxon)

    def within(self, taxa: pd.Series, *, asked: str) -> NDArray[np.bool_]:
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
        inside = {name for name in self.taxa if self.is_within(name, asked)}
        return taxa.isin(inside).to_numpy(dtype=bool)

    def greatest_length_mm(self, taxon: str) -> float:
        """The greatest shell length in mm that a source gives for this taxon, nan where none was read."""
        known = self.taxa.get(taxon)
        return known.greatest_length_mm if known else math.nan

    def usual_clutch(self, taxon: str) -> float:
        """The most eggs that a source calls usual for this taxon, nan where none was read."""
        known = self.taxa.get(taxon)
        return known.usual_clutch_eggs if known else math.nan

    def read_name(self, written: str, *, mend: bool = False) -> Reading:
        """
        Find the taxon of one written name.

        'cf.' and 'aff.' leave what stands before them, or the genus; of 'slider or cooter' the taxon that holds both
        is taken.

        Parameters
        ----------
        written
            The name.
        mend
            Take a name with a slip of the pen for the one that is meant, where that is safe: one letter is wrong in a
            word of six or more, and no other taxon is so near. Else only names of the table are known.
        """
        return _read_name(self, written, mend)

    def resolve_names(self, written: pd.Series) -> pd.DataFrame:
        """
        Find the taxon of each written name.

        Parameters
        ----------
        written
            (n,) names as written; None or NaN for blank.

        Returns
        -------
        (n,) table with ``taxon`` (None where unknown), ``rank``, and ``doubt`` (a mark such as '?' stood with it).
        """
        codes, distinct = pd.factorize(written)
        readings = [self.read_name(str(name)) for name in distinct] + [Reading(None)]
        ranks = [self.taxa[reading.taxon].rank if reading.taxon else None for reading in readings]
        table = pd.DataFrame(
            {
                "taxon": pd.Series([reading.taxon for reading in readings], dtype=object),
                "rank": pd.Series(ranks, dtype=object),
                "doubt": [reading.doubt for reading in readings],
            }
        )
        return table.iloc[codes].set_index(written.index)  # code -1, blank, picks the last reading

    def disputed(self, written: str) -> str:
        """The taxon's note, where authors use the written name for different taxa; blank where they agree."""
        taxon = self.read_name(written).taxon
        is_disputed = taxon and key_of(written) in {key_of(name) for name in self.taxa[taxon].disputed}
        return self.taxa[taxon].note if taxon and is_disputed else ""

    def find_name(self, text: str) -> tuple[Reading, str]:
        """
        Find a taxon within running text, such as a waypoint's comment.

        Of several names on one line of descent the finest is taken; names of different lines give None.

        Returns
        -------
        The reading, and the words it rests on, joined by ' / ' (blank where none was found).
        """
        found = self._names.within(text)
        finest = [taxon for taxon in found.values() if all(other in self.lineage(taxon) for other in found.values())]
        if not finest:
            return Reading(None, has_doubt(text)), " / ".join(found)
        return Reading(finest[0], has_doubt(text)), next(word for word in found if found[word] == finest[0])

    def suggest(self, name: str, *, most: int = 3) -> list[str]:
        """Names close to one that is not known, nearest first, for the person to choose from."""
        within_text = self._names.taxon_of(self.find_name(name)[1])
        near = self._names.near(name, most=most, between=None if within_text == self.root else within_text)
        return [self.taxa[taxon].english for taxon in near]

    def propose(self, name: str) -> str:
        """
        The English name that a person is likely to have meant; blank where none, or more than one, is so near.

        A word that stands in any known name is right as it is, and a word of fewer than five letters is not guessed at.
        """
        taxa = self._names.likely(name)
        return self.taxa[taxa.pop()].english if len(taxa) == 1 else ""

    @cached_property
    def _names(self) -> NameIndex:
        return NameIndex(self.taxa.values())

    @cached_property
    def _lineages(self) -> dict[str, tuple[str, ...]]:
        return {name: tuple(_upwards(name, self.taxa)) for name in self.taxa}

    def _exact(self, plain: str) -> str | None:
        """The taxon of a name without doubt marks, with or without its author; of a choice the taxon that holds all."""
        taxon = self._names.taxon_of(key_of(plain))
        if taxon is None and _AUTHORITY.search(plain):
            taxon = self._names.taxon_of(key_of(_AUTHORITY.sub("", plain)))
        if taxon is None:
            taxon = self._held_by_all([self._names.taxon_of(key_of(part)) for part in _CHOICE_OF_NAMES.split(plain)])
        return taxon

    def _held_by_all(self, taxa: list[str | None]) -> str | None:
        lines = [self.lineage(taxon) for taxon in taxa if taxon]
        if len(lines) < len(taxa) or len(lines) < 2:
            return None
        return next((step for step in lines[0] if all(step in line for line in lines)), None)

    def _genus_of(self, taxon: str | None) -> str | None:
        """The genus of a taxon, itself where it is coarser."""
        steps = self.lineage(taxon) if taxon else ()
        fine = {"subspecies", "species", "group"}
        return next((step for step in steps if self.taxa[step].rank not in fine), None)


@lru_cache(maxsize=20_000)
def _read_name(taxonomy: Taxonomy, written: str, mend: bool) -> Reading:  # noqa: FBT001  # a method cannot be cached
    name = take_apart(written)
    if name.sure and (taxon := taxonomy._exact(name.sure)):
        return Reading(taxon, name.doubt, name.qualifier)
    if name.sure == name.whole:
        taxon, taken_as = taxonomy._names.mended(name.whole) if mend else (None, "")
        return Reading(taxon, name.doubt, name.qualifier, taken_as)
    whole = taxonomy._exact(name.whole)
    return Reading(taxonomy._genus_of(whole), name.doubt, name.qualifier)


@cache
def taxonomy_of(folder: Path | None = None) -> Taxonomy:
    """
    The tree of taxa of a season.

    Parameters
    ----------
    folder
        A coordinator's tables; its ``taxa.csv`` replaces shipped rows of the same taxon and adds the others. Without
        a folder, or without that file in it, the shipped table alone.

    Raises
    ------
    UnfitFileError
        The table lacks a column, or a row has no parent, a rank that is not known, or a name that another taxon has.
    """
    path = folder / TABLE_NAME if folder else None
    if path and not path.exists():
        return taxonomy_of()
    text = (files("roadwatch") / "data" / TABLE_NAME).read_text(encoding="utf-8")
    shipped = taxa_in(list(csv.DictReader(text.splitlines())), source=TABLE_NAME)
    taxa = extended(shipped, path) if path else shipped
    return Taxonomy(taxa, next(name for name, taxon in taxa.items() if not taxon.parent))


def _upwards(taxon: str, taxa: dict[str, Taxon]) -> Iterable[str]:
    while taxon in taxa:
        yield taxon
        taxon = taxa[taxon].parent
