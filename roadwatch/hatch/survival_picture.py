"""The survival curve as an SVG: steps, their interval, and how many nests stand behind each."""

from __future__ import annotations

from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

WIDTH, HEIGHT, LEFT, TOP, PLOT_W, PLOT_H = 760, 420, 70, 60, 640, 290
INK, STYLES = "#222222", (("#1b6ca8", ""), ("#b3541e", "7 4"), ("#4a7a2c", "2 3"))


def survival_picture(curves: Mapping[str, pd.DataFrame], *, title: str, last_day: float) -> str:
    """
    Draw survival curves.

    Parameters
    ----------
    curves
        By name, as ``survival_curve`` returns them; at most three, told apart by colour and by dashes.
    title
        Any text.
    last_day
        Right end of the axis, days since laying.

    Returns
    -------
    One SVG element without a script.
    """
    span = max(last_day, 1.0)
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
    parts = [
        head + f'font-family="sans-serif" font-size="13" fill="{INK}">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#ffffff"/>',
        _text(LEFT, 28, escape(title), size=17),
        *_axes(span),
    ]
    for index, (name, curve) in enumerate(list(curves.items())[: len(STYLES)]):
        colour, dashes = STYLES[index]
        parts.append(f'<polygon points="{_band(curve, span)}" fill="{colour}" fill-opacity="0.12"/>')
        parts.append(
            f'<polyline points="{_steps(curve["day"], curve["survival"], span)}" fill="none" stroke="{colour}" '
            f'stroke-width="2" stroke-dasharray="{dashes}"/>'
        )
        y = TOP + PLOT_H - 14 - 20 * index
        parts.append(
            f'<line x1="{LEFT + 12}" y1="{y}" x2="{LEFT + 52}" y2="{y}" stroke="{colour}" stroke-width="2" '
            f'stroke-dasharray="{dashes}"/>'
        )
        parts.append(_text(LEFT + 60, y + 4, f"{escape(name)}: {int(curve['losses'].sum())} lost"))
    return "\n".join([*parts, "</svg>"])


def _text(x: float, y: float, words: str, *, size: int = 13, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}">{words}</text>'


def _place(day: float, share: float, span: float) -> str:
    return f"{LEFT + PLOT_W * min(day, span) / span:.1f},{TOP + PLOT_H * (1 - share):.1f}"


def _steps(days: pd.Series, shares: pd.Series, span: float) -> str:
    """Level until each day with a loss, then down; the last level runs to the end."""
    day, share = days.to_numpy(float), shares.to_numpy(float)
    points = [_place(day[0], share[0], span)]
    for k in range(1, len(day)):
        points += [_place(day[k], share[k - 1], span), _place(day[k], share[k], span)]
    return " ".join([*points, _place(span, share[-1], span)])


def _band(curve: pd.DataFrame, span: float) -> str:
    upper = _steps(curve["day"], curve["high"], span).split()
    lower = _steps(curve["day"], curve["low"], span).split()
    return " ".join([*upper, *lower[::-1]])


def _axes(span: float) -> list[str]:
    base = TOP + PLOT_H
    parts = [
        f'<line x1="{LEFT}" y1="{TOP}" x2="{LEFT}" y2="{base}" stroke="{INK}"/>',
        f'<line x1="{LEFT}" y1="{base}" x2="{LEFT + PLOT_W}" y2="{base}" stroke="{INK}"/>',
        _text(LEFT + PLOT_W / 2, base + 42, "days since laying", anchor="middle"),
    ]
    parts += [_text(LEFT - 8, TOP + PLOT_H * (1 - share) + 4, f"{share:.0%}", anchor="end") for share in (0, 0.5, 1)]
    step = 10.0 if span <= 120 else 50.0
    for day in np.arange(0, span + 1, step):
        parts.append(_text(LEFT + PLOT_W * day / span, base + 20, f"{day:g}", anchor="middle"))
    return parts
