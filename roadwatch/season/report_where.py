"""Report: where they die, whether other years would have told, and what a fence is expected to avert."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.season.fence_plan import plan_season_fences
from roadwatch.season.fence_wishes import Wishes
from roadwatch.season.report_words import counted, figure, span
from roadwatch.season.validating import validate_mortality
from roadwatch.share.report_parts import Figure, Section, Table

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    import numpy as np

    from roadwatch.hotspots.road_curve import RoadCurve
    from roadwatch.season.mortality import SeasonHotspots
    from roadwatch.season.report_ground import Ground
    from roadwatch.share.hotspot_view import ShownHotspots

FENCE_WORDS = (
    "Efficacy of fences is taken from published trials elsewhere; a fence needs passages, upkeep, and the road "
    "agency's leave. Signs and speed measures stand beside it only where a sourced efficacy is known: see 'site'."
)
MOST_CURVES = 3
"""Hotspots whose road is drawn; the map shows the others."""

N_DRAWS = 100
"""Draws of rates and efficacy for the fence: enough for an interval told to two digits."""

COLUMNS = {
    "rank": "Rank",
    "road": "Road",
    "from_m": "From, m",
    "to_m": "To, m",
    "milepost_from": "Milepost from",
    "milepost_to": "Milepost to",
    "deaths": "Dead",
    "expected": "Expected",
    "ratio": "Times the expected",
    "ratio_low": "95 % from",
    "ratio_high": "to",
    "p_value": "Chance alone (p)",
    "status": "Status",
}
NOT_WHY = (
    "The statistics show where more were found dead than search explains. They do not show why, nor what would help."
)


def where_section(
    found: SeasonHotspots | None, shown: ShownHotspots, curves: Sequence[RoadCurve], ground: Ground, *, lacking: str
) -> Section:
    """
    Hotspots as their audience may see them, with the curve along the road of the first ones.

    Parameters
    ----------
    found, shown
        What was found, None where it was not looked for; and what of it may be shown.
    curves
        One a row of what was found.
    ground
        What the report rests on.
    lacking
        What is missing where nothing was found for lack of data.
    """
    key, title = "where", "Where they die"
    if found is None:
        return Section(key, title, lacking=lacking)
    table = shown.table
    span_words = f"{ground.first_year} to {ground.year}" if ground.first_year < ground.year else str(ground.year)
    if table.empty:
        first = f"From the records of {span_words} no place stands out on the whole map beyond what chance shows."
    else:
        first = (
            f"From the records of {span_words}, {counted(len(table), 'place')} "
            f"{'stands' if len(table) == 1 else 'stand'} out on the whole map; if no road were special, a map like "
            "this would show any in 5 of 100 cases."
        )
    told = [_hotspot_words(row) for row in table.head(MOST_CURVES).to_dict("records")]
    watched = len(found.watch_list)
    also = (
        [f"{counted(watched, 'more place')} on the watch list may be chance; the command 'hotspots' lists them."]
        if watched
        else []
    )
    rows = pd.DataFrame({head: table[name].to_numpy() for name, head in COLUMNS.items() if name in table.columns})
    sentences = (first, *told, *also, NOT_WHY, *shown.statements)
    tables = (Table("hotspots", "Hotspots", _rounded(rows)),) if len(rows) else ()
    return Section(
        key, title, sentences, tuple(_curves(table, found.hotspots, curves)), tables, notes=tuple(found.notes)
    )


def _hotspot_words(row: dict[object, object]) -> str:
    ratio, low, high = (float(str(row[name])) for name in ("ratio", "ratio_low", "ratio_high"))
    name = str(row.get("road") or "an unnamed road")
    dead = row["deaths"]
    records = f" {figure(round(float(str(dead)), 1))} dead" if dead is not None and dead == dead else " more dead"
    posts = _mileposts(row)
    status = str(row.get("status", "confirmed"))
    doubt = "" if status == "confirmed" else f" It is {status}: too few animals, days or observers to be sure."
    return (
        f"Hotspot {row['rank']}, {name} from {float(str(row['from_m'])):.0f} to {float(str(row['to_m'])):.0f} m{posts}:"
        f"{records}, {figure(ratio)} times what search lets expect {span(low, high)}.{doubt}"
    )


def _mileposts(row: dict[object, object]) -> str:
    ends = [row.get("milepost_from"), row.get("milepost_to")]
    if any(end is None or end != end for end in ends):
        return ""
    low, high = (float(str(end)) for end in ends)
    return f" (mileposts {low:.2f} to {high:.2f})"


def _curves(shown: gpd.GeoDataFrame, found: gpd.GeoDataFrame, curves: Sequence[RoadCurve]) -> list[Figure]:
    by_place = {(row["road"], round(row["from_m"])): k for k, row in enumerate(found.to_dict("records"))}
    drawn = []
    for row in shown.head(MOST_CURVES).to_dict("records"):
        place = by_place.get((row["road"], round(row["from_m"])))
        if place is None or place >= len(curves):
            continue
        curve = curves[place]
        table = pd.DataFrame(
            {
                "road_m": curve.road_m.round(0),
                "density": curve.density.round(3),
                "expected": curve.expected.round(3),
                "band_low": curve.band_low.round(3),
                "band_high": curve.band_high.round(3),
            }
        )
        drawn.append(
            Figure(
                f"hotspot_{row['rank']}_road",
                f"Along {curve.road}: hotspot {row['rank']}",
                f"Records per km within {curve.half_width_m:.0f} m along the roads. The band holds 95 of 100 "
                "scatterings at any one place; somewhere along a road more of them lie outside.",
                "road",
                table,
                "dead per km of road",
                (curve.from_m, curve.to_m),
            )
        )
    return drawn


def predicts_section(found: SeasonHotspots | None) -> Section:
    """Whether the map of other years would have told where a year's animals died."""
    key, title = "predicts", "Would other years have told?"
    if found is None:
        return Section(key, title, lacking="No hotspot map could be made, so there is nothing to check.")
    try:
        checked = validate_mortality(found.mortality)
    except NotEnoughDataError as error:
        return Section(key, title, lacking=f"{error}.")
    best = checked.table[checked.table["rule"] == "hotspot map"]
    sentences = [
        f"The {100 * row['share_of_length']:.0f} % of road that other years mark highest held "
        f"{figure(100 * row['hit_rate'])} % of a left-out year's dead "
        f"{span(100 * row['hit_low'], 100 * row['hit_high'])}: {figure(row['pai'])} times chance "
        f"{span(row['pai_low'], row['pai_high'])}."
        for row in best.to_dict("records")
    ]
    rows = pd.DataFrame(
        {
            "Rule": checked.table["rule"],
            "Share of road, %": 100 * checked.table["share_of_length"],
            "Dead held, %": (100 * checked.table["hit_rate"]).round(1),
            "95 % from": (100 * checked.table["hit_low"]).round(1),
            "to": (100 * checked.table["hit_high"]).round(1),
            "Times chance": checked.table["pai"].round(1),
        }
    )
    return Section(
        key, title, tuple(sentences), (), (Table("predicts", "Beside three simple rules", rows),), notes=checked.notes
    )


