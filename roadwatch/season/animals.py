"""The merged view of a season: which records are one animal, and what was merged, left undecided, and why."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_reasons import reasons_of
from roadwatch.records.double_values import value
from roadwatch.records.doubles import Doubles, propose_doubles
from roadwatch.records.store import Season
from roadwatch.records.taxa import taxonomy_of
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.snap import snap
from roadwatch.season.merged_identity import with_best_identity
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from roadwatch.records.taxa import Taxon


COMPARED = (
    *("observed_at", "longitude", "latitude", "position_error_m", "taxon", "id_confidence", "verified_taxon"),
    *("count", "condition", "carcass_age", "action", "life_stage", "sex", "heading_deg", "carapace_mm"),
    *("observer", "search_id", "notes", "photo"),
)
"""The columns that are compared to tell doubles."""


@dataclass(frozen=True)
class Animals:
    """
    Records of a season with the animal that each is of; nothing is overwritten and every record stays.

    Parameters
    ----------
    records
        (n,) all records as stored, with ``x_m y_m edge offset_m`` on the roads and ``animal``, the number of the
        animal.
    doubles
        Every pair that may be one animal, with probability and evidence.
    decided
        What a person decided: ``record_a record_b word who changed_at why``.
    """

    records: pd.DataFrame
    doubles: Doubles
    decided: pd.DataFrame = field(default_factory=lambda: pd.DataFrame(columns=["record_a", "record_b"]))

    def merged_view(self, chosen: NDArray[np.bool_] | None = None) -> pd.DataFrame:
        """
        One row an animal: its first record, found on a search where there is one, with the greatest count.

        Name and marks are those of the record that tells them best: a verified name, else marks, else its own.

        Parameters
        ----------
        chosen
            (n,) True for the records to look at; None looks at all.

        Returns
        -------
        Columns as in ``records``; ``merged_records`` names the animal's other records, separated by ``;``.
        """
        table = self.records.copy() if chosen is None else self.records[chosen].copy()
        table["count"] = table["count"].astype(float).fillna(1.0).groupby(table["animal"]).transform("max")
        order = table.assign(unsearched=table["search_id"].isna()).sort_values(
            ["unsearched", "observed_at"], kind="stable"
        )
        kept = with_best_identity(order.drop_duplicates("animal"), order).drop(columns="unsearched").sort_index()
        others = order[order.duplicated("animal")]
        names = others.groupby("animal")["record_key"].agg(";".join)
        return kept.assign(merged_records=kept["animal"].map(names).astype(object).fillna(""))

    def proposals(self) -> pd.DataFrame:
        """
        Pairs of probability 0.2 and more, and those decided by a person, the most probable first.

        Returns
        -------
        ``double_id record_a record_b p reasons merged decided``; ``double_id`` is made from both names, so that it
        stays the same from run to run; ``p`` is what the records tell, whatever was decided; ``decided`` is blank, or
        says what, by whom, when and why.
        """
        pairs = self.doubles.pairs
        is_shown = (pairs["p"] >= value("undecided_p")) | pairs["decided"].notna()
        shown = pairs[is_shown].sort_values("p", ascending=False, kind="stable")
        first, second = self.names_of(shown)
        merged = self._is_merged(shown)
        reasons = np.array(reasons_of(self.doubles, shown.index), dtype=object)
        kept_apart = (shown["p"].to_numpy() >= value("certain_p")) & ~merged & shown["decided"].isna().to_numpy()
        reasons = np.where(
            kept_apart, reasons + "; kept apart: it would join records that contradict each other", reasons
        )
        told = {frozenset((row["record_a"], row["record_b"])): _told(row) for row in self.decided.to_dict("records")}
        return pd.DataFrame(
            {
                "double_id": [double_id(one, other) for one, other in zip(first, second, strict=True)],
                "record_a": first,
                "record_b": second,
                "p": shown["p"].round(4).to_numpy(),
                "reasons": reasons,
                "merged": merged,
                "decided": [told.get(frozenset(pair), "") for pair in zip(first, second, strict=True)],
            }
        )

    def names_of(self, pairs: pd.DataFrame) -> tuple[list[str], list[str]]:
        """Names of the first and of the second record of each pair."""
        key = self.records["record_key"].astype(str).to_numpy(dtype=object)
        return key[pairs["a"].to_numpy()].tolist(), key[pairs["b"].to_numpy()].tolist()

    def notes(self, chosen: NDArray[np.bool_] | None = None) -> tuple[str, str]:
        """
        Say how many records were merged and how many pairs are undecided, among the chosen records.

        Parameters
        ----------
        chosen
            (n,) True for the records to speak of; None speaks of all.
        """
        chosen = np.ones(len(self.records), dtype=bool) if chosen is None else chosen
        animals = self.records["animal"].to_numpy()[chosen]
        sizes = np.unique(animals, return_counts=True)[1]
        pairs = self.doubles.pairs
        among = chosen[pairs["a"].to_numpy()] & chosen[pairs["b"].to_numpy()]
        decided = pairs["decided"][among].dropna()
        is_open = among & (pairs["p"] >= value("undecided_p")) & pairs["decided"].isna() & ~self._is_merged(pairs)
        undecided = pairs["p"][is_open]
        certain, unsure = value("certain_p"), value("undecided_p")
        by_hand = (
            f" A person decided {_counted(len(decided), 'pair')}: {int(decided.sum())} as one animal, "
            f"{int((1 - decided).sum())} as different animals."
            if len(decided)
            else ""
        )
        merged = (
            f"{_counted(int((sizes - 1).sum()), 'record')} merged as doubles into "
            f"{_counted(int((sizes > 1).sum()), 'animal')} (probability {certain} or more that they are one animal)."
        )
        are = "pair of records is" if len(undecided) == 1 else "pairs of records are"
        n_one = undecided.sum()
        about = f"{n_one:.0f}" if n_one >= 1 else f"{n_one:.1f}"
        left = (
            f"{len(undecided)} {are} undecided (probability {unsure} to {certain}) and counted as separate animals, "
            f"though about {about} of them will be one; see 'roadwatch doubles'."
        )
        return merged + by_hand, left

    def _is_merged(self, pairs: pd.DataFrame) -> NDArray[np.bool_]:
        animal = self.records["animal"].to_numpy()
        return np.asarray(animal[pairs["a"].to_numpy()] == animal[pairs["b"].to_numpy()], dtype=bool)


def _counted(n: int, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"


def _told(row: Mapping[Hashable, object]) -> str:
    what = "one animal" if row["word"] == "yes" else "different animals"
    return f"{what}, by {row['who']} on {str(row['changed_at'])[:10]}: {row['why']}"


def double_id(one: str, other: str) -> str:
    """What a pair of records is called: made from both names, whichever comes first."""
    return "d" + hashlib.sha256("\n".join(sorted((one, other))).encode()).hexdigest()[:10]


def find_animals(season: Season, network: Network, *, taxa: Mapping[str, Taxon] | None = None) -> Animals:
    """
    Put every crossing of a season on the roads and tell which records are of one animal.

    Parameters
    ----------
    season
        An open season.
    network
        Its road network.
    taxa
        The tree of taxa by name; None takes the season's own.
    """
    table = pd.DataFrame(season.read("crossings").reset_index(drop=True).drop(columns="geometry"))
    x_m, y_m = network.project(table["longitude"].to_numpy(dtype=float), table["latitude"].to_numpy(dtype=float))
    placed = snap(network, x_m, y_m, position_error_m=table["position_error_m"].to_numpy(dtype=float))
    decided, pairs = _decided(season, table)
    doubles = propose_doubles(
        table,
        x_m,
        y_m,
        edge=placed.edge,
        offset_m=placed.offset_m,
        taxa=_tree(season) if taxa is None else taxa,
        decided=pairs,
    )
    placed_table = table.assign(x_m=x_m, y_m=y_m, edge=placed.edge, offset_m=placed.offset_m, animal=doubles.animal)
    return Animals(placed_table, doubles, decided)


def count_doubles(season: Season, network: Network) -> tuple[int, int]:
    """
    Pairs that may be one animal and that nobody decided about: merged, and left to decide.

    The same as ``find_animals`` finds, without what counting does not need: only records near another are put on the
    roads, and only the columns that are compared are read.

    Parameters
    ----------
    season
        An open season.
    network
        Its road network.
    """
    table = pd.DataFrame(season.read("crossings", columns=["record_key", *COMPARED]).drop(columns="geometry"))
    x_m, y_m = network.project(table["longitude"].to_numpy(dtype=float), table["latitude"].to_numpy(dtype=float))
    error_m = table["position_error_m"].to_numpy(dtype=float)

    def lay_on_roads(rows: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        placed = snap(network, x_m[rows], y_m[rows], position_error_m=error_m[rows])
        return placed.edge, placed.offset_m

    pairs = _decided(season, table)[1]
    found = propose_doubles(table, x_m, y_m, taxa=_tree(season), decided=pairs, lay_on_roads=lay_on_roads)
    listed = found.pairs[(found.pairs["p"] >= value("undecided_p")) & found.pairs["decided"].isna()]
    is_merged = found.animal[listed["a"].to_numpy()] == found.animal[listed["b"].to_numpy()]
    return int(is_merged.sum()), int((~is_merged).sum())


def _tree(season: Season) -> Mapping[str, Taxon]:
    return taxonomy_of(tables_folder(season)).taxa


def _decided(season: Season, table: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """What a person decided about records that are there, and the same as row numbers."""
    decided = season.decisions()
    if decided.empty:
        return decided, pd.DataFrame({"a": [], "b": [], "is_one": []})
    row_of = pd.Series(np.arange(len(table)), index=table["record_key"])
    decided = decided[decided["record_a"].isin(row_of.index) & decided["record_b"].isin(row_of.index)]
    ends = {name: row_of[decided[f"record_{name}"]].to_numpy(dtype=np.int64) for name in ("a", "b")}
    return decided, pd.DataFrame({**ends, "is_one": (decided["word"] == "yes").to_numpy(dtype=bool)})


def animals_of_season(path: Path) -> Animals:
    """
    Tell which records of a season file are of one animal.

    Raises
    ------
    UsageError
        The season does not exist.
    UnfitFileError
        The file is not a season.
    """
    season = Season.open(path)
    return find_animals(season, build_network(season.read("roads")))
