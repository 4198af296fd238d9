"""The probability of each taxon for every record: from its characters, or else from its name and how sure it was."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.confusion import expected_confusion
from roadwatch.identify.counts import draw_taxa
from roadwatch.identify.evidence import Evidence, evidence_of
from roadwatch.identify.posterior import posterior
from roadwatch.identify.tables import Tables, identify_tables
from roadwatch.identify.tree import OTHER
from roadwatch.records.fields import CONFIDENCE_WORDS

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

BLANK_CONFIDENCE = CONFIDENCE_WORDS["likely"]
"""Taken where an observer left ``id_confidence`` blank; a stated convention, no source."""

VERIFIED, CHARACTERS, NAME, UNKNOWN = "verified", "characters", "name", "unknown"


@dataclass(frozen=True)
class Identities:
    """
    How sure we are of each record.

    Parameters
    ----------
    tables
        The tables they rest on.
    p
        (records, taxa) probabilities; each row adds to 1.
    basis
        (records,) ``verified``, ``characters``, ``name``, or ``unknown`` where only the region's prior is left.
    named
        (records,) canonical names of verified and name records, None for others.
    own, place
        (records,) probability given to the name itself where it is no taxon of the tables, and the position of the
        taxon that stands in for it; 0 and the last where it is one.
    notes
        What was set aside or assumed, in sentences.
    """

    tables: Tables
    p: NDArray[np.float64]
    basis: NDArray[np.object_]
    named: NDArray[np.object_]
    own: NDArray[np.float64]
    place: NDArray[np.intp]
    notes: tuple[str, ...]

    def of(self, asked: str) -> NDArray[np.float64]:
        """(records,) probability of a canonical taxon of any rank."""
        tree = self.tables.tree
        return self._sum(lambda taxon: tree.is_within(taxon, asked))

    def exactly(self, taxon: str) -> NDArray[np.float64]:
        """(records,) probability of one taxon of the tables, without others that it holds."""
        return self._sum(lambda name: name == taxon)

    def sensitive(self) -> NDArray[np.float64]:
        """(records,) probability of any taxon whose places are kept from the public."""
        return self._sum(lambda taxon: taxon in self.tables.tree.sensitive)

    def drawn_within(self, asked: str, *, n_sets: int, rng: np.random.Generator) -> NDArray[np.bool_]:
        """
        Draw a name for every record, set by set, and tell which are of the taxon asked for.

        The same seed draws the same names whatever taxon is asked for, so that a set is one state of the world.

        Parameters
        ----------
        asked
            Canonical name of the taxon, of any rank.
        n_sets
            Number of sets.
        rng
            Source of chance.

        Returns
        -------
        (sets, records) True where the drawn name is the one asked for or a part of it.

        Source
        ------
        rubin1987
        """
        tree = self.tables.tree
        inside = np.array([tree.is_within(taxon, asked) for taxon in self.tables.taxa])
        itself = np.array([name is not None and tree.is_within(name, asked) for name in self.named], dtype=bool)
        drawn = draw_taxa(self.p, n_sets=n_sets, rng=rng)
        stands_in = self.p[np.arange(len(self.place)), self.place]
        share_of_name = np.divide(self.own, stands_in, out=np.zeros_like(self.own), where=stands_in > 0)
        as_named = (drawn == self.place) & (rng.random(drawn.shape) < share_of_name)
        return np.where(as_named, itself, inside[drawn])

    @cached_property
    def _names(self) -> tuple[NDArray[np.intp], list[str]]:
        """(records,) number of each record's name, -1 where it has none, and the names."""
        number, names = pd.factorize(self.named)
        return number, list(names)

    def _sum(self, belongs: Callable[[str], bool]) -> NDArray[np.float64]:
        inside = np.array([belongs(taxon) for taxon in self.tables.taxa])
        number, names = self._names
        itself = np.array([*(float(belongs(name)) for name in names), 0.0])[number]  # the last is that of no name, -1
        total = self.p[:, inside].sum(axis=1) + self.own * (itself - inside[self.place])
        return np.asarray(np.clip(total, 0.0, 1.0))