def averted_section(ground: Ground, *, fence_m: float, rng: np.random.Generator) -> Section:
    """What the best fence of a length is expected to avert, and the curve over lengths."""
    key, title = "averted", "What a fence is expected to avert"
    try:
        plan = plan_season_fences(
            ground.season, Wishes(fence_m, n_draws=N_DRAWS), rng=rng, years=(ground.first_year, ground.year)
        )
    except (NotEnoughDataError, UsageError) as error:
        return Section(key, title, lacking=f"{error}.")
    curve, runs = plan.curve, plan.runs
    asked = curve.iloc[int((curve["length_m"] - fence_m).abs().to_numpy().argmin())]
    sentences = [
        _plan_words(asked, n_runs=len(runs)),
        *(
            f"Run {row['run']}: {row['road']} from {row['from_m']:.0f} to {row['to_m']:.0f} m, "
            f"{figure(row['averted_per_year'])} a year {span(row['averted_low'], row['averted_high'])}."
            for row in runs.to_dict("records")
        ),
        FENCE_WORDS,
    ]
    rows = curve[["length_m", "averted_per_year", "low", "high"]].round(3)
    drawn = Figure(
        "averted_curve",
        "Deaths averted a year against length of fence",
        "Best plan of each length; the band is its 95 % interval.",
        "averted",
        rows,
        "deaths averted a year",
        (fence_m, fence_m),
    )
    return Section(key, title, tuple(sentences), (drawn,), notes=plan.notes)


def _plan_words(asked: pd.Series, *, n_runs: int) -> str:
    return (
        f"The best {figure(asked['length_m'])} m of fence, in {counted(n_runs, 'run')} on both sides, is expected to "
        f"avert {figure(asked['averted_per_year'])} deaths a year {span(asked['low'], asked['high'])}."
    )


def _rounded(rows: pd.DataFrame) -> pd.DataFrame:
    """Metres whole, mileposts to 0.01, p to four places, others to one."""
    digits = {"From, m": 0, "To, m": 0, "Milepost from": 2, "Milepost to": 2, "Chance alone (p)": 4}
    numbers = rows.select_dtypes("number").columns
    return rows.assign(**{name: rows[name].round(digits.get(name, 1)) for name in numbers})
