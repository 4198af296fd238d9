"""A picture of how often people were right by how sure they were."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from roadwatch.render.safe_text import fill, joined

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping

    import pandas as pd
    from markupsafe import Markup

SIDE, EDGE = 360.0, 48.0
"""Side of the square that holds the dots, and room for its labels, pixels."""

TICKS = (0.0, 0.2, 0.4, 0.6, 0.8, 1.0)


def _x(share: float) -> str:
    return f"{EDGE + SIDE * share:.1f}"


def _y(share: float) -> str:
    return f"{EDGE / 2 + SIDE * (1 - share):.1f}"


def reliability_figure(table: pd.DataFrame) -> Markup:
    """
    Draw the reliability table: a dot a bin with its limits; on the slanted line it is as right as it said.

    Parameters
    ----------
    table
        With ``mean_sure n n_right share_right share_low share_high``.

    Returns
    -------
    An inline SVG picture with its own text for those who cannot see it.
    """
    bins = table.to_dict("records")
    return fill(
        '<figure><svg role="img" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        'font-size="12" fill="currentColor"><title>How often right, by how sure</title><desc>{words}</desc>'
        '<rect x="{left}" y="{top}" width="{side}" height="{side}" fill="none" stroke="currentColor"/>'
        '<line x1="{left}" y1="{bottom}" x2="{right}" y2="{top}" stroke="currentColor" stroke-dasharray="4 4"/>'
        '{ticks}{dots}<text x="{middle}" y="{label_y}" text-anchor="middle">how sure</text>'
        '<text x="{left}" y="14">share that was right, with 95 % limits</text></svg></figure>',
        width=f"{SIDE + 1.5 * EDGE:.0f}",
        height=f"{SIDE + 1.5 * EDGE:.0f}",
        side=f"{SIDE:.0f}",
        left=_x(0),
        right=_x(1),
        top=_y(1),
        bottom=_y(0),
        middle=_x(0.5),
        label_y=f"{SIDE + 1.4 * EDGE:.0f}",
        words="; ".join(f"{row['mean_sure']:.0%} sure: {row['n_right']} of {row['n']} right" for row in bins),
        ticks=joined(_tick(share) for share in TICKS),
        dots=joined(_dot(row) for row in bins),
    )


def _tick(share: float) -> Markup:
    return fill(
        '<text x="{x}" y="{below}" text-anchor="middle">{share}</text>'
        '<text x="{before}" y="{y}" text-anchor="end" dominant-baseline="middle">{share}</text>',
        x=_x(share),
        y=_y(share),
        below=f"{float(_y(0)) + 16:.1f}",
        before=f"{EDGE - 6:.1f}",
        share=f"{share:.0%}",
    )


def _dot(row: Mapping[Hashable, Any]) -> Markup:
    return fill(
        '<line x1="{x}" x2="{x}" y1="{low}" y2="{high}" stroke="#00558b" stroke-width="2"/>'
        '<circle cx="{x}" cy="{y}" r="4" fill="#00558b"><title>{right} of {n} right</title></circle>',
        x=_x(row["mean_sure"]),
        y=_y(row["share_right"]),
        low=_y(row["share_low"]),
        high=_y(row["share_high"]),
        right=row["n_right"],
        n=row["n"],
    )