@dataclass(frozen=True)
class _Spread:
    """Where the probability of one name goes."""

    p: NDArray[np.float64]
    own: float
    place: int


def spread_name(named: str | None, confidence: float, tables: Tables, *, prior: NDArray[np.float64]) -> _Spread:
    """
    Probability of each taxon, given the name an observer wrote and how sure they were.

    The observer's probability stays with the name, shared within it by how common its parts are; the rest goes to all
    others by how common they are and how easily each is taken for it. Nothing is dropped.

    Parameters
    ----------
    named
        Canonical name, None where it is not known: then the prior is all there is.
    confidence
        Probability that the name as written is right.
    tables
        The tables.
    prior
        (taxa,) shares.

    Source
    ------
    confidence_convention
    """
    last = len(tables.taxa) - 1
    if named is None:
        return _Spread(prior, 0.0, last)
    if named in tables.confusion.reported:
        return _Spread(_from_measured(named, tables, prior), 0.0, last)
    tree = tables.tree
    within = np.array([tree.is_within(taxon, named) for taxon in tables.taxa])
    lookalikes, own = within, 0.0
    if not within.any():
        holding = np.array([tree.is_within(named, taxon) for taxon in tables.taxa])
        within = holding if holding.any() else np.array([taxon == OTHER for taxon in tables.taxa])
        lookalikes, own = holding if holding.any() else _relatives(named, tables), confidence
    taken = prior * expected_confusion(tables)[:, lookalikes].sum(axis=1)
    if within.all():
        return _Spread(prior, 0.0, last)
    p = np.where(within, confidence * taken / taken[within].sum(), (1 - confidence) * taken / taken[~within].sum())
    return _Spread(p, own, int(np.flatnonzero(within)[0]) if own else last)


def _from_measured(named: str, tables: Tables, prior: NDArray[np.float64]) -> NDArray[np.float64]:
    """What a name means where it was measured how often it is written of each taxon; the rest as expected."""
    within = np.array([tables.tree.is_within(taxon, named) for taxon in tables.taxa])
    expected = expected_confusion(tables)[:, within].sum(axis=1)
    measured = tables.confusion.reported[named]
    weight = prior * np.where(np.isnan(measured), expected, measured)
    return np.asarray(weight / weight.sum()) if weight.sum() > 0 else prior


def _relatives(named: str, tables: Tables) -> NDArray[np.bool_]:
    """Taxa of the tables in the smallest taxon of the tree that holds the name and any of them."""
    for step in tables.tree.lineages[named]:
        held = np.array([tables.tree.is_within(taxon, step) for taxon in tables.taxa])
        if held.any():
            return held
    return np.ones(len(tables.taxa), dtype=bool)


