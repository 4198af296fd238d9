"""Each figure of a report as a picture, by its kind."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from roadwatch.render.charts import (
    averted_curve,
    hour_profile,
    interval_bars,
    interval_points,
    road_profile,
    season_profile,
)

if TYPE_CHECKING:
    from markupsafe import Markup

    from roadwatch.roads.arrays import FloatArray
    from roadwatch.share.report_parts import Figure


def picture_of(figure: Figure) -> Markup:
    """
    Draw a figure of a report.

    Parameters
    ----------
    figure
        What to draw; its kind decides how.

    Returns
    -------
    A self-contained ``img`` whose text tells the numbers.
    """
    return _DRAWN[figure.kind](figure)


def _numbers(figure: Figure, *names: str) -> list[FloatArray]:
    return [figure.table[name].to_numpy(dtype=np.float64) for name in names]


def _weeks(figure: Figure) -> Markup:
    day, records = _numbers(figure, "day_of_year", "records")
    return season_profile(day, records)


def _hours(figure: Figure) -> Markup:
    hour, records = _numbers(figure, "hour", "records")
    return hour_profile(hour, records)


def _road(figure: Figure) -> Markup:
    road_m, density, low, high = _numbers(figure, "road_m", "density", "band_low", "band_high")
    band = "95 % of scatterings, at each place"
    return road_profile(
        road_m, density, low, high, marked_m=figure.mark, quantity=figure.quantity, band=band, marked="the hotspot"
    )


def _averted(figure: Figure) -> Markup:
    length_m, averted, low, high = _numbers(figure, "length_m", "averted_per_year", "low", "high")
    return averted_curve(length_m, averted, low, high, asked_m=figure.mark[0] if figure.mark else None)


def _bars(figure: Figure) -> Markup:
    return interval_bars(
        [str(name) for name in figure.table["label"]],
        *_numbers(figure, "value", "low", "high"),
        quantity=figure.quantity,
    )


def _rates(figure: Figure) -> Markup:
    return interval_points(
        [str(name) for name in figure.table["label"]],
        *_numbers(figure, "value", "low", "high"),
        quantity=figure.quantity,
    )


_DRAWN = {"weeks": _weeks, "hours": _hours, "road": _road, "averted": _averted, "bars": _bars, "rates": _rates}
