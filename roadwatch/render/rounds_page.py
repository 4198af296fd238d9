"""A plan of nest rounds as one page a person: for a telephone in the field, or printed, with room to write."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from datetime import date
from typing import TYPE_CHECKING

from roadwatch.render.safe_text import fill, joined
from roadwatch.render.table_page import TEAM_WORDS
from roadwatch.render.vendored import own_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from markupsafe import Markup

OUTCOMES = "intact, emerging, emerged, depredated, flooded, marker lost"
"""Words of the form's outcomes that a visitor can see without digging."""


def rounds_page(
    visits: pd.DataFrame,
    rounds: pd.DataFrame,
    places: pd.DataFrame,
    left_out: pd.DataFrame,
    *,
    title: str,
    notes: Sequence[str],
    cautions: Sequence[str],
) -> str:
    """
    Write a plan as one self-contained page for the team; printed, every person begins on a new sheet.

    Parameters
    ----------
    visits, rounds, places, left_out
        Tables of a round plan.
    title
        Heading of the page.
    notes
        What the plan rests on.
    cautions
        Repeated on everybody's sheet.

    Returns
    -------
    HTML that asks nothing of any network.
    """
    style = own_text("page.css") + own_text("rounds.css")
    digest = b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    names = sorted(set(visits["observer"]))
    people = [
        _person(name, number, visits, rounds, places, cautions=cautions) for number, name in enumerate(names, start=1)
    ]
    return str(
        fill(
            '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{digest}'\">"
            '<meta name="viewport" content="width=device-width, initial-scale=1"><title>{title}</title>'
            '<style>{style}</style></head><body><header><h1>{title}</h1><p class="audience team">{team}</p></header>'
            '<main>{index}{empty}{cautions}{people}{left_out}<section class="sentences"><h2>About this plan</h2>'
            "<ul>{notes}</ul></section></main></body></html>\n",
            digest=digest,
            title=title,
            style=fill(style.replace("{", "{{").replace("}", "}}")),
            team=TEAM_WORDS,
            index=_index(names),
            empty=fill("") if names else fill('<p class="empty">No visit is planned in these days.</p>'),
            cautions=fill("") if names else _cautions(cautions),
            people=joined(people),
            left_out=_left_out(left_out),
            notes=joined(fill("<li>{note}</li>", note=note) for note in notes),
        )
    )


def _index(names: Sequence[str]) -> Markup:
    links = joined(
        fill('<a href="#person-{number}">{name}</a>', number=number, name=name)
        for number, name in enumerate(names, start=1)
    )
    return fill('<nav class="people" aria-label="People">{links}</nav>', links=links) if len(names) > 1 else fill("")


def _person(
    name: str,
    number: int,
    visits: pd.DataFrame,
    rounds: pd.DataFrame,
    places: pd.DataFrame,
    *,
    cautions: Sequence[str],
) -> Markup:
    own = visits[visits["observer"] == name]
    totals = _by("date", rounds[rounds["observer"] == name])
    where = _by("nest_id", places)
    days = [_day(str(day), rows, totals[str(day)], where) for day, rows in own.groupby("date", sort=True)]
    return fill(
        '<section class="person" id="person-{number}"><h2>{name}</h2><p class="audience team">{team}</p>'
        "{cautions}{days}</section>",
        number=number,
        name=name,
        team=TEAM_WORDS,
        cautions=_cautions(cautions),
        days=joined(days),
    )


def _by(column: str, table: pd.DataFrame) -> dict[str, dict[str, object]]:
    """Rows of a table by the text of a column."""
    return {str(row[column]): {str(name): value for name, value in row.items()} for row in table.to_dict("records")}


def _cautions(cautions: Sequence[str]) -> Markup:
    items = joined(fill("<li>{words}</li>", words=words) for words in cautions)
    return fill('<div class="cautions"><h3>First</h3><ul>{items}</ul></div>', items=items)


def _day(day: str, rows: pd.DataFrame, total: dict[str, object], where: dict[str, dict[str, object]]) -> Markup:
    records = [
        {str(name): value for name, value in row.items()} for row in rows.sort_values("order").to_dict("records")
    ]
    stops = [_stop(row, where[str(row["nest_id"])]) for row in records]
    minutes = int(str(total["minutes"]))
    return fill(
        '<section class="day"><h3>{weekday} {day} <small>{nests} {word}, about {hours} h {minutes} min, {km} km '
        "by road</small></h3>{stops}</section>",
        weekday=date.fromisoformat(day).strftime("%A"),
        day=day,
        nests=len(stops),
        word="nest" if len(stops) == 1 else "nests",
        hours=minutes // 60,
        km=f"{float(str(total['km'])):.0f}",
        stops=joined(stops),
        minutes=f"{minutes % 60:02d}",
    )


def _stop(row: dict[str, object], place: dict[str, object]) -> Markup:
    return fill(
        '<div class="stop"><span class="box" role="img" aria-label="to tick"></span><div><p><strong>{order}. '
        "{nest}</strong> {taxon} {cage}</p><p>{reason}</p>"
        '<p class="quiet">Chance that hatchlings come up before the next visit: {chance}. Leave the road at {access}; '
        "nest at {own}. "
        '{note}</p></div><div class="found">found ({outcomes}), time, live, dead:<span></span></div></div>',
        order=row["order"],
        nest=row["nest_id"],
        taxon=place["taxon"],
        cage=fill('<span class="cage">caged</span>') if row["caged"] else fill(""),
        reason=row["reason"],
        chance=f"{float(str(row['p_emergence_by_next_visit'])):.1%}",
        access=_degrees(place["access_latitude"], place["access_longitude"]),
        own=_degrees(place["latitude"], place["longitude"]),
        note=f"{str(row['note'])[:1].upper()}{str(row['note'])[1:]}",
        outcomes=OUTCOMES,
    )


def _degrees(latitude: object, longitude: object) -> str:
    return f"{float(str(latitude)):.5f}, {float(str(longitude)):.5f}"


def _left_out(left_out: pd.DataFrame) -> Markup:
    if left_out.empty:
        return fill("")
    rows = joined(
        fill(
            '<tr><td data-head="nest">{nest}{cage}</td><td data-head="why">{reason}</td>'
            '<td data-head="what to do">{fallback}</td></tr>',
            nest=row["nest_id"],
            cage=" (caged)" if row["is_caged"] else "",
            reason=row["reason"],
            fallback=row["fallback"],
        )
        for row in left_out.to_dict("records")
    )
    return fill(
        '<section class="person"><h2>Nests without a visit</h2><div class="wide" tabindex="0" role="region" '
        'aria-label="Nests without a visit"><table><thead><tr><th scope="col">nest</th><th scope="col">why</th>'
        '<th scope="col">what to do</th></tr></thead><tbody>{rows}</tbody></table></div></section>',
        rows=rows,
    )