def identities(
    records: pd.DataFrame, *, region: str | None, tables: Tables | None = None, use_verified: bool = True
) -> Identities:
    """
    How sure we are of each record, from the best that it holds.

    A name given later by a second person stands in place of everything else, as ``certain``. Otherwise characters
    that were seen decide, and the observer's own name is not counted on top of them; without characters the name
    does, with its confidence. Where a county measured what a name is worth, that stands instead of characters.

    Parameters
    ----------
    records
        (n,) rows of kind ``crossings`` or ``nests``.
    region
        Key of the region; None takes all taxa as equally common.
    tables
        The tables; None is the shipped set.
    use_verified
        False leaves the second person's name out, to be compared with.

    Raises
    ------
    NotEnoughDataError
        The region has no priors in the tables.
    """
    tables = tables or identify_tables()
    if region is not None and region not in tables.priors:
        raise NotEnoughDataError(
            f"not enough data: nothing says how common taxa are in region '{region}'; give tables of your own with a "
            f"priors.csv that names it; known are {', '.join(tables.priors)}"
        )
    evidence = evidence_of(records, tables)
    month, months = pd.factorize(_months(records))
    priors = np.array([tables.prior(region, month=int(key) if key else None) for key in months])
    priors = priors if len(priors) else np.zeros((0, len(tables.taxa)))
    verified = records["verified_taxon"].notna().to_numpy() if use_verified else np.zeros(len(records), dtype=bool)
    p, own, place, named = _from_names(records, verified, month, priors, tables)
    measured = np.array([name in tables.confusion.reported for name in named], dtype=bool)
    seen = (evidence.n_answers > 0) & ~verified & ~measured
    if seen.any():
        p[seen] = posterior(evidence, tables.matrix, prior=priors[month])[seen]
        own[seen] = 0.0
        named[seen] = None
    unknown = ~seen & pd.isna(named)
    basis = np.select([verified, seen, unknown], [VERIFIED, CHARACTERS, UNKNOWN], NAME).astype(object)
    return Identities(tables, p, basis, named, own, place, _notes(evidence, records, basis, region))


def _months(records: pd.DataFrame) -> pd.Series:
    days = records.get("observed_at", records.get("found_at"))
    if days is None:
        return pd.Series("", index=records.index, dtype=object)
    return days.astype(object).where(days.notna(), "").str[5:7]


def _from_names(
    records: pd.DataFrame,
    verified: NDArray[np.bool_],
    month: NDArray[np.intp],
    priors: NDArray[np.float64],
    tables: Tables,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.intp], NDArray[np.object_]]:
    """Each distinct name, confidence and month once."""
    written = records["verified_taxon"].where(verified, records["taxon"]) if verified.any() else records["taxon"]
    sure = records["id_confidence"].astype(float).fillna(BLANK_CONFIDENCE).to_numpy()
    sure = np.where(verified, CONFIDENCE_WORDS["certain"], sure)
    code, distinct = pd.factorize(written)
    canonical = [*(tables.tree.find(str(name)) for name in distinct), None]
    keys = pd.MultiIndex.from_arrays([code, sure, month])
    which, kinds = pd.factorize(keys)
    spreads = [spread_name(canonical[int(k)], float(c), tables, prior=priors[int(m)]) for k, c, m in kinds]
    n_taxa = len(tables.taxa)
    p = np.array([spread.p for spread in spreads]).reshape(-1, n_taxa)[which]
    own = np.array([spread.own for spread in spreads], dtype=float)[which]
    place = np.array([spread.place for spread in spreads], dtype=np.intp)[which]
    named = np.array(canonical, dtype=object)[code]
    return p, own, place, named


def _n_blank(records: pd.DataFrame, column: str, chosen: NDArray[np.bool_]) -> int:
    blank = records[column].isna().to_numpy() if column in records else np.ones(len(records), dtype=bool)
    return int((blank & chosen).sum())


def _notes(
    evidence: Evidence, records: pd.DataFrame, basis: NDArray[np.object_], region: str | None
) -> tuple[str, ...]:
    notes = []
    if evidence.faults:
        first = evidence.faults[0]
        notes.append(
            f"{len(evidence.faults)} answers in seen_ columns could not be used and count as not seen; the first: "
            f"{first.column} '{first.found}': {first.reason}"
        )
    seen = basis == CHARACTERS
    if no_skill := _n_blank(records, "observer_skill", seen):
        notes.append(f"{no_skill} records with characters name no skill; they are taken as a novice's.")
    if no_view := _n_blank(records, "view", seen):
        notes.append(f"{no_view} records with characters name no view; their looks are taken as surely as in hand.")
    if region is None and len(records):
        notes.append("No region is set: all taxa are taken as equally common.")
    if n_unknown := int((basis == UNKNOWN).sum()):
        notes.append(f"{n_unknown} records have no name that is known; only how common taxa are speaks for them.")
    return tuple(notes)
