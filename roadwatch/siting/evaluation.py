"""Did a measure lower the deaths on its road?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.evaluation_controls import N_CONTROLS, features_of, nearest_controls, sections_of, traits_of
from roadwatch.siting.evaluation_model import fit_baci, four_cells
from roadwatch.siting.evaluation_power import smallest_fall
from roadwatch.siting.evaluation_reference import fit_reference, reference_words
from roadwatch.siting.evaluation_regression import Sections, before_rates, corrected_ratio
from roadwatch.siting.evaluation_words import NOTES, REGRESSION_NOTE, verdict_of

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from roadwatch.roads.arrays import BoolArray, FloatArray, IntArray, TextArray
    from roadwatch.siting.evaluation_controls import Surroundings
    from roadwatch.siting.evaluation_model import Baci
    from roadwatch.siting.evaluation_places import MeasurePlace

LEAST_DEATHS = 5
"""With fewer deaths before and after together, on either side, nothing is judged (a convention)."""
NUMBERS = (
    *("deaths_before", "km_before", "deaths_after", "km_after", "control_deaths_before", "control_km_before"),
    *("control_deaths_after", "control_km_after", "n_controls", "ratio", "ratio_low", "ratio_high", "p_value"),
    *("expected_before", "ratio_corrected", "corrected_low", "corrected_high", "with_ends_ratio"),
    *("with_ends_low", "with_ends_high", "ends_deaths_before", "ends_deaths_after", "ends_ratio", "ends_low"),
    *("ends_high", "smallest_fall_seen"),
)
COLUMNS = ("measure_id", "kind", "built_on", "removed_on", *NUMBERS, "model", "verdict", "note")


@dataclass(frozen=True)
class Tally:
    """
    Deaths found on searches and kilometres searched, by span of time and stretch.

    Parameters
    ----------
    year
        (p,) Year of each span; a year in which something was built or taken away is several spans.
    since
        (p,) Last day on or before the span on which anything was built or taken away, ISO 8601; empty before all.
    deaths
        (p, s) Records.
    km
        (p, s) Kilometres searched; 0 where nobody went.
    """

    year: IntArray
    since: TextArray
    deaths: FloatArray
    km: FloatArray


@dataclass(frozen=True)
class Evaluation:
    """One row a measure, columns ``COLUMNS``, and what must be known beside them."""

    table: pd.DataFrame
    notes: tuple[str, ...]


@dataclass(frozen=True)
class _Case:
    """One measure with the spans before and after it and the stretches that were searched in both."""

    tally: Tally
    before: BoolArray
    after: BoolArray
    searched: BoolArray

    def sections(self, section: IntArray) -> Sections:
        """Sum deaths and kilometres by section, as numbered by ``sections_of``."""
        held = section >= 0
        n = int(section.max()) + 1 if held.any() else 0

        def summed(values: FloatArray, spans: BoolArray) -> FloatArray:
            return np.bincount(section[held], values[spans].sum(axis=0)[held], n).astype(np.float64)

        tally = self.tally
        return Sections(
            summed(tally.deaths, self.before),
            summed(tally.km, self.before),
            summed(tally.deaths, self.after),
            summed(tally.km, self.after),
        )

    def rows(self, impact: BoolArray, control: BoolArray) -> pd.DataFrame:
        """One row a side, year, and before or after."""
        used = self.before | self.after
        table = pd.concat(
            pd.DataFrame(
                {
                    "impact": is_impact,
                    "after": self.after[used].astype(int),
                    "year": self.tally.year[used],
                    "deaths": self.tally.deaths[used][:, chosen].sum(axis=1),
                    "km": self.tally.km[used][:, chosen].sum(axis=1),
                }
            )
            for is_impact, chosen in ((1, impact), (0, control))
        )
        return table.groupby(["impact", "after", "year"], as_index=False)[["deaths", "km"]].sum()


def evaluate_measures(
    measures: pd.DataFrame,
    places: Sequence[MeasurePlace],
    *,
    apart: BoolArray,
    around: Surroundings,
    tally: Tally,
    rng: np.random.Generator,
    n_controls: int = N_CONTROLS,
) -> Evaluation:
    """
    Judge each measure: before against after, beside controls, with regression to the mean taken out.

    Parameters
    ----------
    measures
        (m,) ``measure_id kind built_on removed_on``.
    places
        Where each acts.
    apart
        (s,) True for stretches far enough from every measure to be controls.
    around
        What controls are matched on.
    tally
        Deaths and search.
    rng
        Source of chance.
    n_controls
        Sections to compare with, at least.

    Raises
    ------
    NotEnoughDataError
        There is no measure, or none can be judged; the message says why for each.

    Source
    ------
    stewart_oaten1986, hauer1997, breslow1984, cornfield1956
    """
    if measures.empty:
        raise NotEnoughDataError(
            "not enough data: no measure on file; add what was built with 'roadwatch layer SEASON FILE --as measures'"
        )
    rows, faults = [], []
    towards: dict[str, list[str]] = {}
    for number, (measure, place) in enumerate(zip(measures.to_dict("records"), places, strict=True)):
        others = [
            str(name)
            for at, name in enumerate(measures["measure_id"])
            if at != number and (places[at].inside & (place.inside | place.ends)).any()
        ]
        told = {name: measure.get(name) for name in ("measure_id", "kind", "built_on", "removed_on")}
        told["note"] = _shared(others)
        try:
            judged, drawn_to = _judge(_case(measure, place, tally), place, apart, around, rng, n_controls)
            towards.setdefault(drawn_to, []).append(str(measure.get("measure_id")))
            rows.append(told | judged | {"verdict": verdict_of(judged)})  # type: ignore[arg-type]
        except NotEnoughDataError as error:
            reason = str(error).removeprefix("not enough data: ")
            faults.append(f"{measure.get('measure_id')}: {reason}")
            rows.append(told | {"verdict": f"cannot be judged: {reason}"})
    if len(faults) == len(rows):
        raise NotEnoughDataError(f"not enough data: no measure can be judged ({'; '.join(faults)})")
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    table[list(NUMBERS)] = table[list(NUMBERS)].astype(float)
    told_towards = [f"{', '.join(names)}: {words[0].lower()}{words[1:]}" for words, names in towards.items()]
    return Evaluation(table, (*NOTES[:REGRESSION_NOTE], *told_towards, *NOTES[REGRESSION_NOTE:]))


def _case(measure: Mapping[Hashable, object], place: MeasurePlace, tally: Tally) -> _Case:
    """Split the time at the day a measure was built, and say what is missing."""
    if place.reason:
        raise NotEnoughDataError(f"not enough data: {place.reason}")
    built, removed = measure.get("built_on"), measure.get("removed_on")
    if not isinstance(built, str) or not built:
        raise NotEnoughDataError("not enough data: the day it was built is not on file (built_on)")
    before = tally.since.astype(str) < built
    after = ~before
    if isinstance(removed, str) and removed:
        after &= tally.since.astype(str) < removed
    searched = [tally.km[spans].sum(axis=0) > 0.0 for spans in (before, after)]
    for found, word in zip(searched, ("before it was built", "after it was built"), strict=True):
        if not (found & place.inside).any():
            raise NotEnoughDataError(f"not enough data: no search on its road {word}; ingest searches of that time")
    if not (searched[0] & searched[1] & place.inside).any():
        raise NotEnoughDataError("not enough data: no piece of its road was searched both before and after")
    return _Case(tally, before, after, searched[0] & searched[1])


def _judge(
    case: _Case,
    place: MeasurePlace,
    apart: BoolArray,
    around: Surroundings,
    rng: np.random.Generator,
    n_controls: int,
) -> tuple[dict[str, object], str]:
    inside, ends = place.inside & case.searched, place.ends & case.searched
    own, others = sections_of(around, inside), sections_of(around, apart & case.searched)
    impact, candidates = case.sections(own), case.sections(others)
    if not len(candidates.km_before):
        raise NotEnoughDataError("not enough data: no other road was searched both before and after to compare with")
    _check_before(impact, candidates)
    whole = impact.joined(candidates)
    reference = fit_reference(
        whole.deaths_before, whole.km_before, traits_of(around, own).joined(traits_of(around, others))
    )
    impact = impact.alike(reference.like(traits_of(around, own)))
    candidates = candidates.alike(reference.like(traits_of(around, others)))
    rates = before_rates(impact.joined(candidates))
    near = nearest_controls(
        features_of(around, own, rates.expected(impact) / impact.km_before),
        features_of(around, others, rates.expected(candidates) / candidates.km_before),
        deaths_before=candidates.deaths_before,
        n_controls=n_controls,
    )
    control, is_control = candidates.take(near), np.isin(others, near)
    rows = case.rows(inside, is_control)
    _check_enough(rows)
    found = fit_baci(rows)
    corrected = corrected_ratio(impact, control, rates=rates, extra_variance=found.extra_variance, rng=rng)
    wider = sections_of(around, inside | ends)
    wide = case.sections(wider).alike(reference.like(traits_of(around, wider)))
    with_ends = corrected_ratio(wide, control, rates=rates, extra_variance=found.extra_variance, rng=rng)
    at_ends = case.rows(ends, is_control)
    return (
        _counts(rows, "")
        | {"n_controls": len(near)}
        | {"ratio": found.ratio, "ratio_low": found.low, "ratio_high": found.high, "p_value": found.p_value}
        | {"model": found.model, "expected_before": corrected.expected_before, "ratio_corrected": corrected.ratio}
        | {"corrected_low": corrected.low, "corrected_high": corrected.high, "with_ends_ratio": with_ends.ratio}
        | {"with_ends_low": with_ends.low, "with_ends_high": with_ends.high}
        | _ends(at_ends)
        | {"smallest_fall_seen": _smallest_fall(rows, corrected.expected_before, found, rng)}
    ), reference_words(reference)


def _check_before(impact: Sections, candidates: Sections) -> None:
    if impact.deaths_before.sum() + candidates.deaths_before.sum() < LEAST_DEATHS:
        raise NotEnoughDataError("not enough data: fewer than 5 deaths were found on searches before it was built")


def _check_enough(rows: pd.DataFrame) -> None:
    deaths, _ = four_cells(rows)
    for side, count in (("on its road", deaths[:2].sum()), ("on the roads compared with", deaths[2:].sum())):
        if count < LEAST_DEATHS:
            raise NotEnoughDataError(
                f"not enough data: {count:.0f} deaths found on searches {side}, before and after together; "
                f"at least {LEAST_DEATHS} are needed"
            )


def _counts(rows: pd.DataFrame, prefix: str) -> dict[str, object]:
    deaths, km = four_cells(rows)
    names = ("after", "before")
    told: dict[str, object] = {}
    for at, side in ((0, prefix), (2, f"{prefix}control_")):
        for number, name in enumerate(names):
            told |= {f"{side}deaths_{name}": deaths[at + number], f"{side}km_{name}": km[at + number]}
    return told


def _ends(rows: pd.DataFrame) -> dict[str, object]:
    deaths, _ = four_cells(rows)
    told: dict[str, object] = {"ends_deaths_before": deaths[1], "ends_deaths_after": deaths[0]}
    blank = dict.fromkeys(("ends_ratio", "ends_low", "ends_high"), np.nan)
    try:
        found = fit_baci(rows)
    except NotEnoughDataError:
        return told | blank
    return told | {"ends_ratio": found.ratio, "ends_low": found.low, "ends_high": found.high}


def _smallest_fall(rows: pd.DataFrame, expected_before: float, found: Baci, rng: np.random.Generator) -> float:
    deaths, km = four_cells(rows)
    trend = (deaths[2] + 0.5) / (deaths[3] + 0.5) * km[3] / km[2]
    expected = np.array([expected_before / km[1] * km[0] * trend, expected_before, deaths[2], deaths[3]])
    return smallest_fall(expected, km, rng=rng, extra_variance=found.extra_variance)


def _shared(others: Sequence[str]) -> str:
    if not others:
        return ""
    return f"{', '.join(others)} acts on the same road: their effects cannot be told apart"
