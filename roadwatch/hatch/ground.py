"""What a call for windows rests on, and one nest on its way to its window."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.calibration import Calibration, calibrate
from roadwatch.hatch.development import (
    HatchTables,
    ParameterSet,
    Region,
    find_region,
    hatch_tables,
    parameters_for,
)
from roadwatch.hatch.ensemble import Future, SeasonWeather, future, season_weather
from roadwatch.hatch.laying import Laying, laying_of
from roadwatch.hatch.visits import Visited, last_outcomes

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    import pandas as pd

    from roadwatch.hatch.arrays import Bools
    from roadwatch.hatch.projection import Setting
    from roadwatch.hatch.temperatures import Weather


@dataclass(frozen=True)
class Ground:
    """
    What the whole call rests on: tables, region, station, loggers, the day, and visits by nest.

    ``found_by_then`` leaves nests found after the day without a window.
    """

    tables: HatchTables
    region: Region
    station: Weather
    seasons: Mapping[int, SeasonWeather]
    loggers: Mapping[str, Weather]
    as_of: date
    visits: Mapping[str, Visited]
    found_by_then: bool = False
    lines: dict[str, Calibration | str] = field(default_factory=dict)
    futures: dict[tuple[int, int], Future] = field(default_factory=dict)
    known: dict[str | None, ParameterSet | str] = field(default_factory=dict)

    def future_of(self, year: int, *, from_day: int, covered: Bools | None) -> Future:
        """What past years stand for, from a day of laying on; found once for nests without readings of their own."""
        if covered is not None:
            return future(self.seasons[year], from_day=from_day, covered=covered)
        if (year, from_day) not in self.futures:
            self.futures[year, from_day] = future(self.seasons[year], from_day=from_day)
        return self.futures[year, from_day]

    def parameters_of(self, taxon: str | None) -> ParameterSet | str:
        """What is known of a taxon's eggs here, or why nothing is; sought once."""
        if taxon not in self.known:
            region = self.region.development_region
            self.known[taxon] = parameters_for(taxon, development_region=region, tables=self.tables)
        return self.known[taxon]

    def coming_spring(self, laying: Laying | None) -> str:
        """The spring in which hatchlings that wait come up, in words; empty where it is over by the day asked for."""
        if laying is None:
            return "spring"
        year = laying.last.year + 1
        is_over = self.as_of.isoformat() > f"{year}-{self.region.spring_to}"
        return "" if is_over else f"spring {year}"

    def line_of(self, logger: str) -> Calibration | str:
        """A logger's calibration beside the station, or why there is none; fitted once."""
        if logger not in self.lines:
            self.lines[logger] = calibrate(self.loggers[logger], self.station, as_of=self.as_of)
        return self.lines[logger]


def ground_for(
    rows: Sequence[Mapping[str, object]],
    weather: Weather,
    *,
    region: str | None,
    as_of: date,
    checks: pd.DataFrame | None = None,
    loggers: Mapping[str, Weather] | None = None,
    forecast: Weather | None = None,
    found_by_then: bool = False,
    tables: HatchTables | None = None,
) -> Ground:
    """
    Gather what a call rests on.

    Parameters
    ----------
    rows
        Nests; their years of laying are laid out.
    weather, region, as_of, checks, loggers, forecast, found_by_then, tables
        As for ``project_windows``.

    Raises
    ------
    NotEnoughDataError
        The region is None, or has no parameters in the tables.
    """
    known = tables or hatch_tables()
    names = ("laid_on", "laid_from", "laid_to", "found_at")
    layings = [laying_of(**{name: row.get(name) for name in names}) for row in rows]
    years = sorted({laying.last.year for laying in layings if not isinstance(laying, str)})
    return Ground(
        tables=known,
        region=find_region(region, tables=known),
        station=weather,
        seasons={year: season_weather(weather, year=year, as_of=as_of, forecast=forecast) for year in years},
        loggers=loggers or {},
        as_of=as_of,
        visits=last_outcomes(checks, as_of=as_of),
        found_by_then=found_by_then,
    )


@dataclass
class Plan:
    """
    One nest on its way to a window: filled in step by step, then read by the table.

    ``reason`` says why nothing is projected; ``setting`` is there when weather decides, and ``key`` names those that
    share it; ``logger`` is the nest's own, where its readings are used; ``line`` the calibration that carries the
    station to the nest; ``may_be`` the taxa of a nest whose name is in doubt.
    """

    nest_id: str
    taxon: str | None
    laying: Laying | None = None
    parameters: ParameterSet | None = None
    reason: str | None = None
    setting: Setting | None = None
    key: tuple[object, ...] = ()
    logger: str | None = None
    line: Calibration | None = None
    may_be: tuple[str, ...] = ()
    remarks: list[str] = field(default_factory=list)
    doubts: list[str] = field(default_factory=list)

    @property
    def basis(self) -> str:
        """Where the temperatures come from, in the word of the table."""
        if self.logger:
            return "own_logger"
        return "calibrated_site" if self.line else "station_offset"

    def doubt(self, words: str) -> None:
        """Note something that lowers the sureness by a level."""
        self.doubts.append(words)
        self.remarks.append(words)


def text_in(value: object) -> str | None:
    """A cell as text; a blank of any kind is None."""
    return value.strip() or None if isinstance(value, str) else None


def number_in(value: object) -> float | None:
    """A cell as a number; a blank of any kind, or a word, is None."""
    if value is None or isinstance(value, bool) or not isinstance(value, int | float | np.number):
        return None
    return None if np.isnan(float(value)) else float(value)
