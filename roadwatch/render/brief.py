"""A two-page sheet for each place of a fence plan: for a road agency, on screen and on paper."""

from __future__ import annotations

import hashlib
import math
from base64 import b64encode
from typing import TYPE_CHECKING

from roadwatch.render.brief_map import place_map
from roadwatch.render.charts import averted_curve, road_profile
from roadwatch.render.safe_text import fill, joined, plain
from roadwatch.render.table_page import TEAM_WORDS
from roadwatch.render.vendored import own_text
from roadwatch.siting.fence_brief import CAUTIONS

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Mapping

    from markupsafe import Markup

    from roadwatch.siting.fence_brief import FenceBrief, PlaceSheet


def fence_brief(brief: FenceBrief) -> str:
    """
    Write the sheets of a plan as one page that asks nothing of any network.

    Parameters
    ----------
    brief
        What the sheets hold.

    Returns
    -------
    HTML of one self-contained file: two pages of paper for each place, on letter and on A4.

    Source
    ------
    csp3
    """
    style = own_text("brief.css")
    digest = b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    shapes = brief.runs.geometry.to_numpy()
    page = fill(
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><meta http-equiv="Content-Security-Policy" '
        "content=\"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; "
        "base-uri 'none'; form-action 'none'\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1"><title>{title}</title>'
        "<style>{style}</style></head><body><main>{places}"
        '<section class="screen page"><h2>About these numbers</h2><ul>{notes}</ul></section></main></body></html>\n',
        digest=digest,
        title=f"Where to fence: {brief.season}",
        style=fill(style.replace("{", "{{").replace("}", "}}")),
        places=joined(
            part
            for place, shape in zip(brief.places, shapes, strict=True)
            for part in (_first_page(place, shape, brief), _second_page(place, brief))
        ),
        notes=_items(brief.notes),
    )
    return str(page)


def _items(sentences: Iterable[str]) -> Markup:
    return joined(fill("<li>{text}</li>", text=text) for text in sentences)


def _first_page(place: PlaceSheet, shape: object, brief: FenceBrief) -> Markup:
    run = place.run
    return fill(
        '<section class="page"><h1>Fence {number}: {road}, {length} m</h1><p class="subtitle">{where}</p>{mark}'
        "{map}<p>{deaths}</p><p>{averted}</p><p>{sure}</p><p>{cost}</p>"
        "<h2>Deaths along this road</h2>{profile}</section>",
        number=run["run"],
        road=run["road"],
        length=f"{run['length_m']:.0f}",
        where=_where(run),
        mark=fill('<p class="audience">{words}</p>', words=TEAM_WORDS) if brief.team_only else fill(""),
        map=place_map(shape, run, roads=brief.roads, water=brief.water),  # type: ignore[arg-type]
        deaths=f"On these {run['length_m']:.0f} m about {_number(run['deaths_per_year'])} turtles a year are expected "
        f"to be {brief.counted}; 95 % interval {_number(run['deaths_low'])} to {_number(run['deaths_high'])}. "
        f"The usual on all searched road is {_number(place.usual)} per km and year.",
        averted=f"A fence on both sides of the road is expected to avert {_number(run['averted_per_year'])} of these "
        f"deaths a year; 95 % interval {_number(run['averted_low'])} to {_number(run['averted_high'])}.",
        sure=f"When death rates and efficacy were drawn anew from what is known, {run['chosen_share']:.0%} of this run "
        f"was, on average, in the best plan. {_passages(run)}",
        cost=_cost(run),
        profile=_scrolling(
            f"Deaths along the road of fence {run['run']}",
            road_profile(
                place.road_m,
                place.rate,
                place.rate_low,
                place.rate_high,
                usual=place.usual,
                marked_m=(float(str(run["from_m"])), float(str(run["to_m"]))),
                size_in=(7.0, 2.3),
            ),
        ),
    )


def _second_page(place: PlaceSheet, brief: FenceBrief) -> Markup:
    run, curve = place.run, brief.curve
    rows = joined(
        fill(
            '<tr><th scope="row">{what}</th><td class="number">{averted}</td><td class="number">{interval}</td></tr>',
            what=other.what,
            averted=_number(other.averted) if math.isfinite(other.averted) else "not known",
            interval=f"{_number(other.low)} to {_number(other.high)}" if math.isfinite(other.low) else "",
        )
        for other in place.alternatives
    )
    columns = (curve[name].to_numpy() for name in ("length_m", "averted_per_year", "low", "high"))
    return fill(
        '<section class="page"><h2>Fence {number}: what else could be done</h2><div class="wide" tabindex="0" '
        'role="region" aria-label="Alternatives to fence {number}"><table><thead><tr><th scope="col">Alternative</th>'
        '<th scope="col" class="number">Deaths averted a year</th><th scope="col" class="number">95 % interval</th>'
        "</tr></thead><tbody>{rows}</tbody></table></div><h2>What more or less fence would avert, all places together"
        '</h2>{curve}<h2>What is not known</h2><ul>{unknown}</ul><div class="cautions"><h2>Before you act</h2><ul>'
        "{cautions}</ul></div></section>",
        number=run["run"],
        rows=rows,
        curve=_scrolling(
            f"Curve of deaths averted, beside fence {run['run']}",
            averted_curve(*columns, asked_m=brief.asked_m, size_in=(7.0, 1.9)),
        ),
        unknown=_items(brief.unknown),
        cautions=_items(CAUTIONS),
    )


def _scrolling(label: str, picture: Markup) -> Markup:
    """A picture that keeps its size on narrow screens and can be moved sideways there."""
    return fill(
        '<div class="wide" tabindex="0" role="region" aria-label="{label}">{picture}</div>',
        label=label,
        picture=picture,
    )


def _number(value: object) -> str:
    number = float(str(value))
    return "0" if number == 0.0 else f"{number:.2g}" if abs(number) < 100.0 else f"{number:,.0f}"


def _where(run: Mapping[Hashable, object]) -> str:
    """Route, mileposts and who keeps the road; why mileposts are missing."""
    parts = [f"{run['from_m']:.0f} to {run['to_m']:.0f} m from the road's western end"]
    if plain(run["route_id"]):
        parts.insert(0, f"route {plain(run['route_id'])}")
    post = float(str(run["milepost_from"]))
    if math.isfinite(post):
        unit = plain(run["milepost_unit"]) or "unit not stated"
        parts.append(f"mileposts {post:.2f} to {run['milepost_to']:.2f} ({unit})")
    else:
        parts.append(f"no mileposts: {plain(run['why_no_milepost'])}")
    parts.append(f"kept by {plain(run['agency'])}" if plain(run["agency"]) else "who keeps it is not in the layer")
    text = "; ".join(parts)
    return text[0].upper() + text[1:] + "."


def _passages(run: Mapping[Hashable, object]) -> str:
    if run["passages"]:
        return f"Passages of the layer within reach: {run['passages']}."
    return "No passage of the layer lies within reach: plan one with the fence."


def _cost(run: Mapping[Hashable, object]) -> str:
    if not math.isfinite(float(str(run["cost"]))):
        return "Cost: not told, because no price was given; none is assumed."
    return (
        f"Cost at the prices given: {_money(run['cost'])}; {_money(run['cost_per_averted'])} for each death averted in "
        f"one year (95 % interval {_money(run['cost_per_averted_low'])} to {_money(run['cost_per_averted_high'])}). "
        "Divide by the years the fence will last; upkeep is in it only if it is in the price, passages never are."
    )


def _money(value: object) -> str:
    return f"{float(str(value)):,.0f}"
