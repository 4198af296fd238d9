"""A nest as one or several taxa: each planned apart, then joined by how probable it is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.causes import REMEDIES, TAXON
from roadwatch.hatch.chances import HatchDraws
from roadwatch.hatch.mixtures import field_draws, joined_draws, mix_windows, weighted_quantiles
from roadwatch.hatch.planning import plan_nest
from roadwatch.hatch.sureness import CERTAIN_ENOUGH

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.ground import Ground, Plan
    from roadwatch.hatch.projection import Projected

LEAST_SHARE = 0.5
"""A window is given where taxa that have one hold at least this share of the probability (convention)."""


LEAST_TOLD = 0.01
"""Taxa with a smaller share count and are not named (convention)."""


@dataclass(frozen=True)
class Case:
    """A nest: the plan its row is written from, and each taxon's plan with its probability, the likeliest first."""

    plan: Plan
    parts: list[tuple[Plan, float]]


def plan_case(nest: Mapping[str, object], *, ground: Ground, candidates: Mapping[str, float] | None) -> Case:
    """
    Plan a nest for the taxa that it may be of.

    Parameters
    ----------
    nest
        One row of kind ``nests``.
    ground
        What the whole call rests on.
    candidates
        Probability of each taxon, or None: as written.

    Returns
    -------
    One part where all taxa share one parameter set; a plan with a reason where most of the probability lies on taxa
    that have no window.
    """
    probable = sorted(((p, name) for name, p in (candidates or {}).items() if p > 0), key=lambda one: (-one[0], one[1]))
    if not probable:
        plan = plan_nest(nest, ground=ground)
        return Case(plan, [(plan, 1.0)])
    total = sum(p for p, _ in probable)
    sure = {**nest, "id_confidence": 1.0}
    plans = [(plan_nest({**sure, "taxon": name}, ground=ground), p / total) for p, name in probable]
    merged = _merged(plans)
    projected = [(plan, p) for plan, p in merged if plan.reason is None]
    share = sum(p for _, p in projected)
    written = nest.get("taxon")
    if share < LEAST_SHARE:
        plan = merged[0][0]
        plan.may_be = tuple(str(one.taxon) for one, _ in plans)  # hatchlings seen may wait for spring if any taxon does
        if projected:
            plan = next(one for one, _ in merged if one.reason)
            plan.reason = f"no window: only {share:.0%} of the probability lies on taxa that have one; {plan.reason}"
        return Case(_as_written(plan, written), [(plan, 1.0)])
    main = projected[0][0]
    _remark_taxa(main, merged, share)
    main.may_be = tuple(str(plan.taxon) for plan, _ in plans if plan.reason is None)
    return Case(_as_written(main, written), projected)


def _merged(plans: list[tuple[Plan, float]]) -> list[tuple[Plan, float]]:
    """Taxa with one parameter set, or without a window for one reason, count as one; the likeliest stands for them."""
    by_set: dict[object, tuple[Plan, float]] = {}
    for plan, p in plans:
        key = plan.reason or (plan.parameters.taxon, plan.parameters.region) if plan.parameters else plan.reason
        first, so_far = by_set.get(key, (plan, 0.0))
        by_set[key] = (first, so_far + p)
    return sorted(by_set.values(), key=lambda one: -one[1])


def _remark_taxa(main: Plan, merged: list[tuple[Plan, float]], share: float) -> None:
    projected = [(plan, p) for plan, p in merged if plan.reason is None]
    if len(projected) > 1:
        named = [(plan.parameters.taxon if plan.parameters else plan.taxon, p) for plan, p in projected]
        words = ", ".join(f"{name} {p:.0%}" for name, p in named if p >= LEAST_TOLD)
        (main.doubt if projected[0][1] < CERTAIN_ENOUGH else main.remarks.append)(
            f"window over the taxa it may be of: {words}"
        )
        if any(plan.setting is None for plan, _ in projected):
            main.remarks.append("each day of a range published for natural nests counts as likely as the next")
    if share < 1 - LEAST_TOLD:
        main.remarks.append(f"{1 - share:.0%} lies on taxa without a window, which are left out of it")


def _as_written(plan: Plan, written: object) -> Plan:
    plan.taxon = written if isinstance(written, str) and written.strip() else plan.taxon
    return plan


def case_window(case: Case, found: Mapping[int, Projected], *, as_of: date, coverage: float) -> Projected | None:
    """
    Give the result of a nest, joined over its taxa.

    Parameters
    ----------
    case
        The nest.
    found
        Results of plans that weather projects, by the plan's ``id``.
    as_of
        The day on which the reader stands.
    coverage
        Share of draws between early and late.

    Returns
    -------
    None where nothing is drawn: no window, or days from natural nests alone.
    """
    if case.plan.reason is not None:
        return None
    if len(case.parts) == 1:
        return found.get(id(case.parts[0][0]))
    return mix_windows(_results(case, found, as_of), coverage=coverage)


def case_draws(case: Case, found: Mapping[int, Projected], *, as_of: date) -> HatchDraws | None:
    """
    Give the drawn hatching days of a nest; a range published for natural nests is spread out evenly.

    Parameters
    ----------
    case, found, as_of
        As for ``case_window``.

    Returns
    -------
    None where the nest has no window.
    """
    if case.plan.reason is not None or case.plan.laying is None:
        return None
    days, weights = joined_draws(_results(case, found, as_of))
    return HatchDraws(date(case.plan.laying.last.year, 1, 1), days, weights)


def _results(case: Case, found: Mapping[int, Projected], as_of: date) -> list[tuple[Projected, float]]:
    """Each taxon's result with its probability; a published range is spread out evenly."""
    return [(found.get(id(plan)) or _from_field(plan, as_of), p) for plan, p in case.parts]


def _from_field(plan: Plan, as_of: date) -> Projected:
    assert plan.laying is not None
    assert plan.parameters is not None
    start = date(plan.laying.last.year, 1, 1)
    return field_draws(
        plan.laying,
        days_low=plan.parameters.days_low,
        days_high=plan.parameters.days_high,
        as_of_day=(as_of - start).days,
        start=start,
    )


def taxon_cause(
    case: Case, found: Mapping[int, Projected], *, as_of: date, coverage: float
) -> tuple[str, str, float, float, float, str] | None:
    """
    Say what the doubt about the taxon adds to a window.

    Parameters
    ----------
    case, found, as_of, coverage
        As for ``case_window``.

    Returns
    -------
    A row as of ``explain_widths``: days alone are the spread of the taxa's likely days, days narrower the width less
    that of the most probable taxon; None for a nest of one taxon.
    """
    if case.plan.reason is not None or len(case.parts) == 1:
        return None
    parts = _results(case, found, as_of)
    ends = ((1 - coverage) / 2, (1 + coverage) / 2)
    likely, shares = np.array([one.likely for one, _ in parts]), np.array([p for _, p in parts])
    first, mixed = parts[0][0].days, mix_windows(parts, coverage=coverage)
    low, high = weighted_quantiles(likely, shares, at=ends)
    first_low, first_high = weighted_quantiles(first, np.ones(len(first)), at=ends)
    narrower = (mixed.late - mixed.early) - (first_high - first_low)
    return (case.plan.nest_id, TAXON, _finite(high - low), _finite(narrower), float("nan"), REMEDIES[TAXON])


def _finite(days: float) -> float:
    return days if np.isfinite(days) else float("nan")
