"""The tree of taxa as identification climbs it, with a place for turtles that no table holds."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

from roadwatch.identify.table_files import Row
from roadwatch.records.taxa import ROOT, Taxonomy, taxonomy_of

if TYPE_CHECKING:
    from pathlib import Path

OTHER = "other turtle"
"""Any turtle outside the tables: rare, showing every state equally often."""

RANKS = ("subspecies", "species", "group", "genus", "family", "order")
"""From the finest to the coarsest."""


@dataclass(frozen=True)
class Tree:
    """Lineages from the finest up, ranks, English names, and the taxa whose places are kept from the public."""

    lineages: dict[str, tuple[str, ...]]
    ranks: dict[str, str]
    english: dict[str, str]
    sensitive: frozenset[str]
    taxonomy: Taxonomy

    def find(self, written: str) -> str | None:
        """The canonical name of a written one, None where it is not known."""
        return written if written in self.lineages else self.taxonomy.read_name(written).taxon

    def is_within(self, taxon: str, asked: str) -> bool:
        """Tell whether a canonical name is the one asked for or a part of it."""
        return asked in self.lineages.get(taxon, ())

    def held_at(self, taxon: str, rank: str) -> str | None:
        """The taxon of a rank that holds this one, itself included; None where the tree has none."""
        return next((step for step in self.lineages.get(taxon, ()) if self.ranks[step] == rank), None)


def tree_of(folder: Path | None) -> Tree:
    """
    The tree of taxa, with ``other turtle`` directly under the order.

    Parameters
    ----------
    folder
        A coordinator's folder that may hold a ``taxa.csv``; None is the shipped tree.
    """
    taxonomy = taxonomy_of(folder)
    taxa = taxonomy.taxa
    return Tree(
        lineages={name: taxonomy.lineage(name) for name in taxa} | {OTHER: (OTHER, ROOT)},
        ranks={name: taxon.rank for name, taxon in taxa.items()} | {OTHER: "other"},
        english={name: taxon.english for name, taxon in taxa.items()} | {OTHER: OTHER},
        sensitive=frozenset(name for name, taxon in taxa.items() if taxon.sensitive),
        taxonomy=taxonomy,
    )


def tree_rows(tree: Tree) -> list[Row]:
    """The taxa as rows to be digested with the other tables: which name is written and what is masked rest on them."""
    taxa = tree.taxonomy.taxa.values()
    return [Row("taxa.csv", 0, {name: str(cell) for name, cell in asdict(taxon).items()}) for taxon in taxa]
