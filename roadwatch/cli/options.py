"""Options that several commands share, each defined once."""

from __future__ import annotations

import re
from datetime import date, datetime
from pathlib import Path

import click

from roadwatch.records.fields import RECORD_KINDS

season_argument = click.argument("season", type=click.Path(path_type=Path, dir_okay=False))
json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object instead of a table.")
output_option = click.option(
    "-o",
    "--output",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Write to FILE; its ending says how: .csv, .geojson, .gpkg or .html.",
)
seed_option = click.option(
    "--seed", type=click.IntRange(min=0), default=1, show_default=True, help="Makes every random result repeatable."
)
audience_option = click.option(
    "--for",
    "audience",
    type=click.Choice(["public", "team"]),
    default="public",
    show_default=True,
    help="Who will see it: public pages never show where a nest is.",
)


half_width_option = click.option(
    "--bandwidth",
    "half_width_m",
    type=click.FloatRange(10, 1500),
    default=300.0,
    show_default=True,
    help="Half-width, m.",
)
who_option = click.option(
    "--who", default="coordinator", show_default=True, help="Who decides, kept with what was decided."
)
record_kind_option = click.option(
    "--as", "kind", type=click.Choice(RECORD_KINDS), help="Kind of record, where several have this name."
)


class DayType(click.ParamType[date]):
    """A day written as YYYY-MM-DD."""

    name = "day"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> date:
        """Read the day, or say what is expected."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"'{value}' is not a day; write YYYY-MM-DD, such as 2025-07-15", param, ctx)


class YearsType(click.ParamType[tuple[int, int]]):
    """A year, or a range of years written as A-B."""

    name = "years"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> tuple[int, int]:
        """Read the years, or say what is expected."""
        if isinstance(value, tuple):
            return value
        match = re.fullmatch(r"(\d{4})(?:-(\d{4}))?", str(value).strip())
        first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
        if first > last:
            self.fail(f"'{value}' is not a range of years; write 2022-2025 or 2025", param, ctx)
        return first, last


class ViewType(click.Choice[str]):
    """From where an animal was seen, with hyphens or underscores."""

    def __init__(self) -> None:
        super().__init__(("in-hand", "from-above", "from-car", "carcass"))

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> str:
        """Read the view, or say what is expected."""
        return super().convert(str(value).replace("_", "-"), param, ctx)


DAY = DayType()
VIEW = ViewType()
YEARS = YearsType()


def today() -> date:
    """The day on the wall clock here; only the command line reads a clock."""
    return datetime.now().astimezone().date()


def now_text() -> str:
    """Give this moment as ISO 8601 text with its offset."""
    return datetime.now().astimezone().isoformat(timespec="seconds")
