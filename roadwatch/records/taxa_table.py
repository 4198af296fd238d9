"""The table behind the tree of taxa: its rows, a coordinator's rows on top, and what makes a table unfit."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from roadwatch.errors import UnfitFileError
from roadwatch.records.written_names import key_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

RANKS = ("subspecies", "species", "group", "genus", "family", "order")
"""From the finest to the coarsest."""

_REQUIRED = ("taxon", "rank", "parent")
_OPTIONAL = (
    *("english", "names", "sensitive", "greatest_length_mm", "length_source", "code", "note"),
    *("disputed", "usual_clutch_eggs", "clutch_source"),
)
_YES, _NO = frozenset({"1", "yes", "true"}), frozenset({"", "0", "no", "false"})


@dataclass(frozen=True)
class Taxon:
    """
    One place in the tree.

    Parameters
    ----------
    name, rank, parent, english
        Scientific name, rank, the taxon that holds it (blank for the root), English name.
    names
        What else it is called: synonyms, local and everyday names.
    sensitive
        Its places are kept from the public.
    greatest_length_mm, length_source
        Greatest shell length read in a source, nan where none was read, and the key of that source.
    code
        Short code.
    note
        What a reader has to know, as where authors disagree.
    disputed
        Those of its names that authors use for different taxa.
    usual_clutch_eggs, clutch_source
        The most eggs that a source calls usual, nan where none was read, and the key of that source.
    """

    name: str
    rank: str
    parent: str
    english: str = ""
    names: tuple[str, ...] = ()
    sensitive: bool = False
    greatest_length_mm: float = math.nan
    length_source: str = ""
    code: str = ""
    note: str = ""
    disputed: tuple[str, ...] = ()
    usual_clutch_eggs: float = math.nan
    clutch_source: str = ""

    @property
    def all_names(self) -> tuple[str, ...]:
        """Every full name: scientific, English, and the others in their order."""
        return tuple(dict.fromkeys(name for name in (self.name, self.english, *self.names) if name))


def taxa_in(rows: Sequence[Mapping[str, str | None]], *, source: str) -> dict[str, Taxon]:
    """
    Taxa by name, from the rows of a table.

    Parameters
    ----------
    rows
        Column name to cell; ``english`` may be blank and is then the scientific name.
    source
        What messages call the table.

    Raises
    ------
    UnfitFileError
        A cell cannot be read; the message names the line, counted with the header as line 1.
    """
    return {taxon.name: taxon for line, row in enumerate(rows, start=2) for taxon in [_taxon(row, source, line)]}


def extended(shipped: dict[str, Taxon], path: Path) -> dict[str, Taxon]:
    """
    The shipped taxa with those of a coordinator's table on top: same name replaces, another name adds.

    What lies within a sensitive taxon is sensitive too.

    Raises
    ------
    UnfitFileError
        See ``taxonomy_of``.
    """
    try:
        table = csv.DictReader(path.read_text(encoding="utf-8-sig").splitlines())
    except UnicodeDecodeError as fault:
        raise UnfitFileError(f"{path.name}: is not UTF-8 text; save it as CSV in UTF-8") from fault
    columns = [name or "" for name in table.fieldnames or ()]
    lacking, unknown = set(_REQUIRED) - set(columns), set(columns) - {*_REQUIRED, *_OPTIONAL}
    if lacking or unknown:
        raise UnfitFileError(
            f"{path.name}, line 1: columns {', '.join(columns) or 'none'}; expected are "
            f"{', '.join(_REQUIRED)} and, where wanted, {', '.join(_OPTIONAL)}"
        )
    taxa = shipped | taxa_in(list(table), source=path.name)
    _refuse_broken_tree(taxa, path.name)
    _refuse_shared_names(taxa, path.name)
    return {name: replace(taxon, sensitive=_is_touchy(name, taxa)) for name, taxon in taxa.items()}


def _taxon(row: Mapping[str, str | None], source: str, line: int) -> Taxon:
    cell = {name: (row.get(name) or "").strip() for name in (*_REQUIRED, *_OPTIONAL)}
    if not cell["taxon"] or row.get(None):  # type: ignore[call-overload]  # csv puts surplus cells under None
        raise UnfitFileError(f"{source}, line {line}: no taxon, or more cells than columns; write one taxon a line")
    if cell["rank"] not in RANKS:
        raise UnfitFileError(f"{source}, line {line}: rank '{cell['rank']}' is none of {', '.join(RANKS)}")
    if cell["sensitive"].lower() not in _YES | _NO:
        raise UnfitFileError(f"{source}, line {line}: sensitive '{cell['sensitive']}'; write 1 or 0")
    return Taxon(
        name=cell["taxon"],
        rank=cell["rank"],
        parent=cell["parent"],
        english=cell["english"] or cell["taxon"],
        names=_parted(cell["names"]),
        sensitive=cell["sensitive"].lower() in _YES,
        greatest_length_mm=_number(cell, "greatest_length_mm", source, line),
        length_source=cell["length_source"],
        code=cell["code"],
        note=cell["note"],
        disputed=_parted(cell["disputed"]),
        usual_clutch_eggs=_number(cell, "usual_clutch_eggs", source, line),
        clutch_source=cell["clutch_source"],
    )


def _parted(cell: str) -> tuple[str, ...]:
    return tuple(name for part in cell.split(";") if (name := part.strip()))


def _number(cell: Mapping[str, str], name: str, source: str, line: int) -> float:
    try:
        value = float(cell[name] or "nan")
    except ValueError:
        value = -1.0
    if value <= 0 or math.isinf(value):
        raise UnfitFileError(f"{source}, line {line}: {name} '{cell[name]}'; write a number above 0, or nothing")
    return value


def _refuse_broken_tree(taxa: dict[str, Taxon], source: str) -> None:
    """Every taxon has a parent in the table that is of a coarser rank, but for one root."""
    roots = [name for name, taxon in taxa.items() if not taxon.parent]
    if len(roots) != 1:
        raise UnfitFileError(f"{source}: {', '.join(roots)} have no parent; name the taxon that holds each")
    for taxon in taxa.values():
        if taxon.parent and taxon.parent not in taxa:
            raise UnfitFileError(f"{source}: parent '{taxon.parent}' of {taxon.name} is in no row; add a row for it")
        if taxon.parent and RANKS.index(taxa[taxon.parent].rank) <= RANKS.index(taxon.rank):
            raise UnfitFileError(
                f"{source}: {taxon.name} ({taxon.rank}) lies within {taxon.parent} ({taxa[taxon.parent].rank}); "
                "a parent has a coarser rank"
            )


def _refuse_shared_names(taxa: dict[str, Taxon], source: str) -> None:
    owners: dict[str, str] = {}
    for taxon in taxa.values():
        for name in taxon.all_names:
            owner = owners.setdefault(key_of(name), taxon.name)
            if owner != taxon.name:
                raise UnfitFileError(
                    f"{source}: '{name}' is a name of {owner} and of {taxon.name}; leave it with one of them"
                )


def _is_touchy(name: str, taxa: dict[str, Taxon]) -> bool:
    while name:
        if taxa[name].sensitive:
            return True
        name = taxa[name].parent
    return False
