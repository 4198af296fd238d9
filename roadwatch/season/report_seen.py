"""Report: what was seen and by how much search, of which taxa, and when."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.season.report_words import counted, day_words, figure, listed, poisson_interval, span, week_starts
from roadwatch.season.taxon_counts import counts_by_taxon
from roadwatch.share.grid import LEAST_RECORDS
from roadwatch.share.report_parts import Figure, Section, Table
from roadwatch.siting.sign_times import day_numbers, living_hours, times_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from roadwatch.season.report_ground import Ground

CONDITIONS = ("dead", "alive", "injured", "unknown")
MOST_BARS = 10
"""Taxa drawn; the table has all."""

OPEN_WORDS = "whose places are public (masked records are in no number of this report on roads)"

UNKNOWN_EFFORT = (
    "No search is on file: where people looked is unknown. The numbers are counts, not rates, and a road without a "
    "record may be a road where nobody looked."
)


def seen_section(ground: Ground) -> Section:
    """What was recorded in the year, and by how much search."""
    animals, year = ground.of_year(), ground.year
    by = {word: float(animals["count"][_condition(animals) == word].sum()) for word in CONDITIONS}
    total, n_records = sum(by.values()), ground.n_records.get(year, 0)
    parts = [f"{figure(n)} {'of unknown condition' if word == 'unknown' else word}" for word, n in by.items() if n]
    whose = f" {OPEN_WORDS}" if ground.is_open else ""
    sentences = [f"In {year} no turtle was recorded on or beside a road{whose}."]
    if total:
        sentences = [
            f"In {year} people recorded {counted(total, 'turtle')} on or beside roads{whose}: {listed(parts)}.",
            _records_words(n_records, len(animals)),
        ]
    sentences += _search_words(ground, animals)
    rows = pd.DataFrame({"Condition": list(by), "Turtles": list(by.values())})
    return Section(
        "seen",
        "What was seen, and by how much search",
        tuple(sentences),
        (),
        (Table("seen", "Turtles recorded, by condition", rows),),
    )


def _condition(animals: pd.DataFrame) -> pd.Series:
    return animals["condition"].fillna("unknown")


def _records_words(n_records: int, n_animals: int) -> str:
    merged = n_records - n_animals
    verb = "is" if merged == 1 else "are"
    words = f"They stand in {counted(n_records, 'record')}"
    if merged > 0:
        return f"{words}; {counted(merged, 'record')} of an animal that another tells of {verb} counted once with it."
    return f"{words}, none of them taken for a second record of the same animal."


def _search_words(ground: Ground, animals: pd.DataFrame) -> list[str]:
    if ground.searches.empty:
        return [UNKNOWN_EFFORT]
    own, km = ground.searches[ground.searches["year"] == ground.year], ground.km.get(ground.year, 0.0)
    if own.empty or not km > 0.0:
        return [f"No search of {ground.year} covers a road of the layer: the numbers are counts, not rates."]
    people = own["observer"].dropna().nunique()
    told = f"{counted(people, 'observer')} walked, cycled or drove" if people else "Observers covered"
    days = own["started_at"].str[:10].nunique()
    looked = (
        f"{told} {figure(round(km))} km of road in {counted(len(own), 'search', 'searches')} on {counted(days, 'day')}."
    )
    dead = float(animals["count"][(_condition(animals) == "dead") & animals["search_id"].isin(own["search_id"])].sum())
    low, high = (bound / km for bound in poisson_interval(dead))
    rate = (
        f"They found {counted(dead, 'dead turtle')}, {figure(dead / km)} for each kilometre searched {span(low, high)}."
        " Carcasses that were gone or overlooked are not in this number."
    )
    return [looked, rate]


def taxa_section(ground: Ground) -> Section:
    """Which turtles they were, as sure as the names are."""
    key, title = "taxa", "Which turtles they were"
    is_own = (ground.animals["year"] == ground.year).to_numpy()
    if not is_own.any():
        return Section(key, title, lacking=f"No turtle of {ground.year} is on record.")
    if ground.sure is None:
        written = ground.of_year().groupby("taxon")["count"].sum().sort_values(ascending=False)
        rows = pd.DataFrame({"Name as written": written.index, "Turtles": written.to_numpy()})
        lacking = "The season names no region with tables of its turtles, so names are told as written, unweighed."
        return Section(key, title, (lacking,), (), (Table("taxa", "Names as written", rows),))
    weights = np.where(is_own, ground.animals["count"].to_numpy(dtype=float), 0.0)
    counts = counts_by_taxon(ground.sure, weights)
    counts = counts[counts["expected"] >= 0.05].reset_index(drop=True)
    counts, kept_back = _without_few(counts, ground)
    if counts.empty:
        return Section(key, title, kept_back, lacking="No name can be told.")
    english = {name: taxon.english for name, taxon in ground.sure.tables.tree.taxonomy.taxa.items()}
    names = [english.get(name) or name for name in counts["taxon"]]
    told = counts[["expected", "low", "high"]].to_numpy(dtype=float).round(1)
    first = [
        f"{name} {figure(middle)} {span(low, high)}" for name, (middle, low, high) in zip(names[:3], told, strict=False)
    ]
    sentences = (
        "Each animal counts by the probability of each name, from the marks seen or from how sure the observer was.",
        f"Most to expect: {listed(first)}. The interval holds names and chance together.",
        _sureness_words(ground.sure.p.max(axis=1)[is_own]),
        *kept_back,
    )
    shown = counts.head(MOST_BARS)
    bars = pd.DataFrame(
        {"label": names[: len(shown)], "value": shown["expected"], "low": shown["low"], "high": shown["high"]}
    )
    drawn = Figure(
        "taxa_expected",
        "Turtles to expect of each taxon",
        "Bars are means, lines 95 % intervals.",
        "bars",
        bars,
        "turtles",
    )
    rows = pd.DataFrame(
        {
            "Taxon": names,
            "Scientific name": counts["taxon"],
            "Turtles to expect": counts["expected"].round(1),
            "95 % from": counts["low"].round(1),
            "to": counts["high"].round(1),
        }
    )
    return Section(key, title, sentences, (drawn,), (Table("taxa", "All taxa", rows),), notes=tuple(ground.sure.notes))


def _without_few(counts: pd.DataFrame, ground: Ground) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """For the public sensitive taxa of fewer than three animals go, and are told of together where they are several."""
    if not ground.is_open or ground.sure is None:
        return counts, ()
    taxa = ground.sure.tables.tree.taxonomy.taxa
    is_touchy = np.array([name in taxa and taxa[name].sensitive for name in counts["taxon"]], dtype=bool)
    few = is_touchy & (counts["expected"] < LEAST_RECORDS).to_numpy()
    n = int(few.sum())
    if not n:
        return counts, ()
    together = f", together {figure(round(float(counts['expected'][few].sum()), 1))}" if n > 1 else ""
    verb = "is" if n == 1 else "are"
    words = f"{counted(n, 'sensitive taxon', 'sensitive taxa')} of fewer than {LEAST_RECORDS} turtles {verb} not named"
    return counts[~few].reset_index(drop=True), (f"{words}{together}.",)


def _sureness_words(sure: NDArray[np.float64]) -> str:
    return (
        f"Sightings with a name that is sure to 95 % or more: {int((sure >= 0.95).sum())} of {len(sure)}; with none "
        f"that is at least as likely as not: {int((sure < 0.5).sum())}."
    )


def when_section(ground: Ground, *, rng: np.random.Generator) -> Section:
    """When in the season and in the day."""
    key, title = "when", "When in the season, and in the day"
    animals = ground.animals
    if animals.empty:
        return Section(key, title, lacking="No turtle is on record.")
    told, sentences = times_of(animals, animals, rng=rng), []
    if told["on_from"]:
        days = {name: day_words(str(told[name])) for name in told if name.startswith("on_") and told[name]}
        sentences.append(
            f"Eight in ten records fall between {days['on_from']} and {days['on_to']}, all years together (the first "
            f"day may lie between {days['on_from_low']} and {days['on_from_high']}, the last between "
            f"{days['on_to_low']} and {days['on_to_high']}, 90 %; "
            f"{counted(int(str(told['days_crossings'])), 'record')}, old carcasses left out)."
        )
    else:
        sentences.append("Too few records have a day for a window of the season.")
    if told["hours_from"]:
        sentences.append(
            f"Eight in ten living turtles were seen between {told['hours_from']} and {told['hours_to']}, local time "
            f"({counted(int(str(told['hours_crossings'])), 'record')}). That is also when people look: it says little "
            "about hours in which nobody was out."
        )
    else:
        sentences.append("Too few living turtles have a time of day for a window of hours.")
    return Section(key, title, tuple(sentences), tuple(_profiles(animals)))


def _profiles(animals: pd.DataFrame) -> list[Figure]:
    days, drawn = day_numbers(animals) + 1.0, []
    if len(days):
        starts = week_starts()
        week, _ = np.histogram(days, bins=[*(first for first, _ in starts), 374])
        table = pd.DataFrame(
            {"day_of_year": [first for first, _ in starts], "week_from": [day for _, day in starts], "records": week}
        )
        used = np.flatnonzero(week)
        table = table.iloc[used[0] : used[-1] + 1].reset_index(drop=True)
        drawn.append(
            Figure(
                "season_weeks",
                "Records by week",
                "All years together; old carcasses left out.",
                "weeks",
                table,
                "records a week",
            )
        )
    hours = living_hours(animals)
    if len(hours):
        count, _ = np.histogram(hours, bins=np.arange(25))
        table = pd.DataFrame({"hour": np.arange(24), "records": count})
        table = table[table["records"] > 0].reset_index(drop=True)
        drawn.append(
            Figure(
                "day_hours",
                "Living turtles by hour",
                "Midnight on top, clockwise; local time.",
                "hours",
                table,
                "records an hour",
            )
        )
    return drawn
