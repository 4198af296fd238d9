"""The shipped tree of taxa, and how names as people write them find their place in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from roadwatch.records.taxa_table import Taxon
from roadwatch.records.taxonomy import Reading, Taxonomy, taxonomy_of

if TYPE_CHECKING:
    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

__all__ = [
    "ROOT",
    "Reading",
    "Taxon",
    "Taxonomy",
    "all_taxa",
    "find_name",
    "greatest_length_mm",
    "is_within",
    "lineage",
    "read_name",
    "resolve_names",
    "suggest",
    "taxonomy_of",
    "within",
]

ROOT = "Testudines"
"""The order of turtles, the coarsest answer there is."""


def all_taxa() -> dict[str, Taxon]:
    """
    Every shipped taxon by its name, from ``data/taxa.csv``, parents before children or after.

    >>> all_taxa()["Pseudemys nelsoni"].parent
    'red-bellied group'
    """
    return taxonomy_of().taxa


def lineage(taxon: str) -> tuple[str, ...]:
    """
    The taxon and all that hold it, up to the order; empty for a name that is not in the table.

    >>> lineage("Trachemys scripta")
    ('Trachemys scripta', 'Trachemys', 'Emydidae', 'Testudines')
    """
    return taxonomy_of().lineage(taxon)


def is_within(taxon: str | None, asked: str) -> bool:
    """
    Tell whether a taxon is the one asked for or a part of it; ``asked`` may be any name a person writes.

    >>> is_within("Trachemys scripta elegans", "slider"), is_within("Pseudemys", "Pseudemys nelsoni")
    (True, False)
    """
    return taxonomy_of().is_within(taxon, asked)


def within(taxa: pd.Series, *, asked: str) -> NDArray[np.bool_]:
    """Tell for each of (n,) taxa whether it is the one asked for or a part of it; see ``Taxonomy.within``."""
    return taxonomy_of().within(taxa, asked=asked)


def greatest_length_mm(taxon: str) -> float:
    """The greatest shell length in mm that a source gives for this taxon, nan where none was read."""
    return taxonomy_of().greatest_length_mm(taxon)


def resolve_names(written: pd.Series) -> pd.DataFrame:
    """Find the taxon of each of (n,) written names: ``taxon``, ``rank``, ``doubt``; see ``Taxonomy.resolve_names``."""
    return taxonomy_of().resolve_names(written)


def read_name(written: str) -> Reading:
    """
    Find the taxon of one written name; see ``Taxonomy.read_name``.

    >>> read_name("Yellowbelly sliders?")
    Reading(taxon='Trachemys scripta scripta', doubt=True, qualifier='?', taken_as='')
    """
    return taxonomy_of().read_name(written)


def find_name(text: str) -> tuple[Reading, str]:
    """
    Find a taxon within running text, such as a waypoint's comment; see ``Taxonomy.find_name``.

    >>> find_name("DOR yellow-bellied slider by the culvert")[1]
    'yellow bellied slider'
    """
    return taxonomy_of().find_name(text)


def suggest(name: str, *, most: int = 3) -> list[str]:
    """
    Names close to one that is not known, nearest first, for the person to choose from.

    >>> suggest("yelow belied slider")[0]
    'yellow-bellied slider'
    """
    return taxonomy_of().suggest(name, most=most)
