"""Small pictures of numbers, each one self-contained ``img`` with words for those who cannot see it."""

from __future__ import annotations

import io
from base64 import b64encode
from typing import TYPE_CHECKING

import numpy as np

from roadwatch.render.safe_text import fill, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from markupsafe import Markup
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from roadwatch.roads.arrays import FloatArray

LINE, BAND, MARK, INK = "#08519c", "#9ecae1", "#d95f0e", "#252525"
"""ColorBrewer Blues and YlOrBr, told apart without colour by line, hatching and label."""

SIZE_IN = (6.4, 2.6)
MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335)
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def averted_curve(
    length_m: FloatArray,
    averted: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    asked_m: float | None = None,
    size_in: tuple[float, float] = SIZE_IN,
) -> Markup:
    """
    Draw deaths averted per year against length of fence, with its interval.

    Parameters
    ----------
    length_m, averted, low, high
        (k,) Lengths, best plans and their 95 % bounds.
    asked_m
        Length marked as the one asked for.
    size_in
        Width and height, inches.
    """
    figure, axes = _axes(size_in)
    axes.fill_between(length_m / 1000.0, low, high, color=BAND, alpha=0.6, label="95 % interval", linewidth=0)
    axes.plot(length_m / 1000.0, averted, color=LINE, marker="o", markersize=3, label="best plan of that length")
    if asked_m is not None:
        axes.axvline(asked_m / 1000.0, color=MARK, linestyle="--", label="length asked for")
    axes.set(xlabel="fence, km of road", ylabel="deaths averted a year", xlim=(0, None), ylim=(0, None))
    axes.legend(loc="upper left", frameon=False, fontsize=7)
    told = "; ".join(
        f"{m:.0f} m: {a:.2g} ({lo:.2g} to {hi:.2g})" for m, a, lo, hi in zip(length_m, averted, low, high, strict=True)
    )
    return _picture(figure, f"Deaths averted a year by the best plan of each length of fence. {told}.")


def road_profile(
    road_m: FloatArray,
    value: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    usual: float | None = None,
    marked_m: tuple[float, float] | None = None,
    quantity: str = "deaths per km and year",
    band: str = "95 % interval",
    marked: str = "the run",
    size_in: tuple[float, float] = SIZE_IN,
) -> Markup:
    """
    Draw a quantity along one road with its band: an interval, or what chance alone would show.

    Parameters
    ----------
    road_m, value, low, high
        (k,) Metres along the road, the quantity there and the band.
    usual
        Value over all roads, drawn as a line.
    marked_m
        Metres between which the road is marked.
    quantity, band, marked
        What is drawn, what the band means, and what is marked.
    size_in
        Width and height, inches.
    """
    figure, axes = _axes(size_in)
    axes.fill_between(road_m, low, high, color=BAND, alpha=0.6, label=band, linewidth=0)
    axes.plot(road_m, value, color=LINE, label=quantity)
    if usual is not None:
        axes.axhline(usual, color=INK, linestyle=":", label="usual on all roads")
    if marked_m is not None:
        axes.axvspan(*marked_m, facecolor="none", edgecolor=MARK, hatch="///", alpha=0.6, label=marked, linewidth=1)
    axes.set(xlabel="metres along the road", ylabel=quantity, ylim=(0, None))
    axes.legend(loc="upper right", frameon=False, fontsize=7)
    top = int(np.nanargmax(value)) if np.isfinite(value).any() else 0
    words = f"{quantity.capitalize()} along the road from {road_m[0]:.0f} to {road_m[-1]:.0f} m, highest "
    words += f"{value[top]:.2g} ({low[top]:.2g} to {high[top]:.2g}) at {road_m[top]:.0f} m."
    return _picture(figure, words)


def interval_bars(
    label: Sequence[str],
    value: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    quantity: str,
    size_in: tuple[float, float] | None = None,
) -> Markup:
    """
    Draw one bar a row with its interval, the first on top.

    Parameters
    ----------
    label, value, low, high
        (k,) Names, values and 95 % bounds.
    quantity
        What is measured, with its unit.
    size_in
        Width and height, inches; None grows with the rows.
    """
    figure, axes = _axes(size_in or (SIZE_IN[0], 0.7 + 0.3 * len(label)))
    place = np.arange(len(label))[::-1]
    axes.barh(place, value, color=BAND, height=0.7)
    axes.hlines(place, low, high, color=INK, linewidth=1.5)
    axes.plot(value, place, "o", color=LINE, markersize=4)
    axes.set_yticks(place, [plain(name) for name in label])
    axes.set(xlabel=f"{quantity} (line: 95 % interval)", xlim=(0, None))
    return _picture(figure, f"{quantity.capitalize()}. {_told(label, value, low, high)}.")


