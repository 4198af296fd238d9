"""How ranked hotspots are printed: what was found where, and how sure that is, each no wider than 100 columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from roadwatch.cli.output import cell, print_table, rows_of

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.season.mortality import SeasonHotspots
    from roadwatch.season.validating import SeasonChecks

WHERE = ["rank", "road", "from_m", "to_m", "deaths", "expected", "ratio", "ratio_low", "ratio_high", "p_value"]
SURE = ["rank", "status", "length_m", "basis", "years", "ranks", "support", "window", "hours", "hangs_on"]
VALIDATION = ["rule", "share_of_length", "events", "hit_rate", "hit_low", "hit_high", "pai", "pai_low", "pai_high"]
LONGEST_ROAD = 22
HANGS_ON = {
    "one_season": "one season",
    "leaves_without_observer": "one observer",
    "leaves_without_repeats": "possible repeats",
}
"""Columns that are true where a hotspot would be gone without something, and the words for it."""

OTHER_LISTS = {"watch_list": "Watch list", "unknown_effort": "Effort unknown"}
HEADINGS = {
    "Watch list": "Watch list (worth a look, not confirmed):",
    "Effort unknown": "Chance finds on their own (effort unknown, not confirmed):",
}


def lists_of(result: SeasonHotspots) -> dict[str, pd.DataFrame]:
    """The lists beside the ranked hotspots, by the name that a reader sees."""
    return {name: getattr(result, key) for key, name in OTHER_LISTS.items()}


def result_of(result: SeasonHotspots, checked: SeasonChecks | None) -> dict[str, object]:
    """Every table of a result as rows, and the version of the identification tables."""
    tables = {"hotspots": result.hotspots, **{key: getattr(result, key) for key in OTHER_LISTS}}
    tables["counts_by_taxon"] = result.counts_by_taxon
    if checked and checked.validation:
        tables |= {"validation": checked.validation.table, "validation_by_year": checked.validation.by_year}
    if checked:
        tables["clustering"] = clustering_table(checked)
    return {**{key: rows_of(table) for key, table in tables.items()}, "tables_version": result.tables_version}


def clustering_table(checked: SeasonChecks) -> pd.DataFrame:
    """Neighbours of a record within each radius, seen and as scattering gives them, and the p of all together."""
    import pandas as pd

    found = checked.clustering
    k = {"radius_m": found.radius_m, "k_m": found.k_m, "k_expected_m": found.k_expected_m}
    return pd.DataFrame(k).assign(p_value=found.p_value)


def print_lists(result: SeasonHotspots, checked: SeasonChecks | None) -> None:
    """Print the ranked hotspots, the lists beside them, and whether they would have predicted other years."""
    print_hotspots(result.hotspots)
    for name, table in lists_of(result).items():
        several = table[table["deaths"] > 1.0]  # one dead animal alone stands out wherever it lies
        if len(table):
            print_hotspots(several, heading=HEADINGS[name])
        if len(several) < len(table):
            n = len(table) - len(several)
            click.echo(f"and {n} {'place' if n == 1 else 'places'} with no more than one dead; --json tells them all.")
    if checked and checked.validation:
        click.echo("\nWould other years have told where each year's deaths lay? (PAI: 1 is chance)")
        print_table(checked.validation.table, VALIDATION)


def print_hotspots(table: pd.DataFrame, *, heading: str = "") -> None:
    """Print what was found where, and below it how sure that is."""
    if heading:
        click.echo(f"\n{heading}")
    roads = [name if len(name) <= LONGEST_ROAD else f"{name[: LONGEST_ROAD - 1]}…" for name in table["road"].map(str)]
    print_table(table.assign(road=roads), WHERE)
    if len(table):
        click.echo()
        print_table(how_sure(table), [name for name in SURE if name != "status" or not heading])


def how_sure(table: pd.DataFrame) -> pd.DataFrame:
    """The columns that tell how sure a hotspot is, several drawn together in words."""
    rows = table.to_dict("records")
    hangs_on = [", ".join(word for name, word in HANGS_ON.items() if row[name] is True) for row in rows]
    support = [f"{row['support']:.0%}" if row["support"] == row["support"] else "" for row in rows]
    shown = table.assign(
        years=[_of(row["years_present"], row["years_searched"]) for row in rows],
        ranks=[_between(row["rank_low"], row["rank_high"]) for row in rows],
        window=[_between(row["window_from"], row["window_to"]) for row in rows],
        hours=[_between(row["hour_from"], row["hour_to"]) for row in rows],
        hangs_on=hangs_on,
        support=support,
    )
    return shown.drop(columns=[name for name in ("support", "hours", "hangs_on") if not any(shown[name])])


def _of(part: object, whole: object) -> str:
    return f"{cell(part)} of {cell(whole)}" if cell(whole) else cell(part)


def _between(low: object, high: object) -> str:
    return f"{cell(low)} to {cell(high)}" if cell(low) else ""


def place_words(table: pd.DataFrame, name: str) -> list[str]:
    """Places of a second list as sentences, for files that hold the ranked hotspots only."""
    return [
        f"{name} {row['rank']}: {row['road']}, {row['from_m']:.0f} to {row['to_m']:.0f} m, "
        f"{cell(row['deaths'])} deaths where {cell(row['expected'])} are expected; not confirmed."
        for row in table.to_dict("records")
    ]
