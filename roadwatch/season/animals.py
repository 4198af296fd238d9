"""The merged view of a season: which records are one animal, and what was merged, left undecided, and why."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_reasons import reasons_of
from roadwatch.records.double_values import value
from roadwatch.records.doubles import Doubles, propose_doubles
from roadwatch.records.store import Season
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.snap import snap

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from numpy.typing import NDArray

    from roadwatch.records.taxa import Taxon


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
    """

    records: pd.DataFrame
    doubles: Doubles

    def merged_view(self, chosen: NDArray[np.bool_] | None = None) -> pd.DataFrame:
        """
        One row an animal: its first record, found on a search where there is one, with the greatest count.

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
        kept = order.drop_duplicates("animal").drop(columns="unsearched").sort_index()
        others = order[order.duplicated("animal")]
        names = others.groupby("animal")["record_key"].agg(";".join)
        return kept.assign(merged_records=kept["animal"].map(names).astype(object).fillna(""))

    def proposals(self) -> pd.DataFrame:
        """
        Pairs of probability 0.2 and more: ``double_id record_a record_b p reasons merged``, the most probable first.

        ``double_id`` is made from both names, so that it stays the same from run to run.
        """
        pairs = self.doubles.pairs
        shown = pairs[pairs["p"] >= value("undecided_p")].sort_values("p", ascending=False, kind="stable")
        key = self.records["record_key"].astype(str).to_numpy()
        first, second = key[shown["a"].to_numpy()], key[shown["b"].to_numpy()]
        merged = self._is_merged(shown)
        reasons = np.array(reasons_of(self.doubles, shown.index), dtype=object)
        kept_apart = (shown["p"].to_numpy() >= value("certain_p")) & ~merged
        reasons = np.where(
            kept_apart, reasons + "; kept apart: it would join records that contradict each other", reasons
        )
        return pd.DataFrame(
            {
                "double_id": [_name_of(one, other) for one, other in zip(first, second, strict=True)],
                "record_a": first,
                "record_b": second,
                "p": shown["p"].round(4).to_numpy(),
                "reasons": reasons,
                "merged": merged,
            }
        )

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
        undecided = pairs["p"][among & (pairs["p"] >= value("undecided_p")) & ~self._is_merged(pairs)]
        certain, unsure = value("certain_p"), value("undecided_p")
        merged = (
            f"{int((sizes - 1).sum())} records merged as doubles into {int((sizes > 1).sum())} animals "
            f"(probability {certain} or more that they are one animal)."
        )
        left = (
            f"{len(undecided)} pairs of records are undecided (probability {unsure} to {certain}) and counted as "
            f"separate animals, though about {undecided.sum():.0f} of them will be one; see 'roadwatch doubles'."
        )
        return merged, left

    def _is_merged(self, pairs: pd.DataFrame) -> NDArray[np.bool_]:
        animal = self.records["animal"].to_numpy()
        return np.asarray(animal[pairs["a"].to_numpy()] == animal[pairs["b"].to_numpy()], dtype=bool)


def _name_of(one: str, other: str) -> str:
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
        The tree of taxa by name; None takes the one shipped.
    """
    crossings = season.read("crossings").reset_index(drop=True)
    table = pd.DataFrame(crossings.drop(columns="geometry"))
    x_m, y_m = network.project(table["longitude"].to_numpy(dtype=float), table["latitude"].to_numpy(dtype=float))
    placed = snap(network, x_m, y_m, position_error_m=table["position_error_m"].to_numpy(dtype=float))
    doubles = propose_doubles(table, x_m, y_m, edge=placed.edge, offset_m=placed.offset_m, taxa=taxa)
    placed_table = table.assign(x_m=x_m, y_m=y_m, edge=placed.edge, offset_m=placed.offset_m, animal=doubles.animal)
    return Animals(placed_table, doubles)


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
