"""A picture of how past windows held: year by year, and promised against kept; an SVG as text, without a script."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

if TYPE_CHECKING:
    import pandas as pd

WIDTH, HEIGHT, LEFT, TOP, PLOT_W, PLOT_H = 960, 420, 60, 70, 560, 280
KEPT, MISSED, BAND, INK = "#1b6ca8", "#b3341f", "#bcd3e6", "#222222"
BARS_LEFT, BARS_W = 700, 220
CROWDED_D = 40
"""A taller axis has a mark every ten days instead of five."""


def hindcast_picture(cases: pd.DataFrame, scores: pd.DataFrame, *, title: str, lead_days: int = 30) -> str:
    """
    Draw the weather windows of one lead, year by year, and their coverage at every lead.

    Parameters
    ----------
    cases, scores
        As ``weather_scores`` returns them.
    title
        What the picture shows; any text.
    lead_days
        The lead that is drawn year by year.

    Returns
    -------
    One SVG element; filled marks lie inside their window, crosses outside, so that colour is not needed to tell.
    """
    chosen = cases[cases["lead_days"] == lead_days].groupby("year", as_index=False).first().sort_values("year")
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
    parts = [
        head + f'font-family="sans-serif" font-size="13" fill="{INK}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        _text(LEFT, 28, escape(title), size=17),
        _text(LEFT, 50, f"80 % windows from weather alone, {lead_days} days before hatching, and the day that came"),
        *_years(chosen),
        *_bars(scores),
        "</svg>",
    ]
    return "\n".join(parts)


def _text(x: float, y: float, words: str, *, size: int = 13, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}">{words}</text>'


def _line(x1: float, y1: float, x2: float, y2: float, *, colour: str = INK, width: float = 1.0) -> str:
    return f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" stroke="{colour}" stroke-width="{width:g}"/>'


def _years(chosen: pd.DataFrame) -> list[str]:
    """One bar a year for the widened window, a dot for a day inside it, a cross for one outside."""
    early = chosen["widened_early_80"].to_numpy(float)
    late = np.minimum(chosen["widened_late_80"].to_numpy(float), 365.0)
    truth, years = chosen["truth"].to_numpy(float), chosen["year"].to_numpy(int)
    if not len(years):
        return [_text(LEFT, TOP + 40, "no year to draw")]
    low, high = min(early.min(), truth.min()) - 2, max(late.max(), truth.max()) + 2
    step = PLOT_W / len(years)

    def height(day: float) -> float:
        return float(TOP + PLOT_H * (high - day) / (high - low))

    parts = [_line(LEFT, TOP, LEFT, TOP + PLOT_H), _line(LEFT, TOP + PLOT_H, LEFT + PLOT_W, TOP + PLOT_H)]
    tick = 10 if high - low > CROWDED_D else 5
    for day in np.arange(np.ceil(low / tick) * tick, high, tick):
        parts += [
            _line(LEFT - 4, height(day), LEFT, height(day)),
            _text(LEFT - 8, height(day) + 4, _date(day), anchor="end"),
        ]
    for index, year in enumerate(years):
        x = LEFT + step * (index + 0.5)
        y = height(truth[index])
        parts.append(_line(x, height(early[index]), x, height(late[index]), colour=BAND, width=max(step * 0.7, 1.5)))
        if early[index] <= truth[index] <= late[index]:
            parts.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="2.6" fill="{KEPT}"/>')
        else:
            parts += [_line(x - 3, y - 3, x + 3, y + 3, colour=MISSED, width=1.8)]
            parts += [_line(x - 3, y + 3, x + 3, y - 3, colour=MISSED, width=1.8)]
        if year % 10 == 0 or index in {0, len(years) - 1}:
            parts.append(_text(x, TOP + PLOT_H + 18, str(year), anchor="middle"))
    return parts


def _date(day: float) -> str:
    """Day of a common year as month-day."""
    return str(np.datetime64("2023-01-01") + np.timedelta64(int(day), "D"))[5:]


def _bars(scores: pd.DataFrame) -> list[str]:
    """Promised and kept, at each lead: a line at the promise, a mark with two standard errors for what was kept."""
    parts = [_text(BARS_LEFT, 50, "share of windows that held"), _text(BARS_LEFT, 66, "(two standard errors)")]
    base = TOP + PLOT_H

    def height(share: float) -> float:
        return base - PLOT_H * 0.95 * share

    for promised in (0.5, 0.8):
        parts += [_line(BARS_LEFT, height(promised), BARS_LEFT + BARS_W, height(promised), colour="#888888")]
        parts += [_text(BARS_LEFT - 6, height(promised) + 4, f"{promised:.0%}", anchor="end")]
    step = BARS_W / max(len(scores), 1)
    for index, row in enumerate(scores.to_dict("records")):
        for name, shift in (("50", -4), ("80", 4)):
            x = BARS_LEFT + step * (index + 0.5) + shift
            kept, error = float(row[f"widened_{name}"]), 2 * float(row[f"widened_{name}_se"])
            top, bottom = height(min(kept + error, 1.0)), height(max(kept - error, 0.0))
            parts += [_line(x, top, x, bottom, colour=KEPT, width=1.5)]
            parts.append(f'<circle cx="{x:.1f}" cy="{height(kept):.1f}" r="3.4" fill="{KEPT}"/>')
        parts.append(_text(BARS_LEFT + step * (index + 0.5), base + 18, str(row["lead_days"]), anchor="middle"))
    return [*parts, _text(BARS_LEFT + BARS_W / 2, base + 38, "days before hatching", anchor="middle")]
