"""What a reader of the map can choose from: years, taxa as they are shown, sureness, condition, days of the season."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from roadwatch.records.fields import CONFIDENCE_WORDS
from roadwatch.records.taxonomy import taxonomy_of
from roadwatch.render.words import shown_value
from roadwatch.share.windows import MONTHS

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from roadwatch.records.taxonomy import Taxonomy
    from roadwatch.render.content import MapContent

LEAP_YEAR = 2024
"""Days of the year are counted and named in a leap year, so that 29 February has its own."""

_DAY = re.compile(r"(\d{4})-(\d{2})-(\d{2})")
_NEST_DAYS = ("found_at", "laid_from", "window_early", "window_late")


@dataclass(frozen=True)
class TaxonChoice:
    """A taxon to choose: its name, how deep it stands below the first, and the names shown that it includes."""

    name: str
    depth: int
    within: tuple[str, ...]


@dataclass(frozen=True)
class Choices:
    """The choices of one page; ``first_day`` and ``last_day`` are days of a leap year, 1 to 366."""

    years: tuple[str, ...]
    taxa: tuple[TaxonChoice, ...]
    sureness: tuple[tuple[int, str], ...]
    first_day: int
    last_day: int


def choices_of(content: MapContent) -> Choices:
    """
    Gather what can be chosen from what the page shows, and from nothing else.

    Parameters
    ----------
    content
        What the page shows.

    Returns
    -------
    Years and taxa of its records and of its answers, sureness in percent with its word, and the season's days.
    """
    crossings, nests = content.places.crossings, content.places.nests
    found = [day for name in ("observed_at", "day") for day in _different(crossings, name)]
    years = {day[:4] for day in [*found, *_different(nests, "found_at")] if _DAY.match(day)}
    years |= {answer.year for answer in content.answers if answer.year}
    shown = {*_different(crossings, "taxon"), *_different(nests, "taxon")}
    asked = {answer.taxon for answer in content.answers if answer.taxon}
    days = [*found, *(day for name in _NEST_DAYS for day in _different(nests, name))]
    numbers = [number for number in map(day_of_year, days) if number]
    return Choices(
        years=tuple(sorted(years)),
        taxa=taxon_choices(shown, asked, content.taxonomy or taxonomy_of()),
        sureness=tuple((round(100 * share), word) for word, share in sorted(CONFIDENCE_WORDS.items(), key=_share)),
        first_day=min(numbers, default=1),
        last_day=max(numbers, default=366),
    )


def taxon_choices(shown: Iterable[str], asked: Iterable[str], taxonomy: Taxonomy) -> tuple[TaxonChoice, ...]:
    """
    Taxa in the order of the tree; one that is not in the tree stands by itself at the end.

    Parameters
    ----------
    shown
        Names that records carry.
    asked
        Names that must be there because hotspots were computed for them.
    taxonomy
        The tree that says what stands under what.

    Returns
    -------
    One choice a name shown or asked for, and for each group that holds at least two of the names.
    """
    names = {*shown, *asked}
    lines = {name: taxonomy.lineage(name) or (name,) for name in names}
    groups = {step for line in lines.values() for step in line[1:]} - {taxonomy.root}
    held = {group: sum(group in line for line in lines.values()) for group in groups}
    offered = names | {group for group in groups if held[group] >= 2}  # two make a group
    paths = {name: tuple(reversed(taxonomy.lineage(name) or (name,))) for name in offered}
    order = sorted(offered, key=lambda name: (not taxonomy.lineage(name), paths[name]))
    return tuple(
        TaxonChoice(
            name=name,
            depth=sum(step in offered for step in paths[name][:-1]),
            within=tuple(sorted(other for other in names if name in lines[other])),
        )
        for name in order
    )


def day_of_year(day: str) -> int:
    """
    Number of a day as it would be in a leap year, or 0 where the text does not begin with a date.

    >>> day_of_year("2025-03-01"), day_of_year("2023-12-31"), day_of_year("in May")
    (61, 366, 0)
    """
    found = _DAY.match(day)
    try:
        return date(LEAP_YEAR, int(found[2]), int(found[3])).timetuple().tm_yday if found else 0
    except ValueError:
        return 0


def day_words(number: int) -> str:
    """
    Name of a day of a leap year.

    >>> day_words(1), day_words(60), day_words(366)
    ('1 January', '29 February', '31 December')
    """
    day = date.fromordinal(date(LEAP_YEAR, 1, 1).toordinal() + number - 1)
    return f"{day.day} {MONTHS[day.month - 1]}"


def sureness_percent(text: str) -> int:
    """
    Sureness as it is shown, in percent; -1 where it is not known.

    >>> sureness_percent("80 %"), sureness_percent("certain"), sureness_percent("")
    (80, 95, -1)
    """
    if text in CONFIDENCE_WORDS:
        return round(100 * CONFIDENCE_WORDS[text])
    written = text.removesuffix(" %")
    return int(written) if written.isdecimal() else -1


def _different(table: pd.DataFrame, column: str) -> list[str]:
    if column not in table.columns:
        return []
    return [text for text in shown_value(table[[column]].drop_duplicates(), column) if text]


def _share(item: tuple[str, float]) -> float:
    return item[1]
