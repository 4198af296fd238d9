"""Report: this year beside earlier ones, where search makes them comparable."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.season.report_words import poisson_interval, rate_ratio, span
from roadwatch.share.report_parts import Figure, Section, Table

if TYPE_CHECKING:
    from roadwatch.season.report_ground import Ground

DOUBT = (
    "The years compare only as far as the same roads were searched at the same time of year: who searched where is not "
    "the same every year. If deaths come in clumps, as on a wet day or in one record of several animals, the true "
    "interval is wider."
)


def years_section(ground: Ground) -> Section:
    """Dead turtles found on searches, for each kilometre searched, year by year."""
    key, title = "years", "Compared with earlier seasons"
    if len(ground.years()) < 2:
        return Section(
            key, title, lacking=f"{ground.year} is the first year on file: there is nothing to compare it with."
        )
    rows = pd.DataFrame([_row(ground, year) for year in ground.years()])
    table = Table("years", "Every year on file", rows)
    rated = rows[rows["Km searched"] > 0]
    if not (rated["Year"] == ground.year).any() or len(rated) < 2:
        why = "searches with roads of the layer are on file for fewer than two years, this one among them"
        lacking = (
            f"Counts of different years cannot be compared, because {why}; more records may only mean more looking."
        )
        return Section(key, title, (lacking,), (), (table,))
    bars = pd.DataFrame(
        {
            "label": rated["Year"].astype(str),
            "value": rated["Dead per km searched"],
            "low": rated["95 % from"],
            "high": rated["to"],
        }
    )
    drawn = Figure(
        "years_rates",
        "Dead turtles for each kilometre searched",
        "Points are rates, lines 95 % intervals.",
        "rates",
        bars,
        "dead per km searched",
    )
    return Section(key, title, (_compared(rated, ground.year), DOUBT), (drawn,), (table,))


def _row(ground: Ground, year: int) -> dict[str, object]:
    animals = ground.of_year(year)
    is_dead = (animals["condition"] == "dead").to_numpy()
    own = ground.searches[ground.searches["year"] == year]["search_id"]
    found = float(animals["count"][is_dead & animals["search_id"].isin(own).to_numpy()].sum())
    km = ground.km.get(year, 0.0)
    low, high = poisson_interval(found)
    return {
        "Year": year,
        "Turtles": float(animals["count"].sum()),
        "Dead": float(animals["count"][is_dead].sum()),
        "Dead on searches": found,
        "Km searched": km,
        "Dead per km searched": found / km if km > 0 else np.nan,
        "95 % from": low / km if km > 0 else np.nan,
        "to": high / km if km > 0 else np.nan,
    }


def _compared(rated: pd.DataFrame, year: int) -> str:
    now, before = rated[rated["Year"] == year].iloc[0], rated[rated["Year"] < year]
    ratio, low, high = rate_ratio(
        (float(now["Dead on searches"]), float(before["Dead on searches"].sum())),
        (float(now["Km searched"]), float(before["Km searched"].sum())),
    )
    years = f"{before['Year'].min()} to {before['Year'].max()}" if len(before) > 1 else str(before["Year"].iloc[0])
    if not np.isfinite(ratio):
        return f"No dead turtle was found on the searches of {years}, so no ratio to {year} can be told."
    verdict = "more than" if low > 1.0 else "fewer than" if high < 1.0 else "not clearly different from"
    return (
        f"For each kilometre searched, {year} had {ratio:.2f} times the dead turtles of {years} "
        f"{span(low, high)}: {verdict} before."
    )
