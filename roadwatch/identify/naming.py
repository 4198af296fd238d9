"""The name that can honestly be written: the finest that is sure enough, with its doubt in open nomenclature."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from roadwatch.identify.tree import OTHER, RANKS

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from roadwatch.identify.tables import Tables
    from roadwatch.identify.tree import Tree

DEFAULT_THRESHOLD = 0.80
"""Probability that a name must reach to be written (a stated convention)."""

CF_FROM = 0.50
"""From here to the threshold a species is written as 'cf.' (a stated convention)."""

ASK_FROM = 0.05
"""From this probability a listed or out-of-range taxon asks for a photograph and a second person."""


@dataclass(frozen=True)
class HonestName:
    """
    A name and how sure it is.

    Parameters
    ----------
    written
        As it is written in a list, such as ``Pseudemys cf. nelsoni``.
    taxon
        The finest taxon that reached the threshold.
    rank
        Its rank; ``group`` for a group of species.
    qualifier
        Blank, or ``cf.`` and what it is to be compared with.
    p
        Probability of ``taxon``.
    scientific_name, scientific_rank
        The scientific name and rank that hold it, as a Darwin Core record wants them.
    remark
        What the name leaves out, blank where nothing.
    compared_with, p_compared
        The species that ``cf.`` means, and its own probability.
    """

    written: str
    taxon: str
    rank: str
    qualifier: str
    p: float
    scientific_name: str
    scientific_rank: str
    remark: str = ""
    compared_with: str = ""
    p_compared: float = float("nan")

    def darwin_core(self) -> dict[str, str]:
        """
        The terms of identification; there is none for a probability, which goes into a measurement.

        Source
        ------
        darwincore
        """
        return {
            "scientificName": self.scientific_name,
            "taxonRank": self.scientific_rank,
            "identificationQualifier": self.qualifier,
            "identificationVerificationStatus": "unverified",
            "identificationRemarks": "; ".join(part for part in (self.remark, f"probability {self.p:.2f}") if part),
        }

    def measurement(self, tables_version: str) -> dict[str, str]:
        """
        The probability as a Darwin Core measurement, because the terms of identification have no place for it.

        Parameters
        ----------
        tables_version
            Digest of the tables it rests on.

        Source
        ------
        darwincore
        """
        return {
            "measurementType": "identification probability",
            "measurementValue": f"{self.p:.4f}",
            "measurementUnit": "1",
            "measurementMethod": f"Bayes' rule over field marks, tables {tables_version}",
        }


def roll_up(p: NDArray[np.float64], tables: Tables) -> dict[str, float]:
    """Probability of every taxon of the tree that holds one of the tables' taxa, the finest first."""
    total: dict[str, float] = {}
    for taxon, share in zip(tables.taxa, p, strict=True):
        for step in tables.tree.lineages[taxon]:
            total[step] = total.get(step, 0.0) + float(share)
    total.pop(OTHER, None)
    return dict(sorted(total.items(), key=lambda item: RANKS.index(tables.tree.ranks[item[0]])))


def honest_name(p: NDArray[np.float64], tables: Tables, *, threshold: float = DEFAULT_THRESHOLD) -> HonestName:
    """
    Climb from the finest rank until the probability reaches the threshold.

    Parameters
    ----------
    p
        (taxa,) probabilities of one record.
    tables
        The tables.
    threshold
        Probability that the name must reach.

    Source
    ------
    bengtson1988, sigovini2016
    """
    tree, total = tables.tree, roll_up(p, tables)
    reached = [
        (RANKS.index(tree.ranks[name]), -share, name) for name, share in total.items() if share >= threshold - 1e-9
    ]
    taxon = min(reached)[2] if reached else next(reversed(total))
    near = [
        (share, name)
        for name, share in total.items()
        if tree.ranks[name] in {"species", "subspecies"}
        and share >= CF_FROM
        and name != taxon
        and tree.is_within(name, taxon)
        and " x " not in name
    ]
    name = _written(taxon, max(near)[1] if near else None, p=min(total[taxon], 1.0), tree=tree)
    return replace(name, p_compared=total[name.compared_with]) if near else name


def _written(taxon: str, to_compare: str | None, *, p: float, tree: Tree) -> HonestName:
    rank = tree.ranks[taxon]
    scientific = next(step for step in tree.lineages[taxon] if tree.ranks[step] != "group" and " x " not in step)
    scientific_rank = tree.ranks[scientific]
    qualifier, remark = "", ""
    if to_compare:
        within_name = to_compare.startswith(f"{scientific} ")
        qualifier = f"cf. {to_compare.removeprefix(f'{scientific} ')}"
        written = f"{scientific} {qualifier}" if within_name else f"{scientific} indet. ({qualifier})"
        remark = "" if within_name else f"{scientific}, to be compared with {to_compare}"
    elif rank == "group":
        written, remark = f"{scientific} sp. ({taxon})", taxon
    elif " x " in taxon:
        written, remark = f"{scientific} ({taxon.removeprefix(f'{scientific} ')})", f"intergrade {taxon}"
    else:
        written = taxon + {"genus": " sp.", "family": " indet.", "order": " indet."}.get(rank, "")
    return HonestName(written, taxon, rank, qualifier, p, scientific, scientific_rank, remark, to_compare or "")


def is_prior_driven(
    p: NDArray[np.float64], flat: NDArray[np.float64], tables: Tables, *, threshold: float = DEFAULT_THRESHOLD
) -> bool:
    """
    Tell whether the answer rests on how common taxa are: with all equally common another name would be written.

    Parameters
    ----------
    p, flat
        (taxa,) probabilities with the region's prior and with a flat one.
    tables
        The tables.
    threshold
        Probability that a name must reach.
    """
    return honest_name(p, tables, threshold=threshold).written != honest_name(flat, tables, threshold=threshold).written


def needs_second_person(p: NDArray[np.float64], tables: Tables, *, region: str | None) -> tuple[str, ...]:
    """
    Taxa in play that ask for a photograph and a second person whatever the number.

    Parameters
    ----------
    p
        (taxa,) probabilities of one record.
    tables
        The tables.
    region
        Where it was seen; None leaves ranges out.

    Returns
    -------
    The listed ones, and those outside their range, of probability 0.05 and more.
    """
    classes = tables.weight_classes.get(region or "", {})
    outside = {taxon for taxon in tables.taxa[:-1] if region and classes.get(taxon, "outside") == "outside"}
    return tuple(
        taxon
        for taxon, share in zip(tables.taxa, p, strict=True)
        if share >= ASK_FROM and (taxon in tables.tree.sensitive or taxon in outside)
    )
