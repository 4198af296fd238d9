"""A fence plan in plain sentences: what was asked, what it rests on, and what to doubt."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from roadwatch.sources import all_sources

if TYPE_CHECKING:
    from roadwatch.roads.arrays import FloatArray
    from roadwatch.siting.efficacy import Efficacy, EfficacyRow
    from roadwatch.siting.fence_cells import FenceCells
    from roadwatch.siting.fence_curve import Curve
    from roadwatch.siting.fence_problem import Prices
    from roadwatch.siting.fences import FencePlan

BUDGET_WORDS = (
    "The budget holds the plan and the curve up to the length asked for; beyond it the curve lets the budget grow with "
    "the length. "
)


def efficacy_words(efficacy: Efficacy) -> tuple[str, ...]:
    """
    The efficacies used, with their sources.

    Parameters
    ----------
    efficacy
        The set used.
    """
    middles = [
        f"In the middle of {_span(row)} a fence is taken to avert {row.value:.0%} of deaths "
        f"({row.low:.0%} to {row.high:.0%}; {row.source}). {row.remark}."
        for row in efficacy.middles
    ]
    ends = [
        f"From {row.from_m:.0f} to {row.to_m:.0f} m inside each end {row.value:.0%} of that is left "
        f"({row.low:.0%} to {row.high:.0%}; {row.source}). {row.remark}."
        for row in efficacy.ends
    ]
    return (*middles, *ends)


def _span(row: EfficacyRow) -> str:
    if math.isinf(row.to_m):
        return f"runs of {row.from_m:.0f} m and more" if row.from_m else "a run"
    return f"runs up to {row.to_m:.0f} m"


def brief_efficacy_words(efficacy: Efficacy) -> tuple[str, ...]:
    """
    The efficacies used in a sentence each, for a sheet.

    Parameters
    ----------
    efficacy
        The set used.
    """
    middles = [f"{row.value:.0%} ({row.low:.0%} to {row.high:.0%}; {row.source})" for row in efficacy.middles]
    ends = [
        f" Within {row.to_m:.0f} m of an end {row.value:.0%} of that is left "
        f"({row.low:.0%} to {row.high:.0%}; {row.source})."
        for row in efficacy.ends
    ]
    told = [
        f"How well this fence will work is not known; away from its ends it is taken to avert {', '.join(middles)}."
        + "".join(ends)
    ]
    listed = all_sources()
    keys = dict.fromkeys(row.source for row in (*efficacy.middles, *efficacy.ends) if row.source in listed)
    told += [f"{key}: {listed[key].citation} (known from: {listed[key].known_from})" for key in keys]
    return tuple(told)


def plan_words(plan: FencePlan, curve: Curve) -> tuple[str, ...]:
    """
    Whether the plan is proven, and how the curve runs.

    Parameters
    ----------
    plan, curve
        The plan and the curve.
    """
    proof = (
        "Proven: at these rates and efficacies no other plan within the limits averts more."
        if plan.optimal
        else f"Not proven best: another plan within the limits could avert up to {plan.gap:.1%} more. The search was "
        "stopped by its time limit, so that a faster machine may find another plan."
    )
    if not plan.runs:
        proof = "No fence is planned: no run fits within the limits and averts a death."
    bend = (
        "Each further metre of fence averts no more than the one before."
        if curve.bends_down
        else "The curve does not bend down everywhere: at some lengths a further metre averts more than the one before "
        "it, because a run averts little until it is longer than its two ends."
    )
    if math.isinf(curve.gap):
        return proof, f"{bend} For some lengths no plan was found in time, and that of the length before is told."
    if curve.gap > 0.0:
        return proof, f"{bend} The curve is not proven: other plans could avert up to {curve.gap:.1%} more."
    return proof, f"{bend} More fence never averts less."


def cell_words(cells: FenceCells, *, basis: str) -> tuple[str, ...]:
    """
    Where no fence was considered, and what is known of where people looked.

    Parameters
    ----------
    cells
        The cells.
    basis
        ``search`` or ``unknown``.
    """
    closed = ", ".join(f"{length / 1000:.1f} km {reason}" for reason, length in cells.closed_m.items())
    open_km = len(cells.road) * cells.cell_m / 1000
    told = [f"{open_km:.1f} km of road were open to fences, in stretches of {cells.cell_m:.0f} m."]
    if closed:
        told.append(
            f"Closed to fences: {closed}. A road never searched is unknown, not safe: no fence is planned on it."
        )
    if basis == "unknown":
        told.append(
            "Where people looked is unknown: places where many people look seem deadlier than they are, and the plan "
            "may follow the people. Record searches, also those that find nothing."
        )
    else:
        told.append(
            "Deaths per year are those of the usual search effort, after luck is drawn towards the usual. A road "
            "searched more than usual shows more deaths in 'roadwatch hotspots' than here."
        )
    return tuple(told)


def price_words(prices: Prices) -> str:
    """
    What cost per death averted means, or why it is blank.

    Parameters
    ----------
    prices
        Prices as the user gave them.
    """
    if prices.per_m is None:
        return "Cost is blank: no price was given (--cost-per-m, --cost-per-end), and none is assumed."
    budget = "" if prices.budget is None else BUDGET_WORDS
    return (
        f"{budget}Cost per death averted is the cost of the run over the deaths it averts in one year; divide by the "
        "years the fence will last. Upkeep is not in it unless it is in your price. The price per metre is for both "
        "sides of the road."
    )


def passage_words(plan: FencePlan, within: FloatArray, prices: Prices) -> tuple[str, ...]:
    """
    Which runs lack a passage, and what priced passages cost beside the runs.

    Parameters
    ----------
    plan
        The plan.
    within
        (c,) Passages within reach of each cell.
    prices
        Prices as the user gave them.
    """
    without = sum(1 for start, stop in plan.runs if not within[start:stop].any())
    told = []
    if without:
        told.append(
            f"{without} of {len(plan.runs)} {'run' if len(plan.runs) == 1 else 'runs'} "
            f"{'has' if without == 1 else 'have'} no passage of the layer within reach: plan one with the fence, or "
            "animals are cut off."
        )
    if prices.per_passage > 0.0:
        n = len(plan.passages)
        told.append(
            f"{n} {'passage is' if n == 1 else 'passages are'} made ready for {n * prices.per_passage:.0f} in all and "
            "shared by the runs in reach. The budget, the curve and its cost, and chosen_share hold this sum; the cost "
            "of a run and its cost per death averted do not, as no run has a passage to itself."
        )
    return tuple(told)
