"""How the season's nests ended: success with its interval, protection compared, and what is still in the ground."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.development import find_region, hatch_tables
from roadwatch.hatch.fates import NestFate, nest_fate
from roadwatch.hatch.survival import daily_survival, loss_ratio, survival_curve
from roadwatch.hatch.survival_picture import survival_picture
from roadwatch.records.store import Season
from roadwatch.season.nest_taxa import with_verified_names
from roadwatch.season.own_tables import tables_folder

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from roadwatch.hatch.arrays import Bools, Floats

NEST_COLUMNS = [
    *("nest_id", "taxon", "fate", "seen_on", "exposure_days", "caged_days", "clutch_size"),
    *("hatchlings_live", "hatchlings_dead", "eggs_unhatched", "note"),
]
CAUTION = (
    "No nest is called failed before its spring window ends; leave nests and cages in place until then. Opening a "
    "nest, even an old one, usually needs a permit: ask your state wildlife agency."
)


@dataclass(frozen=True)
class SeasonOutcomes:
    """
    The season's end so far.

    ``nests`` has a row a nest, ``groups`` a row for all nests, caged and uncaged days and each taxon:
    ``group nests losses exposure_days daily_survival daily_se success success_low success_high period_days``;
    ``curve`` is the product-limit curve of all nests; ``counts`` has ``fate nests``.
    """

    nests: pd.DataFrame
    groups: pd.DataFrame
    counts: pd.DataFrame
    curve: pd.DataFrame
    picture: str
    notes: tuple[str, ...]


def season_outcomes(path: Path, *, as_of: date) -> SeasonOutcomes:
    """
    Sum up how nests ended, as known on a day.

    Parameters
    ----------
    path
        The season file.
    as_of
        Later visits, and nests found later, are not used.

    Raises
    ------
    NotEnoughDataError
        No nest, or no region to tell when spring windows end.
    """
    season = Season.open(path)
    nests = season.read("nests")
    nests = nests[nests["found_at"].str[:10] <= as_of.isoformat()]
    if nests.empty:
        raise NotEnoughDataError("not enough data: the season holds no nest found by that day; ingest a file of nests")
    region = find_region(season.settings.get("region"), tables=hatch_tables(tables_folder(season)))
    checks = season.read("checks")
    by_nest = dict(list(checks.groupby("nest_id")))
    fates = [
        nest_fate(
            {str(name): value for name, value in row.items()},
            by_nest.get(row["nest_id"], checks.iloc[:0]),
            as_of=as_of,
            spring_to=region.spring_to,
        )
        for row in with_verified_names(nests).to_dict("records")
    ]
    return _summed(fates, as_of)


def _summed(fates: list[NestFate], as_of: date) -> SeasonOutcomes:
    table = pd.DataFrame([asdict(fate) for fate in fates])
    known = (table["left"] > table["entered"]).to_numpy(bool)
    entered, left = table["entered"].to_numpy(float), table["left"].to_numpy(float)
    is_loss = table["is_loss"].to_numpy(bool)
    caged, loss_caged = _caged_days(table)
    table["exposure_days"], table["caged_days"] = np.where(known, left - entered, 0.0), np.where(known, caged, 0.0)
    emerged = table[(table["fate"] == "emerged") & known]
    period = float(emerged["left"].median()) if len(emerged) else float("nan")
    groups = _groups(table, loss_caged & known, is_loss & known, period)
    curve = survival_curve(entered[known], left[known], is_loss[known])
    last = float(left[known].max()) if known.any() else 1.0
    picture = survival_picture({"all nests": curve}, title=f"Nests still alive, as of {as_of}", last_day=last)
    counts = table["fate"].value_counts().rename_axis("fate").reset_index(name="nests")
    notes = _notes(table, groups, known, period)
    return SeasonOutcomes(table[NEST_COLUMNS], groups, counts, curve, picture, notes)


def _caged_days(table: pd.DataFrame) -> tuple[Floats, Bools]:
    """Days at risk under a cage, and whether a loss happened under one."""
    start, end = table["caged_from"].to_numpy(float), table["caged_until"].to_numpy(float)
    entered, left = table["entered"].to_numpy(float), table["left"].to_numpy(float)
    days = np.minimum(left, end) - np.maximum(entered, start)
    under = table["is_loss"].to_numpy(bool) & (start <= left) & (left <= end)
    return np.nan_to_num(np.maximum(days, 0.0)), under


def _groups(table: pd.DataFrame, loss_caged: Bools, loss: Bools, period: float) -> pd.DataFrame:
    all_days, caged = float(table["exposure_days"].sum()), float(table["caged_days"].sum())
    has_cage = table["caged_days"] > 0
    rows = [
        _group("all nests", len(table), int(loss.sum()), all_days, period),
        _group("days under a cage", int(has_cage.sum()), int(loss_caged.sum()), caged, period),
        _group(
            "days without a cage",
            int((table["exposure_days"] > table["caged_days"]).sum()),
            int((loss & ~loss_caged).sum()),
            all_days - caged,
            period,
        ),
    ]
    for taxon, group in table.groupby("taxon"):
        rows.append(
            _group(str(taxon), len(group), int(loss[group.index].sum()), float(group["exposure_days"].sum()), period)
        )
    return pd.DataFrame(rows)


def _group(name: str, nests: int, losses: int, days: float, period: float) -> dict[str, object]:
    rate = daily_survival(losses, days)
    success, low, high = rate.over(period)
    return {
        "group": name,
        "nests": nests,
        "losses": losses,
        "exposure_days": days,
        "daily_survival": rate.daily,
        "daily_se": rate.se,
        "success": success,
        "success_low": low,
        "success_high": high,
        "period_days": period,
    }


def _notes(table: pd.DataFrame, groups: pd.DataFrame, known: Bools, period: float) -> tuple[str, ...]:
    every, caged, bare = (groups.iloc[k] for k in range(3))
    notes = []
    if np.isfinite(period) and every["exposure_days"] > 0:
        notes.append(
            f"Nest success over {period:.0f} days, the middle time from laying to leaving here: {every['success']:.0%} "
            f"({every['success_low']:.0%} to {every['success_high']:.0%}, 95 %), from {every['losses']} losses in "
            f"{every['exposure_days']:.0f} nest-days."
        )
    else:
        notes.append("No nest was seen emptied, so the time to leaving is not known here and no success is given.")
    ratio, low, high = loss_ratio(
        (int(caged["losses"]), int(bare["losses"])), (float(caged["exposure_days"]), float(bare["exposure_days"]))
    )
    if np.isfinite(ratio):
        notes.append(
            f"Losses a day under a cage are {ratio:.2g} times those without ({low:.2g} to {high:.2g}, 95 %). Nobody "
            "drew lots for the cages: nests that were caged may differ in other ways."
        )
    ground = table[table["fate"] == "in_ground"]["nest_id"]
    waiting = table[table["fate"] == "hatched_waiting"]["nest_id"]
    notes.append(f"Still in the ground: {len(ground)} nests{_named(ground)}.")
    notes.append(f"Hatchlings seen waiting in the nest: {len(waiting)} nests{_named(waiting)}.")
    live = table["hatchlings_live"]
    notes.append(
        f"Live hatchlings seen: {live.sum():.0f} at {int((live > 0).sum())} nests; the greatest count of one visit "
        "stands for a nest, so that nothing is counted twice."
    )
    notes.append(f"{int((~known).sum())} nests were seen once only, or have no laying day: they add no days at risk.")
    return (*notes, CAUTION)


def _named(nests: pd.Series) -> str:
    return f" ({', '.join(nests)})" if len(nests) else ""
