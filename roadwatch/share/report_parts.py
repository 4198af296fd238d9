"""What a county report is made of: sections of sentences, figures and tables, before anything is drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import pandas as pd

    from roadwatch.share.masking import Audience

FigureKind = Literal["weeks", "hours", "road", "averted", "bars", "rates"]
"""``weeks``: ``day_of_year records``; ``hours``: ``hour records``; ``road``: ``road_m density expected band_low
band_high``; ``averted``: ``length_m averted_per_year low high``; ``bars`` and ``rates``: ``label value low high``."""


@dataclass(frozen=True)
class Figure:
    """
    One figure, as the numbers it shows.

    Parameters
    ----------
    key
        Name of its file of numbers, without ending.
    title, caption
        Heading, and how to read it.
    kind
        How it is drawn, and so which columns ``table`` has; see :data:`FigureKind`.
    table
        The numbers.
    quantity
        What is measured, with its unit.
    mark
        Two values between which the axis is marked, in the unit of the first column.
    """

    key: str
    title: str
    caption: str
    kind: FigureKind
    table: pd.DataFrame
    quantity: str
    mark: tuple[float, float] | None = None


@dataclass(frozen=True)
class Table:
    """A table of a report: name of its file, heading, and rows whose columns are named as readers see them."""

    key: str
    title: str
    rows: pd.DataFrame


@dataclass(frozen=True)
class Section:
    """
    One question of the report, answered.

    Parameters
    ----------
    key, title
        Anchor on the page, and heading.
    sentences
        The answer in words, each number with its interval or limit.
    figures, tables
        What the sentences rest on.
    lacking
        What is missing, where there is no answer.
    notes
        On the method, for the last section.
    """

    key: str
    title: str
    sentences: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    tables: tuple[Table, ...] = ()
    lacking: str = ""
    notes: tuple[str, ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class CountyReport:
    """
    A season for a county board.

    Parameters
    ----------
    audience
        ``public`` or ``team``.
    year, first_year
        The year reported on, and the first of those it rests on.
    sections
        In the order in which they are read.
    statements
        What was masked, in words; empty for the team.
    """

    audience: Audience
    year: int
    first_year: int
    sections: tuple[Section, ...]
    statements: tuple[str, ...]

    def tables(self) -> dict[str, pd.DataFrame]:
        """Every figure's and table's numbers by the name of their file."""
        figures = {one.key: one.table for section in self.sections for one in section.figures}
        return figures | {one.key: one.rows for section in self.sections for one in section.tables}
