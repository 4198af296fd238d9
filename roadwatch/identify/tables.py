"""All that identification knows: characters, how often taxa show them, how common taxa are, how often people slip."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import UsageError
from roadwatch.identify.characters import Character, build_characters
from roadwatch.identify.frequencies import Matrix, build_matrix
from roadwatch.identify.table_files import TABLE_FILES, Row, complain, digest, number_in, read_table
from roadwatch.identify.tree import OTHER, Tree, tree_of, tree_rows

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

PRIOR_OF_OTHER = 0.005
"""Share kept for turtles that the tables do not hold, so that a poor fit climbs instead of forcing a name."""

WEIGHT_CLASSES = {"common": 10.0, "fair": 4.0, "uncommon": 1.0, "rare": 0.1, "outside": 0.005}
"""Weights of commonness; never 0, because animals escape and ranges are wrong."""


@dataclass(frozen=True)
class Factor:
    """How much more often a taxon is met in a month or habitat, as a multiple from 1/3 to 3."""

    kind: str
    key: str
    taxon: str
    factor: float
    source: str


@dataclass(frozen=True)
class MeasuredConfusion:
    """What was reported of animals whose taxon was known: ``reported[name]`` is (taxa,), nan where not measured."""

    reported: dict[str, NDArray[np.float64]]


@dataclass(frozen=True, eq=False)
class Tables:
    """
    Everything identification rests on, for the shipped region or a coordinator's own.

    Parameters
    ----------
    matrix
        Characters, taxa and frequencies.
    priors
        Region to (taxa,) shares that add to 1.
    weight_classes
        Region to the class of commonness of each taxon.
    factors
        Season and habitat factors.
    slips
        Skill to the share of looks that go wrong.
    confusion
        How often each name was reported of each taxon, where a county measured it; empty as shipped.
    tree
        Ranks, lineages and which taxa are kept from the public.
    version
        Digest of the content, to be stored with every result.
    """

    matrix: Matrix
    priors: dict[str, NDArray[np.float64]]
    weight_classes: dict[str, dict[str, str]]
    factors: tuple[Factor, ...]
    slips: dict[str, float]
    confusion: MeasuredConfusion
    tree: Tree
    version: str

    @property
    def characters(self) -> Mapping[str, Character]:
        """The characters by key, in the order of their table."""
        return self.matrix.characters

    @property
    def taxa(self) -> tuple[str, ...]:
        """The taxa that characters tell apart, ``other turtle`` last."""
        return self.matrix.taxa

    def habitats(self) -> tuple[str, ...]:
        """The habitats that have a factor."""
        return tuple(dict.fromkeys(factor.key for factor in self.factors if factor.kind == "habitat"))

    def prior(self, region: str | None, *, month: int | None = None, habitat: str | None = None) -> NDArray[np.float64]:
        """
        How common each taxon is before anything was seen.

        Parameters
        ----------
        region
            Key of the region; None takes all taxa as equally common.
        month
            1 to 12; None leaves the season out.
        habitat
            A habitat with factors; None leaves it out.

        Returns
        -------
        (taxa,) shares that add to 1.

        Raises
        ------
        UsageError
            The region or habitat is not in the tables.

        Source
        ------
        judgement
        """
        if region is None:
            share = np.full(len(self.taxa), (1 - PRIOR_OF_OTHER) / (len(self.taxa) - 1))
            share[-1] = PRIOR_OF_OTHER
        elif region in self.priors:
            share = self.priors[region].copy()
        else:
            raise UsageError(
                f"region '{region}' is not in the tables; expected one of {', '.join(self.priors)}; for another "
                "county give tables of your own with a priors.csv that names it"
            )
        if habitat is not None and habitat not in self.habitats():
            raise UsageError(f"habitat '{habitat}' has no factors; expected one of {', '.join(self.habitats())}")
        for factor in self.factors:
            if (factor.kind, factor.key) in {("season", f"{month:02d}" if month else ""), ("habitat", habitat)}:
                share[[self.tree.is_within(taxon, factor.taxon) for taxon in self.taxa]] *= factor.factor
        return np.asarray(share / share.sum())


def version_note(tables: Tables) -> str:
    """
    Name the tables that a result rests on, so that the same result can be had again.

    Parameters
    ----------
    tables
        The tables used.
    """
    return f"Names rest on identification tables {tables.version}."


@cache
def identify_tables(folder: Path | None = None) -> Tables:
    """
    Read and check every table.

    Parameters
    ----------
    folder
        A coordinator's folder; a file there replaces shipped rows of the same key and adds the others. None reads
        the shipped tables alone.

    Raises
    ------
    UnfitFileError
        A table does not fit; the message says file, line, what was found, what is expected and what to do.
    """
    rows = {name: read_table(name, folder=folder) for name in TABLE_FILES}
    faults: list[str] = []
    tree = tree_of(folder)
    characters = build_characters(rows["characters.csv"], rows["states.csv"], faults=faults)
    complain(faults)
    matrix = build_matrix(rows["frequencies.csv"], rows["forms.csv"], characters, tree=tree, faults=faults)
    priors, classes = _priors(rows["priors.csv"], matrix, tree=tree, faults=faults)
    factors = tuple(_factor(row, tree, faults) for row in rows["factors.csv"])
    slips = {row["skill"]: number_in(row, "slip", low=0, high=0.9, faults=faults) for row in rows["skills.csv"]}
    confusion = _confusion(rows["confusion.csv"], matrix, tree=tree, faults=faults)
    complain(faults)
    version = digest([*(row for table in rows.values() for row in table), *tree_rows(tree)])
    return Tables(matrix, priors, classes, factors, slips, confusion, tree, version)


def _priors(
    rows: list[Row], matrix: Matrix, *, tree: Tree, faults: list[str]
) -> tuple[dict[str, NDArray[np.float64]], dict[str, dict[str, str]]]:
    """Shares by region: of the number where a row gives one, else of its class; a taxon without a row is 'outside'."""
    weights: dict[str, dict[str, float]] = {}
    classes: dict[str, dict[str, str]] = {}
    for row in rows:
        taxon = tree.find(row["taxon"])
        if taxon not in matrix.taxa or taxon == OTHER:
            faults.append(row.fault("taxon", expected="not a taxon of frequencies.csv"))
            continue
        if row["weight_class"] not in WEIGHT_CLASSES:
            faults.append(row.fault("weight_class", expected=f"not one of {', '.join(WEIGHT_CLASSES)}"))
            continue
        given = number_in(row, "prior", low=1e-9, high=1, faults=faults) if row["prior"] else float("nan")
        weights.setdefault(row["region"], {})[taxon] = given
        classes.setdefault(row["region"], {})[taxon] = row["weight_class"]
    return {region: _shares(weights[region], classes[region], matrix) for region in weights}, classes


def _shares(given: dict[str, float], classes: dict[str, str], matrix: Matrix) -> NDArray[np.float64]:
    """Numbers stand as given; classes without a number are put on their scale, then all is made to add to 1."""
    by_class = np.array([WEIGHT_CLASSES[classes.get(taxon, "outside")] for taxon in matrix.taxa[:-1]])
    numbers = np.array([given.get(taxon, np.nan) for taxon in matrix.taxa[:-1]])
    has_number = np.isfinite(numbers)
    scale = numbers[has_number].sum() / by_class[has_number].sum() if has_number.any() else 1.0
    share = np.where(has_number, numbers, by_class * scale)
    return np.append(share / share.sum() * (1 - PRIOR_OF_OTHER), PRIOR_OF_OTHER)


def _confusion(rows: list[Row], matrix: Matrix, *, tree: Tree, faults: list[str]) -> MeasuredConfusion:
    """A taxon that was measured shows every other name never; one that was not stays nan."""
    cells: dict[tuple[str, str], float] = {}
    for row in rows:
        true, reported = tree.find(row["true_taxon"]), tree.find(row["reported_taxon"])
        if true not in matrix.taxa:
            faults.append(row.fault("true_taxon", expected="not a taxon of frequencies.csv"))
        elif reported is None:
            faults.append(row.fault("reported_taxon", expected="not in taxa.csv"))
        else:
            cells[true, reported] = number_in(row, "probability", low=0, high=1, faults=faults)
    measured = {true for true, _ in cells}
    for true in measured:
        total = sum(value for (taxon, _), value in cells.items() if taxon == true)
        if abs(total - 1) > 0.02:
            faults.append(
                f"confusion.csv: the probabilities of {true} add to {total:.3g}, expected 1; "
                "add what else was reported of it"
            )
    return MeasuredConfusion(
        {
            name: np.array([cells.get((taxon, name), 0.0) if taxon in measured else np.nan for taxon in matrix.taxa])
            for name in dict.fromkeys(reported for _, reported in cells)
        }
    )


def _factor(row: Row, tree: Tree, faults: list[str]) -> Factor:
    taxon = tree.find(row["taxon"]) or ""
    if not taxon:
        faults.append(row.fault("taxon", expected="not in taxa.csv"))
    if row["kind"] not in {"season", "habitat"}:
        faults.append(row.fault("kind", expected="neither season nor habitat"))
    return Factor(
        row["kind"], row["key"], taxon, number_in(row, "factor", low=1 / 3, high=3, faults=faults), row["source"]
    )
