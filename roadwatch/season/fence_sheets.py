"""The sheets about the places of a fence plan: what a road agency needs to see of each."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.records.store import Season
from roadwatch.season.carcass_trials import KILLED, NO_TRIAL
from roadwatch.siting.efficacy import FENCE
from roadwatch.siting.fence_brief import Alternative, FenceBrief, PlaceSheet
from roadwatch.siting.fence_problem import Prices
from roadwatch.siting.fence_runs import interval, place_of
from roadwatch.siting.fence_words import brief_efficacy_words, cell_words
from roadwatch.siting.fences import plan_fences
from roadwatch.siting.measure_comparison import NOT_RANKED, WORDS, place_words
from roadwatch.siting.sign_evidence import SIGN_EVIDENCE_SHORT

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping
    from pathlib import Path

    from roadwatch.roads.arrays import BoolArray
    from roadwatch.season.fence_plan import SeasonFences
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs

BESIDE_M = 1000.0
"""Road shown on either side of a run, metres."""


def fence_sheets(path: Path, found: SeasonFences, *, team_only: bool) -> FenceBrief:
    """
    Put the sheets of a plan together.

    Parameters
    ----------
    path
        The season file.
    found
        The plan.
    team_only
        Whether the sheets are not for everybody.

    Raises
    ------
    UsageError
        The season does not exist.
    """
    season = Season.open(path)
    order = np.argsort(-found.plan.averted, kind="stable")
    rows = found.runs.drop(columns="geometry").to_dict("records")
    places = [_place(found, found.plan.runs[k], row) for k, row in zip(order, rows, strict=True)]
    return FenceBrief(
        path.stem,
        tuple(places),
        found.runs,
        season.read("roads"),
        season.read("water"),
        found.curve,
        found.wishes.most_m(),
        "recorded dead" if found.trial is None else "killed",
        _unknown(found),
        found.notes,
        team_only,
    )


def _unknown(found: SeasonFences) -> tuple[str, ...]:
    """What is not known of any of the places."""
    counted = next(note for note in found.notes if note.startswith((KILLED, NO_TRIAL)))
    return (
        cell_words(found.cells, basis=found.study.baseline.basis)[-1],
        counted.partition(" A carcass lies")[0],
        *brief_efficacy_words(found.efficacy),
        "Why animals cross here is not known, nor whether they will move to the ends of the fence.",
        SIGN_EVIDENCE_SHORT,
    )


def _place(found: SeasonFences, run: tuple[int, int], row: Mapping[Hashable, object]) -> PlaceSheet:
    """One place with the road around it and what else could be done."""
    start, stop = run
    cells, study = found.cells, found.study
    from_m, to_m = cells.from_m[start] - BESIDE_M, cells.from_m[stop - 1] + cells.cell_m + BESIDE_M
    table = study.table
    on_road = (table["road"] == cells.road[start]).to_numpy() & (
        table["road_part"] == cells.road_part[start]
    ).to_numpy()
    middle_m = ((table["from_m"] + table["to_m"]) / 2.0).to_numpy()
    own = np.flatnonzero(on_road & (middle_m >= from_m) & (middle_m <= to_m))
    own = own[np.argsort(middle_m[own])]
    drawn = found.drawn_per_m[:, own] * 1000.0
    return PlaceSheet(
        row,
        middle_m[own],
        found.rates.mean()[own] * 1000.0,
        np.quantile(drawn, 0.025, axis=0),
        np.quantile(drawn, 0.975, axis=0),
        found.rates.usual_per_m * 1000.0,
        tuple(_alternatives(found, run, row)),
    )


def _alternatives(found: SeasonFences, run: tuple[int, int], row: Mapping[Hashable, object]) -> list[Alternative]:
    """The fence, half of it here, the same length at the next best place, other measures here, and no fence."""
    start, stop = run
    best = found.outlook.problem
    here = np.zeros(len(best.line), dtype=bool)
    here[start:stop] = True
    elsewhere = np.ones(len(best.line), dtype=bool)
    for other_start, other_stop in found.plan.runs:
        elsewhere[other_start:other_stop] = False
    told = [Alternative("This fence", *_averted(run, found))]
    halves = _best_run(best, (stop - start) // 2, here)
    told += [Alternative(f"Only {(b - a) * best.cell_m:.0f} m of it", *_averted((a, b), found)) for a, b in halves]
    for other in _best_run(best, stop - start, elsewhere):
        place = place_of(found.network, found.cells, *other)
        where = f"{place['road']}, {place['from_m']:.0f} to {place['to_m']:.0f} m"
        told.append(
            Alternative(f"The same length at the best place outside the plan: {where}", *_averted(other, found))
        )
    return [*told, *_other_measures(found, row), Alternative("No fence", 0.0, 0.0, 0.0)]


def _other_measures(found: SeasonFences, row: Mapping[Hashable, object]) -> list[Alternative]:
    """Measures other than fences at this place; those without an efficacy in one row without numbers."""
    table = found.compared.table
    here = table[(table["place"] == place_words(row)) & (table["measure"] != FENCE)].to_dict("records")
    told = [
        Alternative(
            f"Instead of a fence here: {WORDS[str(one['measure'])]}, by {one['basis']}",
            *(float(one[name]) for name in ("averted_per_year", "low", "high")),
        )
        for one in here
    ]
    unknown = ", ".join(WORDS[str(name)] for name in table.loc[table["basis"] == NOT_RANKED, "measure"])
    if unknown:
        told.append(Alternative(f"{unknown[:1].upper()}{unknown[1:]}: {NOT_RANKED}", np.nan, np.nan, np.nan))
    return told


def _averted(run: tuple[int, int], found: SeasonFences) -> tuple[float, float, float]:
    """What one run averts, and its interval."""
    low, high = interval(found.outlook.drawn.value_of([run])[:, 0])
    return float(found.outlook.problem.value_of([run])[0, 0]), low, high


def _best_run(problem: FenceProblem, cells: int, where: BoolArray) -> Runs:
    """The best single run of at most some cells where it may stand; none where it would be too short."""
    if cells < problem.least_cells:
        return []
    asked, number = replace(problem, most_cells=cells, most_runs=1, prices=Prices(), passage=None).without(~where)
    plan = plan_fences(asked)
    return [(int(number[start]), int(number[stop - 1]) + 1) for start, stop in plan.runs]
