"""One row of the table of windows: days as text, shares, and the words that say what they rest on."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.development import emergence_of
from roadwatch.hatch.sureness import sureness_of
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from collections.abc import Mapping

    from roadwatch.hatch.ground import Ground, Plan
    from roadwatch.hatch.projection import Projected

COLUMNS = [
    *("nest_id", "taxon", "laid_from", "laid_to", "progress", "hatch_early", "hatch_likely", "hatch_late"),
    *("p_hatched", "p_never", "autumn_early", "autumn_late", "spring_early", "spring_late"),
    *("basis", "sureness", "weather_factor", "note"),
]


def window_row(plan: Plan, projected: Projected | None, ground: Ground) -> dict[str, object]:
    """
    Write a nest's row.

    Parameters
    ----------
    plan
        The nest's; doubts that only the result shows are added to it.
    projected
        None where nothing was drawn: the row then says why, or holds days from natural nests.
    ground
        What the whole call rests on.
    """
    row: dict[str, object] = dict.fromkeys(COLUMNS)
    row |= {"nest_id": plan.nest_id, "taxon": plan.taxon, "basis": "none", "sureness": "none", "note": plan.reason}
    if plan.laying is not None:
        row |= {"laid_from": plan.laying.first.isoformat(), "laid_to": plan.laying.last.isoformat()}
    if plan.reason is not None:
        visited = ground.visits.get(plan.nest_id)
        if visited and visited.hatched:
            row |= {"progress": 1.0, "p_hatched": 1.0, "p_never": 0.0} | _spring(plan, ground)
        return row
    assert plan.parameters is not None
    row |= _projected_days(plan, projected, ground) if projected else _field_days(plan, ground)
    row |= _autumn(plan, row, ground) | _spring(plan, ground)
    row["sureness"] = sureness_of(
        plan.parameters.sureness,
        doubts=plan.doubts,
        own_logger=plan.logger is not None,
        seen_laying=plan.laying is not None and plan.laying.n_days == 1,
    )
    row["note"] = "; ".join(plan.remarks)
    return row


def _projected_days(plan: Plan, projected: Projected, ground: Ground) -> dict[str, object]:
    assert plan.laying is not None
    start = date(plan.laying.last.year, 1, 1)
    days = (projected.early, projected.likely, projected.late)
    early, likely, late = ((start + timedelta(days=int(day))).isoformat() if np.isfinite(day) else None for day in days)
    _doubt_result(plan, projected, ground)
    return {
        "hatch_early": early,
        "hatch_likely": likely,
        "hatch_late": late,
        "p_hatched": projected.p_hatched,
        "p_never": projected.p_never,
        "progress": projected.progress,
        "weather_factor": projected.weather_factor,
        "basis": plan.basis if plan.setting else "field_range",
    }


def _doubt_result(plan: Plan, projected: Projected, ground: Ground) -> None:
    """Doubts that only the projected days can raise."""
    measured = plan.parameters
    assert measured is not None
    outside = projected.mean_c < measured.lowest_c or projected.mean_c > measured.highest_c
    if outside and measured.by_weather and measured.basis != "one_duration":
        span = f"{measured.lowest_c:g} to {measured.highest_c:g}"
        plan.doubt(f"nest near {projected.mean_c:.1f} °C on average, outside the {span} °C that were measured")
    if measured.basis == "one_duration":
        plan.remarks.append(
            f"from one measured duration ({measured.days:g} days at {measured.at_c:g} °C) and a base common to turtles"
        )
    if projected.p_never > 0:
        spring = ground.coming_spring(plan.laying)
        cure = f": leave it and look in {spring}" if spring else ""
        plan.remarks.append(f"{_share(projected.p_never)} not hatched by 31 December; not a failed nest{cure}")


def _share(share: float) -> str:
    return "under 1%" if share < 0.01 else f"{share:.0%}"


def _field_days(plan: Plan, ground: Ground) -> dict[str, object]:
    """A window from days seen in natural nests; it holds no chance, as nobody published how often it is kept."""
    assert plan.laying is not None
    assert plan.parameters is not None
    low, high = plan.parameters.days_low, plan.parameters.days_high
    middle = plan.parameters.days if np.isfinite(plan.parameters.days) else (low + high) / 2
    half_span = (plan.laying.n_days - 1) / 2
    days = (
        plan.laying.first + timedelta(days=int(low)),
        plan.laying.first + timedelta(days=round(half_span + middle)),
        plan.laying.last + timedelta(days=int(np.ceil(high))),
    )
    year_end = date(plan.laying.last.year, 12, 31)
    if days[2] > year_end:
        spring = ground.coming_spring(plan.laying)
        cure = f"; leave the nest and look in {spring}" if spring else ""
        plan.remarks.append(f"days beyond 31 December are left blank{cure}")
    plan.remarks.append(
        f"window from natural nests ({low:g} to {high:g} days), not from weather; it has no stated coverage"
    )
    early, likely, late = (day.isoformat() if day <= year_end else None for day in days)
    return {"hatch_early": early, "hatch_likely": likely, "hatch_late": late, "basis": "field_range"}


def _autumn(plan: Plan, row: Mapping[str, object], ground: Ground) -> dict[str, object]:
    """Hatching plus 1 to 30 days, no later than 31 December."""
    early, late = row["hatch_early"], row["hatch_late"]
    if not _may_leave(plan, "autumn", ground) or not isinstance(early, str):
        return {}
    year_end = date(int(early[:4]), 12, 31)
    first = min(date.fromisoformat(early) + timedelta(days=hatch_value("autumn_first_d")), year_end)
    if not isinstance(late, str):
        return {"autumn_early": first.isoformat()}
    last = min(date.fromisoformat(late) + timedelta(days=hatch_value("autumn_last_d")), year_end)
    return {"autumn_early": first.isoformat(), "autumn_late": last.isoformat()}


def _spring(plan: Plan, ground: Ground) -> dict[str, object]:
    """The season in which hatchlings that waited come up, in the year after laying."""
    if plan.laying is None or not _may_leave(plan, "spring", ground):
        return {}
    year = plan.laying.last.year + 1
    return {"spring_early": f"{year}-{ground.region.spring_from}", "spring_late": f"{year}-{ground.region.spring_to}"}


def _may_leave(plan: Plan, season: str, ground: Ground) -> bool:
    """Whether any taxon that the nest may be of is known to leave it then."""
    region = ground.region.development_region
    return any(
        emergence_of(taxon, development_region=region, tables=ground.tables)[season] == "yes"
        for taxon in plan.may_be or (plan.taxon or "",)
    )
