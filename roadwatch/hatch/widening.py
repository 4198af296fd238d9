"""
How far the weather's part of a window is stretched: as far as this station's own past summers would have needed.

Past summers are forecast from earlier ones alone, as in a hindcast; the factor is learned at each lead from the summers
before the season, is never below 1, and touches no other part of a window. Past years promise more than they hold where
climate or station drifts; this gives back what was lacking.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.errors import NotEnoughDataError
from roadwatch.hatch.hindcast import FEWEST_WINDOWS, LEADS_D, FixedNest, WeatherCases, weather_cases
from roadwatch.hatch.nest_heat import default_soil, nest_offset
from roadwatch.hatch.scores import central_interval, needed_factor, stretch

if TYPE_CHECKING:
    from roadwatch.hatch.arrays import Floats, Ints
    from roadwatch.hatch.development import HatchTables, ParameterSet
    from roadwatch.hatch.temperatures import Weather

MONTH_D = 30.5
"""Nests laid in one month of this length share what is learned."""


@dataclass(frozen=True)
class Widening:
    """
    What the summers before a season taught: a factor for each of ``LEADS_D``, never below 1.

    ``n_years`` summers, ``first_year`` to ``last_year``, were forecast, each from at least nine earlier ones.
    """

    factors: tuple[float, ...]
    n_years: int
    first_year: int
    last_year: int

    def at(self, lead_d: Floats) -> Floats:
        """Factor at any lead, days: between two learned leads in proportion, outside them as at the nearest."""
        order = np.argsort(LEADS_D)
        factor: Floats = np.interp(lead_d, np.array(LEADS_D, float)[order], np.array(self.factors)[order])
        return factor


def learn_widening(cases: WeatherCases, *, before: int, coverage: float) -> Widening | None:
    """
    Learn from past forecasts how far the weather's part must be stretched.

    Parameters
    ----------
    cases
        As ``weather_cases`` returns them; later years than asked for do no harm.
    before
        Only summers before this year are used.
    coverage
        Share that the weather's part should hold.

    Returns
    -------
    None with fewer than six such summers, as 15 complete years give them. At each lead the factor is the
    ``(k + 1) coverage``-th smallest of what the k windows would have needed.

    Source
    ------
    vovk2005
    """
    past = cases.year < before
    years = np.unique(cases.year[past])
    if len(years) < FEWEST_WINDOWS:
        return None
    factors = []
    for lead in LEADS_D:
        here = past & (cases.lead_d == lead)
        ensemble = cases.ensemble[here]
        middle, _ = central_interval(ensemble, coverage=0.0)
        needed = needed_factor(middle, *central_interval(ensemble, coverage=coverage), cases.truth[here])
        factors.append(stretch(needed, coverage=coverage))
    return Widening(tuple(factors), len(years), int(years[0]), int(years[-1]))


def widened_draws(
    days: Floats, *, member: Ints, by_member: Floats, factor: Floats, not_before: float, n_days: int
) -> Floats:
    """
    Move each draw away from the middle by what its past year lies from the middle year, times the factor less 1.

    Parameters
    ----------
    days
        (n, draws) Hatching days; +inf is 'not by 31 December'.
    member
        (draws,) Past year of each draw, counted from 0.
    by_member
        (n, members) Hatching day in each past year, all else at its middle.
    factor
        (n,) 1 or more.
    not_before
        What hatched before this moment hatched in known weather and stays; nothing is moved to before it.
    n_days
        Days of the year; what is moved beyond them does not hatch in it.

    Returns
    -------
    (n, draws) in rising order, not that of ``days``: each place of the order lies as far from the middle as before or
    further, so that no window is narrowed, and the middle stays.
    """
    by_year = np.minimum(by_member, n_days)
    away = by_year - np.median(by_year, axis=1)[:, None]
    moved = np.maximum(days + (factor - 1)[:, None] * away[:, member], not_before)
    moved = np.where(days > not_before, moved, days)
    moved = np.sort(np.where(moved > n_days, np.inf, moved), axis=1)
    plain = np.sort(days, axis=1)
    middle = plain.shape[1] // 2
    wide = plain.copy()
    wide[:, :middle] = np.minimum(plain, moved)[:, :middle]
    wide[:, middle + 1 :] = np.maximum(plain, moved)[:, middle + 1 :]
    return wide


@dataclass(frozen=True)
class Widenings:
    """
    What a station taught, learned once for each parameter set, degree of nest warmth and month of laying.

    ``as_of_year`` hides later summers.
    """

    station: Weather
    tables: HatchTables
    coverage: float
    as_of_year: int
    cases: dict[tuple[object, ...], WeatherCases | None] = field(default_factory=dict)
    learned: dict[tuple[object, ...], Widening | None] = field(default_factory=dict)

    def of(self, parameters: ParameterSet, *, offset_c: float, lay_day: float, year: int) -> Widening | None:
        """
        What holds for a nest.

        Parameters
        ----------
        parameters
            Of the nest's taxon.
        offset_c
            Nest above air, degrees C; rounded to a whole degree.
        lay_day
            Days from 1 January; the middle of its month stands for it.
        year
            The season; only earlier summers teach.

        Returns
        -------
        None where fewer than 15 past years are complete.
        """
        kind = (parameters.taxon, parameters.region, round(offset_c), int(lay_day // MONTH_D))
        key = (*kind, min(year, self.as_of_year))
        if key not in self.learned:
            if kind not in self.cases:
                self.cases[kind] = self._past(parameters, offset_c=kind[2], lay_day=(kind[3] + 0.5) * MONTH_D)
            cases = self.cases[kind]
            self.learned[key] = None if cases is None else learn_widening(cases, before=key[-1], coverage=self.coverage)
        return self.learned[key]

    def _past(self, parameters: ParameterSet, *, offset_c: float, lay_day: float) -> WeatherCases | None:
        offset = replace(nest_offset("partial"), mean_c=float(offset_c))
        nest = FixedNest(parameters, offset, default_soil().blank_depth_cm, float(int(lay_day)))
        try:
            return weather_cases(self.station, [nest], tables=self.tables)
        except NotEnoughDataError:
            return None
