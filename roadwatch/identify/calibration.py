"""A season's stated certainties against the names given later by a second person."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.identify.evidence import text_column
from roadwatch.identify.identities import Identities, identities
from roadwatch.identify.scores import brier_scores, calibration_error, leading, log_scores, reliability
from roadwatch.identify.tree import OTHER

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.identify.tables import Tables

NOT_RANDOM = (
    "Verified records are not a random sample: people photograph the odd and the easy, so the others may be named "
    "better or worse than this."
)
FEW = 30
"""Below this many verified records the numbers are said to be only a first look (a stated convention)."""

SCORED_RANKS = ("subspecies", "species", "group", "genus")
"""A name verified no further than a family tells too little of what was right (a stated convention)."""


@dataclass(frozen=True)
class Calibration:
    """
    How the stated certainties stood up.

    Parameters
    ----------
    reliability
        By how sure, with 95 % limits.
    groups
        One row for all, then by view, skill, taxon (the most probable answer, not the true one) and basis:
        ``by value n brier brier_error log_score mean_sure share_right share_low share_high calibration_error``.
    version
        Of the tables.
    notes
        What a reader must know, in sentences.
    """

    reliability: pd.DataFrame
    groups: pd.DataFrame
    version: str
    notes: tuple[str, ...]


def calibrate(records: pd.DataFrame, *, region: str | None, tables: Tables | None = None) -> Calibration:
    """
    Score what was said of records that a second person named later.

    Parameters
    ----------
    records
        Rows of kind ``crossings`` and ``nests``; those without ``verified_taxon`` are left out.
    region
        Key of the region; None takes all taxa as equally common.
    tables
        The tables; None is the shipped set.

    Raises
    ------
    NotEnoughDataError
        No record was verified.
    """
    verified = pd.DataFrame(records[records["verified_taxon"].notna()]).reset_index(drop=True)
    said = identities(verified, region=region, tables=tables, use_verified=False)
    true = _truth(verified["verified_taxon"], said)
    is_found = true.any(axis=1)
    known = is_found & _is_fine(verified["verified_taxon"], said)
    if not known.any():
        raise NotEnoughDataError(
            "not enough data: no record was verified by a second person to genus or finer; fill verified_taxon from "
            "photographs, with verified_by and verified_how"
        )
    p, true = said.p[known], true[known]
    verified = pd.DataFrame(verified[known]).reset_index(drop=True)
    answers = _answers(true)
    by_answer, true_answer = p @ answers, (true @ answers) > 0
    joined = _joined(answers, verified["verified_taxon"], true)
    names = np.array([joined.get(k, said.tables.taxa[held.argmax()]) for k, held in enumerate(answers.T)], dtype=object)
    sure, right = leading(by_answer, true_answer)
    brier, log = brier_scores(by_answer, true_answer), log_scores(p, true)
    columns = {
        "view": text_column(verified, "view", blank="not said"),
        "skill": text_column(verified, "observer_skill", blank="not said"),
        "taxon": pd.Series(names[by_answer.argmax(axis=1)]),
        "basis": pd.Series(said.basis[known]),
    }
    rows = [_row("all", "", brier, log, sure, right)]
    for by, values in columns.items():
        rows += [
            _row(by, value, *(part[(values == value).to_numpy()] for part in (brier, log, sure, right)))
            for value in sorted(values.unique())
        ]
    left_out = int((~is_found).sum()), int((is_found & ~known).sum())
    notes = (*_notes(len(verified), *left_out, joined=sorted(joined.values())), *said.notes)
    return Calibration(reliability(sure, right), pd.DataFrame(rows), said.tables.version, notes)


def _truth(verified: pd.Series, said: Identities) -> NDArray[np.bool_]:
    """(records, taxa) the taxa that the verified name holds, or the one that holds it; none for a name not known."""
    tree, taxa = said.tables.tree, said.tables.taxa
    by_name: dict[str, list[bool]] = {}
    for name in verified.unique():
        found = tree.find(str(name))
        held = [found is not None and tree.is_within(taxon, found) for taxon in taxa]
        holding = [found is not None and tree.is_within(found, taxon) for taxon in taxa]
        other = [found is not None and taxon == OTHER for taxon in taxa]
        by_name[name] = next((mask for mask in (held, holding, other) if any(mask)), held)
    return np.array([by_name[name] for name in verified], dtype=bool).reshape(len(verified), len(taxa))


def _is_fine(verified: pd.Series, said: Identities) -> NDArray[np.bool_]:
    """(records,) whether the verified name says the genus or finer; one of no table says nothing."""
    tree = said.tables.tree
    ranks = {name: tree.ranks.get(tree.find(str(name)) or "", "") for name in verified.unique()}
    return np.array([ranks[name] in SCORED_RANKS for name in verified], dtype=bool)


def _answers(true: NDArray[np.bool_]) -> NDArray[np.int64]:
    """
    (taxa, answers) which taxa count as one answer, for all records alike.

    Taxa that some verified name does not part are one answer everywhere: were they one only for the records so
    verified, how sure an answer was would depend on what turned out to be true.
    """
    first = np.arange(true.shape[1])
    names = np.unique(true, axis=0)
    for held in names[np.argsort(names.sum(axis=1), kind="stable")]:  # a coarser name comes after those that it holds
        first[held] = np.flatnonzero(held)[0]
    return np.asarray(first[:, None] == np.unique(first)[None, :], dtype=np.int64)


def _joined(answers: NDArray[np.int64], verified: pd.Series, true: NDArray[np.bool_]) -> dict[int, str]:
    """The verified name of each answer that several taxa share, by the number of the answer."""
    n_held = true.sum(axis=1)
    n_in_answer = ((true @ answers) > 0) @ answers.sum(axis=0)
    is_joined = (n_held > 1) & (n_held == n_in_answer)  # a finer name holds only a part of its answer
    return dict(zip((true @ answers)[is_joined].argmax(axis=1).tolist(), verified[is_joined], strict=True))


def _row(
    by: str,
    value: str,
    brier: NDArray[np.float64],
    log: NDArray[np.float64],
    sure: NDArray[np.float64],
    right: NDArray[np.bool_],
) -> dict[str, object]:
    one_bin = reliability(np.ones(len(right)), right).iloc[0]
    n = len(right)
    return {
        "by": by,
        "value": value,
        "n": n,
        "brier": brier.mean(),
        "brier_error": brier.std(ddof=1) / np.sqrt(n) if n > 1 else np.nan,
        "log_score": log.mean(),
        "mean_sure": sure.mean(),
        "share_right": one_bin["share_right"],
        "share_low": one_bin["share_low"],
        "share_high": one_bin["share_high"],
        "calibration_error": calibration_error(reliability(sure, right)),
    }


def _notes(n: int, n_unknown: int, n_coarse: int, *, joined: list[str]) -> list[str]:
    notes = [
        f"{n} records were named later by a second person; what was said before is scored against that.",
        NOT_RANDOM,
    ]
    if n < FEW:
        notes.append(f"Only {n}: a first look; read the limits, not the middle.")
    if n_unknown:
        notes.append(f"{n_unknown} verified names are in no table and were left out.")
    if n_coarse:
        notes.append(f"{n_coarse} records were verified no further than a family and are not scored.")
    if joined:
        notes.append(
            "Each of these counts as one answer with all that it holds, as some were verified no further: "
            f"{', '.join(joined)}."
        )
    notes.append("Do not tune on these records and report on them as well.")
    return notes
