"""A table of results as one plain page: for reading, printing and mailing."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from typing import TYPE_CHECKING

from roadwatch.render.safe_text import fill, joined
from roadwatch.render.vendored import own_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from markupsafe import Markup

TEAM_WORDS = "Team only. This page holds exact places of nests and animals. Do not pass it on."


def table_page(
    title: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[str]],
    *,
    notes: Iterable[str],
    team_only: bool,
    figure: Markup | None = None,
) -> str:
    """
    Write a table with its notes as one page that asks nothing of any network.

    Parameters
    ----------
    title
        Heading of the page.
    heads
        (columns,) names of the columns.
    rows
        Texts of each row, as many as there are columns.
    notes
        Sentences that belong beside the numbers.
    team_only
        Marks the page as not for everybody.
    figure
        A picture above the table, made by this room.

    Returns
    -------
    HTML of one self-contained file.
    """
    style = own_text("page.css")
    digest = b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    page = fill(
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{digest}'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1"><title>{title}</title>'
        "<style>{style}</style></head><body><header><h1>{title}</h1>{mark}</header><main>{figure}"
        '<div class="wide" tabindex="0" role="region" aria-label="{title}"><table><thead><tr>{heads}</tr></thead>'
        '<tbody>{rows}</tbody></table></div><section class="sentences"><h2>About these numbers</h2><ul>{notes}</ul>'
        "</section></main></body></html>\n",
        digest=digest,
        title=title,
        style=fill(style.replace("{", "{{").replace("}", "}}")),
        mark=fill('<p class="audience team">{words}</p>', words=TEAM_WORDS) if team_only else fill(""),
        figure=figure or fill(""),
        heads=joined(fill('<th scope="col">{head}</th>', head=head) for head in heads),
        rows=joined(
            fill("<tr>{cells}</tr>", cells=joined(fill("<td>{text}</td>", text=text) for text in row)) for row in rows
        ),
        notes=joined(fill("<li>{note}</li>", note=note) for note in notes),
    )
    return str(page)
