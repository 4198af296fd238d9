"""
A logger beside a station: how the nest follows the air, by regression of its daily means on the station's.

T_nest = a + b * T_air, the air as a running mean of one to three days, whichever fits best. The residuals hang
together from day to day, so that the errors count independent days, not days.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.hatch.nest_heat import NestOffset, nest_offset, running_mean
from roadwatch.hatch.values import hatch_value

if TYPE_CHECKING:
    from datetime import date

    from roadwatch.hatch.arrays import Floats
    from roadwatch.hatch.temperatures import Weather

LONGEST_MEAN_DAYS = 3
"""Running means of the air of one day up to this many are tried (convention)."""

FAR_OUT = 6.0
"""A day this many robust standard deviations off the line is flagged, and kept (convention)."""

LOOSEST_TIE = 0.3
"""A logger whose days follow the air with a lower correlation did perhaps not lie in the ground (convention)."""


LEAST_CHANGE_C = 0.1
"""Daily means that scatter by less tell nothing of how one follows the other (convention)."""


@dataclass(frozen=True)
class Calibration:
    """
    A fitted line, degrees C.

    ``n_days`` days stood beside the station, worth ``n_independent``; ``residual_sd_c`` scatters around the line;
    ``air_mean_c`` and ``air_sd_c`` tell where it was fitted; ``n_far_out`` days lie far off it.
    """

    logger: str
    n_days: int
    n_independent: float
    intercept_c: float
    slope: float
    smooth_days: int
    residual_sd_c: float
    air_mean_c: float
    air_sd_c: float
    correlation: float
    range_ratio: float
    n_far_out: int

    def mean_error_c(self, air_c: float) -> float:
        """Error of the nest's mean over days to come whose air has the mean ``air_c``, degrees C."""
        reach = ((air_c - self.air_mean_c) / self.air_sd_c) ** 2 if self.air_sd_c > 0 else 0.0
        return float(self.residual_sd_c * np.sqrt((2.0 + reach) / self.n_independent))


def calibrate(logger: Weather, station: Weather, *, as_of: date) -> Calibration | str:
    """
    Fit a logger's daily means to the station's.

    Parameters
    ----------
    logger, station
        Daily temperatures, degrees C.
    as_of
        Later days are not used.

    Returns
    -------
    The line, or a sentence that says why there is none: fewer days together than the table's ``calibration_days``,
    temperatures that did not vary, or a logger that does not follow it.
    """
    n_days = max(min((as_of - logger.first_day).days + 1, len(logger.low_c)), 0)
    nest_mid = logger_means(logger)[:n_days]
    middle = (station.low_c + station.high_c) / 2
    means = [_beside(running_mean(middle, days=days + 1), logger, station, n_days) for days in range(LONGEST_MEAN_DAYS)]
    both = ~np.isnan(nest_mid + means[0])
    n_both, fewest = int(both.sum()), int(hatch_value("calibration_days"))
    if n_both < fewest:
        return f"logger {logger.source} has {n_both} days beside the station, {fewest} are needed to calibrate it"
    fits = [_line(x[both], nest_mid[both]) for x in means]
    best = int(np.argmin([np.var(residual) for _, _, residual in fits]))
    slope, intercept, residual = fits[best]
    x = means[best][both]
    if min(x.std(), nest_mid[both].std()) < LEAST_CHANGE_C:
        return f"logger {logger.source} or the station hardly changed over {n_both} days: nothing to calibrate by"
    correlation = float(np.corrcoef(x, nest_mid[both])[0, 1])
    if correlation < LOOSEST_TIE:
        return (
            f"logger {logger.source} does not follow the air (correlation {correlation:.2f} over {n_both} days): "
            "was it in the ground, and is its clock right?"
        )
    return Calibration(
        logger.source,
        n_both,
        n_both * _independence(residual),
        intercept,
        slope,
        best + 1,
        float(np.sqrt((residual**2).sum() / (n_both - 2))),
        float(x.mean()),
        float(x.std()),
        correlation,
        _range_ratio(logger, station, n_days),
        _far_out(residual),
    )


def _far_out(residual: Floats) -> int:
    away = np.abs(residual - np.median(residual))
    return int((away > FAR_OUT * max(1.4826 * float(np.median(away)), 1e-9)).sum())


def _range_ratio(logger: Weather, station: Weather, n_days: int) -> float:
    """Middle ratio of the nest's daily range to the air's."""
    air = _beside(station.high_c - station.low_c, logger, station, n_days)
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = (logger.high_c - logger.low_c)[:n_days] / air
    return float(np.median(ratio[np.isfinite(ratio)]))


def offset_by(line: Calibration, *, air_ahead_c: float, exposure: str | None, own: bool) -> NestOffset:
    """
    Say how a nest follows the air, by a logger of its own or of its site.

    Parameters
    ----------
    line
        As ``calibrate`` returns it.
    air_ahead_c
        Mean of the air over the days to come, degrees C.
    exposure
        The nest's; it matters where the logger lay in another nest.
    own
        True where the logger lay in this nest. Another nest of the site keeps the whole scatter between nests, as
        nobody has measured how alike the nests of one site are.

    Returns
    -------
    Middle, slope and standard deviation, degrees C.
    """
    error = np.hypot(line.mean_error_c(air_ahead_c), hatch_value("logger_sd_c"))
    scatter = 0.0 if own else nest_offset(exposure).sd_c
    sd_c = float(np.hypot(error, scatter))
    return NestOffset(
        f"logger {line.logger}",
        mean_c=line.intercept_c,
        sd_c=sd_c,
        stated=True,
        slope=line.slope,
        smooth_days=line.smooth_days,
        range_ratio=line.range_ratio,
    )


def logger_means(logger: Weather) -> Floats:
    """(days,) daily means, degrees C: of the readings where there are any, else the middle of low and high."""
    middle: Floats = (logger.low_c + logger.high_c) / 2
    return middle if logger.mean_c is None else np.where(np.isnan(logger.mean_c), middle, logger.mean_c)


def _beside(values: Floats, logger: Weather, station: Weather, n_days: int) -> Floats:
    """The station's values on the logger's days; nan where it has none."""
    place = np.arange(n_days) + (logger.first_day - station.first_day).days
    inside = (place >= 0) & (place < len(values))
    return np.where(inside, values[np.clip(place, 0, len(values) - 1)], np.nan)


def _line(x: Floats, y: Floats) -> tuple[float, float, Floats]:
    """Slope, intercept and residuals of least squares; air that never changes gives the plain offset."""
    across = x - x.mean()
    varies = float(across @ across)
    slope = float(across @ y) / varies if varies > 0 else 1.0
    intercept = float(y.mean() - slope * x.mean())
    residual: Floats = y - intercept - slope * x
    return slope, intercept, residual


def _independence(residual: Floats) -> float:
    """The share of independent days among residuals that hang together: (1 - r) / (1 + r), r from day to day."""
    spread = float(residual @ residual)
    if spread == 0:
        return 1.0
    r = float(np.clip(residual[1:] @ residual[:-1] / spread, 0.0, 0.95))
    return (1.0 - r) / (1.0 + r)