def interval_points(
    label: Sequence[str],
    value: FloatArray,
    low: FloatArray,
    high: FloatArray,
    *,
    quantity: str,
    size_in: tuple[float, float] = SIZE_IN,
) -> Markup:
    """
    Draw one point a column with its interval, such as a rate for each year.

    Parameters
    ----------
    label, value, low, high
        (k,) Names, values and 95 % bounds.
    quantity
        What is measured, with its unit.
    size_in
        Width and height, inches.
    """
    figure, axes = _axes(size_in)
    place = np.arange(len(label))
    axes.vlines(place, low, high, color=INK, linewidth=1.5)
    axes.plot(place, value, "s", color=LINE, markersize=6)
    axes.set_xticks(place, [plain(name) for name in label])
    axes.set(ylabel=quantity, ylim=(0, None), xlim=(-0.6, len(label) - 0.4))
    return _picture(figure, f"{quantity.capitalize()}. {_told(label, value, low, high)}.")


def _told(label: Sequence[str], value: FloatArray, low: FloatArray, high: FloatArray) -> str:
    rows = zip(label, value, low, high, strict=True)
    return "; ".join(f"{name}: {v:.2g} ({lo:.2g} to {hi:.2g})" for name, v, lo, hi in rows)


def season_profile(
    day_of_year: FloatArray,
    weight: FloatArray | None = None,
    *,
    window: tuple[float, float] | None = None,
    size_in: tuple[float, float] = SIZE_IN,
) -> Markup:
    """
    Draw records by week of the year.

    Parameters
    ----------
    day_of_year
        (n,) Days, 1 to 366.
    weight
        (n,) What each counts for; None counts each as 1.
    window
        First and last day of a stretch of the season that is marked.
    size_in
        Width and height, inches.
    """
    figure, axes = _axes(size_in)
    edges = np.arange(1, 374, 7)
    counts, _ = np.histogram(day_of_year, bins=edges, weights=weight)
    axes.bar(edges[:-1], counts, width=6.2, align="edge", color=LINE)
    if window is not None:
        axes.axvspan(*window, facecolor="none", edgecolor=MARK, hatch="///", alpha=0.6, label="window", linewidth=1)
        axes.legend(loc="upper right", frameon=False, fontsize=7)
    axes.set_xticks(MONTH_STARTS, MONTHS)
    axes.set(ylabel="records a week", xlim=(1, 366))
    months = np.searchsorted(MONTH_STARTS, day_of_year, side="right") - 1
    by_month = np.bincount(months.astype(np.int64), weight, 12)
    words = ", ".join(f"{name} {count:.3g}" for name, count in zip(MONTHS, by_month, strict=True) if count > 0)
    return _picture(figure, f"Records by week of the year. By month: {words or 'none'}.")


def hour_profile(
    hour: FloatArray,
    weight: FloatArray | None = None,
    *,
    window: tuple[float, float] | None = None,
    size_in: tuple[float, float] = (2.8, 2.8),
) -> Markup:
    """
    Draw records by hour on the circle of a day, midnight on top, clockwise.

    Parameters
    ----------
    hour
        (n,) Hours, 0 up to 24.
    weight
        (n,) What each counts for; None counts each as 1.
    window
        From and to, hours; it may pass midnight.
    size_in
        Width and height, inches.
    """
    figure, axes = _axes(size_in, projection="polar")
    counts, _ = np.histogram(hour, bins=np.arange(25), weights=weight)
    turn = 2.0 * np.pi / 24.0
    axes.bar((np.arange(24) + 0.5) * turn, counts, width=0.9 * turn, color=LINE)
    if window is not None:
        span = (window[1] - window[0]) % 24.0 or 24.0
        rim = 1.08 * max(float(counts.max(initial=0.0)), 1.0)
        axes.plot((window[0] + np.linspace(0.0, span, 60)) * turn, np.full(60, rim), color=MARK, linewidth=3)
    axes.set_theta_zero_location("N")  # type: ignore[attr-defined]  # polar axes have more methods
    axes.set_theta_direction(-1)  # type: ignore[attr-defined]
    axes.set_xticks(np.arange(0, 24, 3) * turn, [f"{h}" for h in range(0, 24, 3)])
    words = ", ".join(f"{h}: {count:.3g}" for h, count in enumerate(counts) if count > 0)
    return _picture(figure, f"Records by hour of the day. {words or 'none'}.")


def _axes(size_in: tuple[float, float], *, projection: str | None = None) -> tuple[Figure, Axes]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=size_in, layout="constrained")
    axes = figure.add_subplot(projection=projection)
    axes.tick_params(labelsize=7)
    axes.xaxis.label.set_fontsize(8)
    axes.yaxis.label.set_fontsize(8)
    if projection is None:
        axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def _picture(figure: Figure, words: str) -> Markup:
    """The figure as an ``img`` whose bytes depend on nothing but what it shows."""
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    held = io.BytesIO()
    with rc_context({"svg.hashsalt": "roadwatch", "svg.fonttype": "path"}):
        FigureCanvasSVG(figure).print_svg(held, metadata={"Date": None, "Creator": None})  # type: ignore[no-untyped-call]
    data = b64encode(held.getvalue()).decode("ascii")
    return fill('<img class="chart" alt="{words}" src="data:image/svg+xml;base64,{data}">', words=words, data=data)
