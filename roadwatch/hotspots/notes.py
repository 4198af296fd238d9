"""What was asked, what was used, and what to doubt: the sentences that go with the table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import geopandas as gpd

    from roadwatch.hotspots.study import Study

ENOUGH_RECORDS = 30
"""With fewer records nothing is confirmed: three at one place would do (a convention)."""

WATCH_P = 0.01
"""Largest p at one place at which it goes on the watch list."""


@dataclass(frozen=True)
class Question:
    """
    What was asked.

    Parameters
    ----------
    beyond
        What the baseline explains.
    half_widths_m, kernel
        Reaches and form of the kernel; the density told is that of the first.
    n_draws
        Number of scatterings.
    lost_share
        Share of the records' weight that fell off the network; None where the kernel keeps all.
    standing_m
        Metres of road outside hotspots that stand out on their own.
    """

    beyond: str
    half_widths_m: tuple[float, ...]
    kernel: str
    n_draws: int
    lost_share: float | None = None
    standing_m: float = 0.0


def has_enough(study: Study) -> bool:
    """
    Whether there are records enough to confirm a hotspot, unsure ones counted in part.

    Parameters
    ----------
    study
        The records.
    """
    return round(study.n_certain()) >= ENOUGH_RECORDS


def write_notes(
    asked: Question, study: Study, *, hotspots: gpd.GeoDataFrame, watch_list: gpd.GeoDataFrame
) -> tuple[str, ...]:
    """
    Say in plain sentences what the result is and is not.

    Parameters
    ----------
    asked, study
        The question, and the records and roads it was put to.
    hotspots, watch_list
        The ranked tables.
    """
    return (
        _question(asked, study),
        _records(study),
        _method(asked),
        *_unknown_effort(study),
        *_found(study, hotspots),
        *_watched(asked, study, watch_list),
        "A hotspot tells where to look and talk with the road authority; it does not tell why, nor what will work.",
    )


def _method(asked: Question) -> str:
    first, *beside = asked.half_widths_m
    others = f" (and of {' and '.join(f'{width:g}' for width in sorted(beside))} m beside it)" if beside else ""
    over_all = ", with any of the widths," if beside else ""
    lost = (
        f" Nothing was thrown back at junctions and dead ends: {asked.lost_share:.1%} of the records' weight fell off "
        "the network."
        if asked.lost_share is not None
        else ""
    )
    return (
        f"Each record was spread along the roads with the {asked.kernel} kernel of half-width {first:g} m{others}, "
        f"shared out equally at junctions, and compared with {asked.n_draws} scatterings of the same records; p is 1 "
        f"more than the scatterings that reach it anywhere{over_all} divided by 1 more than their number.{lost}"
    )


def _question(asked: Question, study: Study) -> str:
    explained = "road length" if study.baseline.basis == "unknown" else "search"
    verb = "explains"
    if asked.beyond not in ("search", "length"):
        explained, verb = f"{explained} and {asked.beyond}", "explain"
    within = " The scatterings keep each record in its year." if study.baseline.years else ""
    return f"Question answered: where are there more deaths than {explained} alone {verb}?{within}"


def _records(study: Study) -> str:
    records = study.records
    return (
        f"{study.n_events()} records ({study.n_animals()} animals) were used, with weights that sum to "
        f"{records['weight'].sum():.1f}; the test moves records, not animals."
    )


def _unknown_effort(study: Study) -> tuple[str, ...]:
    if study.baseline.basis == "unknown":
        loud = (
            "EFFORT UNKNOWN: where people looked is unknown, as no search is on file. Roads that people watch more "
            "look more dangerous, and a road that nobody watches looks safe; a hotspot here may only show "
            "where people look."
        )
        return (loud,)
    tested_km = _tested_km(study)
    untested_km = study.stretches.length_m.sum() / 1000.0 - tested_km
    if untested_km < 0.05:
        return ()
    untested = (
        f"{untested_km:.1f} km of road without a known search (or other exposure) were not tested and may hold "
        f"hotspots; {tested_km:.1f} km were."
    )
    return (untested,)


def _tested_km(study: Study) -> float:
    is_tested = study.baseline.chance.sum(axis=0) > 0.0
    return float(study.stretches.length_m[is_tested].sum() / 1000.0)


def _found(study: Study, hotspots: gpd.GeoDataFrame) -> tuple[str, ...]:
    if not has_enough(study):
        worth = f", worth {study.n_certain():.1f}," if study.n_certain() < study.n_events() - 0.05 else ""
        few = (
            f"{study.n_events()} records{worth} are not enough for a confirmed hotspot ({ENOUGH_RECORDS} are needed); "
            "only the watch list is given."
        )
        return (few,)
    if hotspots.empty:
        return ("No stretch stands out from the scatterings: this is no proof that all roads are alike.",)
    provisional = int((hotspots["status"] == "provisional").sum())
    found = (
        f"{len(hotspots) - provisional} confirmed and {provisional} provisional: if no road were special, one map in "
        "20 would show any. Ratios are drawn towards 1: places picked for standing out owe part of it to luck."
    )
    if not provisional:
        return (found,)
    why = (
        "Provisional: fewer than 3 animals (unsure ones counted in part) or 2 dates, one observer in one year only, "
        "or, of a taxon asked for, standing out in fewer than half of the sets of names drawn for the records."
    )
    return found, why


def _watched(asked: Question, study: Study, watch_list: gpd.GeoDataFrame) -> tuple[str, ...]:
    if watch_list.empty and has_enough(study):
        return ()
    false_m = WATCH_P * 1000.0 * _tested_km(study)
    watched = (
        f"Watch list ({len(watch_list)}): not enough for a confirmed hotspot. {asked.standing_m:.0f} m of road outside "
        f"hotspots stand out on their own at p <= {WATCH_P:g}, where about {false_m:.0f} m would do so by chance."
    )
    return (watched,)
