"""Fences beside signs, speed measures and passages at the chosen places, as far as anything is known of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.siting.efficacy import FENCE, MEASURES
from roadwatch.siting.fence_runs import interval
from roadwatch.siting.sign_evidence import SIGN_EVIDENCE

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence

    from roadwatch.roads.arrays import FloatArray
    from roadwatch.siting.efficacy import Efficacy
    from roadwatch.siting.fence_problem import FenceProblem
    from roadwatch.siting.fence_table import Runs
    from roadwatch.siting.measure_options import MeasureOption

COLUMNS = (
    *("measure", "place", "averted_per_year", "low", "high", "cost", "cost_per_averted_low", "cost_per_averted_high"),
    "basis",
)
NOT_RANKED = "no sourced efficacy: not ranked"
EVERY_PLACE = "every place"
WORDS = {
    "sign": "signs",
    "speed": "speed measures",
    "passage": "passages without a fence",
    "other": "another measure",
    "fence": "fences",
}
"""How sentences call a measure."""


@dataclass(frozen=True)
class MeasureComparison:
    """
    Measures at the chosen places, the best first.

    Parameters
    ----------
    table
        Columns ``COLUMNS``; a measure without an efficacy has one row without numbers, after the others.
    notes
        How to read it, and why measures are left out.
    """

    table: pd.DataFrame
    notes: tuple[str, ...]


def compare_measures(
    runs: pd.DataFrame,
    places: Runs,
    *,
    problem: FenceProblem,
    drawn: FenceProblem,
    fence: Efficacy,
    options: Sequence[MeasureOption],
    rng: np.random.Generator,
) -> MeasureComparison:
    """
    Set what each measure averts at each chosen place beside what the fence does.

    Where every row has its cost the cheapest death averted stands first, else what averts most.

    Parameters
    ----------
    runs
        The fences, columns ``fence_runs.COLUMNS``.
    places
        Cells of each row of ``runs``, in its order.
    problem, drawn
        The fence question at its best guess and under drawn rates.
    fence, options
        Efficacy of the fence, and the other measures that have one.
    rng
        Source of chance for their efficacies.
    """
    rows = [_fence_row(run, fence) for run in runs.to_dict("records")]
    for option in options:
        middle, end = option.efficacy.central()
        best = _under(problem, middle[None], end[None], option.efficacy)
        middle, end = option.efficacy.draw(rng, n_draws=len(drawn.deaths))
        draws = _under(drawn, middle, end, option.efficacy)
        rows += [
            _row(option, run, float(best.value_of([place])[0, 0]), draws.value_of([place])[:, 0])
            for run, place in zip(runs.to_dict("records"), places, strict=True)
        ]
    known = {FENCE, *(option.measure for option in options)}
    unknown = [measure for measure in MEASURES if measure not in known and measure != "other"]
    table = pd.DataFrame([*_ranked(rows), *(_blank(measure) for measure in unknown)], columns=list(COLUMNS))
    return MeasureComparison(table, comparison_words(unknown, options=options, is_priced=_is_priced(rows)))


def comparison_words(
    unknown: Sequence[str], *, options: Sequence[MeasureOption] = (), is_priced: bool
) -> tuple[str, ...]:
    """
    Write how to read the comparison, and what is not in it.

    Parameters
    ----------
    unknown
        Measures without an efficacy.
    options
        Those with one.
    is_priced
        Whether the order is that of the cost of a death averted.
    """
    order = "the cheapest death averted first" if is_priced else "what averts most first"
    told = [
        f"Measures at the chosen places, {order}; savings of two measures at one place do not add up.",
    ]
    if unknown:
        told.append(
            f"Not ranked, as no sourced efficacy is known here: {', '.join(WORDS[measure] for measure in unknown)}. "
            "A value of your own enters through a row of --efficacy FILE (column measure: "
            f"{', '.join(unknown)}). No number is made up for them."
        )
    tables = dict.fromkeys(option.table for option in options)
    told += [f"What {table} says of other measures is taken as it is written there." for table in tables]
    return (*told, SIGN_EVIDENCE)


def _under(problem: FenceProblem, middle: FloatArray, end: FloatArray, efficacy: Efficacy) -> FenceProblem:
    """The same cells and rates under another measure."""
    return replace(
        problem,
        middle=middle,
        end=end,
        middle_cells=efficacy.least_cells(problem.cell_m),
        end_rows=efficacy.end_rows(problem.cell_m),
    )


def place_words(run: Mapping[Hashable, object]) -> str:
    """
    What the column ``place`` calls a run.

    Parameters
    ----------
    run
        A row of ``fence_runs.COLUMNS``.
    """
    return f"{run['run']}: {run['road']}, {run['from_m']:.0f} to {run['to_m']:.0f} m"


def _fence_row(run: Mapping[Hashable, object], efficacy: Efficacy) -> dict[str, object]:
    return {
        "measure": FENCE,
        "place": place_words(run),
        "averted_per_year": run["averted_per_year"],
        "low": run["averted_low"],
        "high": run["averted_high"],
        "cost": run["cost"],
        "cost_per_averted_low": run["cost_per_averted_low"],
        "cost_per_averted_high": run["cost_per_averted_high"],
        "basis": _sources(efficacy),
    }


def _row(option: MeasureOption, run: Mapping[Hashable, object], best: float, draws: FloatArray) -> dict[str, object]:
    low, high = interval(draws)
    cost = option.cost(float(str(run["length_m"])))
    return {
        "measure": option.measure,
        "place": place_words(run),
        "averted_per_year": best,
        "low": low,
        "high": high,
        "cost": cost,
        "cost_per_averted_low": cost / high if high > 0.0 else np.nan,
        "cost_per_averted_high": cost / low if low > 0.0 else np.nan,
        "basis": f"{_sources(option.efficacy)} ({option.table})",
    }


def _blank(measure: str) -> dict[str, object]:
    numbers = dict.fromkeys(COLUMNS[2:-1], np.nan)
    return {"measure": measure, "place": EVERY_PLACE, **numbers, "basis": NOT_RANKED}


def _sources(efficacy: Efficacy) -> str:
    keys = dict.fromkeys(row.source or "no source given" for row in (*efficacy.middles, *efficacy.ends))
    return ", ".join(keys)


def _is_priced(rows: Sequence[Mapping[str, object]]) -> bool:
    return bool(rows) and all(np.isfinite(float(str(row["cost"]))) for row in rows)


def _ranked(rows: list[dict[str, object]]) -> list[dict[str, object]]:
    """The cheapest death averted first where all is priced, else what averts most; equals in their old order."""
    averted = np.array([float(str(row["averted_per_year"])) for row in rows])
    key = -averted
    if _is_priced(rows):
        cost = np.array([float(str(row["cost"])) for row in rows])
        key = np.divide(cost, averted, out=np.full(len(rows), np.inf), where=averted > 0.0)
    return [rows[k] for k in np.argsort(key, kind="stable")]
