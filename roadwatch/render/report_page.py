"""The report for a county board as one page: read on a screen or a telephone, or printed."""

from __future__ import annotations

import hashlib
from base64 import b64encode
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.render.legend import CAUTIONS
from roadwatch.render.report_figures import picture_of
from roadwatch.render.safe_text import fill, joined
from roadwatch.render.table_page import TEAM_WORDS
from roadwatch.render.vendored import own_text
from roadwatch.share.writers import csv_text

if TYPE_CHECKING:
    from markupsafe import Markup

    from roadwatch.share.report_parts import CountyReport, Figure, Section, Table

PUBLIC_WORDS = (
    "For everybody. Numbers on roads are those of the records whose places are public; no place of a nest is in it."
)
TEAM_PRINT = (
    '@media print { @page { @top-left { content: "Team only. Do not pass on."; font: bold 8pt sans-serif; } } }'
)
"""Says on every printed page whose it is."""

HEADS = {
    "day_of_year": "Day of the year",
    "week_from": "Week from",
    "records": "Records",
    "hour": "Hour",
    "road_m": "Metre of the road",
    "density": "Dead per km",
    "expected": "Expected",
    "band_low": "Band from",
    "band_high": "to",
    "length_m": "Fence, m",
    "averted_per_year": "Averted a year",
    "label": "Name",
    "value": "Value",
    "low": "95 % from",
    "high": "to",
}
"""Heads of the columns that figures are drawn from."""


def report_page(report: CountyReport, *, title: str, subtitle: str) -> str:
    """
    Write a report as one self-contained page.

    Parameters
    ----------
    report
        Its sections, already decided for their audience.
    title, subtitle
        Heading, and the line below it.

    Returns
    -------
    HTML that asks nothing of any network and runs no code. Equal reports give equal text.

    Source
    ------
    wcag22, csp3
    """
    is_team = report.audience == "team"
    style = own_text("page.css") + own_text("report.css") + (TEAM_PRINT if is_team else "")
    digest = b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    return str(
        fill(
            '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
            "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'sha256-{digest}'; "
            "img-src data:; base-uri 'none'; form-action 'none'\">"
            '<meta name="viewport" content="width=device-width, initial-scale=1">'
            '<meta name="referrer" content="no-referrer"><title>{title}</title><style>{style}</style></head><body>'
            '<a class="skip" href="#{first}">Skip the contents</a><header class="report-head"><h1>{title}</h1>'
            '<p class="subtitle">{subtitle}</p><p class="audience {audience}">{words}</p></header><main>{contents}'
            "{sections}{cautions}</main></body></html>\n",
            digest=digest,
            title=title,
            subtitle=subtitle,
            style=fill(style.replace("{", "{{").replace("}", "}}")),
            first=report.sections[0].key,
            audience=report.audience,
            words=TEAM_WORDS if is_team else " ".join((PUBLIC_WORDS, *report.statements)),
            contents=_contents(report),
            sections=joined(_section(section) for section in report.sections),
            cautions=_cautions(),
        )
    )


def _contents(report: CountyReport) -> Markup:
    links = joined(
        fill('<li><a href="#{key}">{title}</a></li>', key=one.key, title=one.title) for one in report.sections
    )
    return fill('<nav class="contents" aria-label="Contents"><ol>{links}</ol></nav>', links=links)


def _section(section: Section) -> Markup:
    if section.key == "method":
        items = joined(fill("<li>{words}</li>", words=words) for words in section.sentences)
        body = fill('<ul class="sentences">{items}</ul>', items=items)
    else:
        body = joined(fill("<p>{words}</p>", words=words) for words in section.sentences)
    lacking = fill('<p class="lacking">{words}</p>', words=section.lacking) if section.lacking else fill("")
    return fill(
        '<section class="question" id="{key}" aria-labelledby="{key}-heading"><h2 id="{key}-heading">{title}</h2>'
        "{lacking}{body}{figures}{tables}</section>",
        key=section.key,
        title=section.title,
        lacking=lacking,
        body=body,
        figures=joined(_figure(figure) for figure in section.figures),
        tables=joined(_named_table(table) for table in section.tables),
    )


def _figure(figure: Figure) -> Markup:
    return fill(
        "<figure><h3>{title}</h3>{picture}<figcaption>{caption}</figcaption></figure>"
        "<details><summary>The numbers: {title}</summary>{table}{save}</details>",
        title=figure.title,
        picture=picture_of(figure),
        caption=figure.caption,
        table=_rows(figure.table.rename(columns=HEADS), label=f"Numbers: {figure.title}"),
        save=_save(figure.key, figure.table),
    )


def _named_table(table: Table) -> Markup:
    return fill(
        "<h3>{title}</h3>{rows}{save}",
        title=table.title,
        rows=_rows(table.rows, label=table.title),
        save=_save(table.key, table.rows),
    )


def _save(key: str, rows: pd.DataFrame) -> Markup:
    data = b64encode(csv_text(rows).encode("utf-8")).decode("ascii")
    return fill(
        '<a class="save" download="{key}.csv" href="data:text/csv;charset=utf-8;base64,{data}">Save {key}.csv</a>',
        key=key,
        data=data,
    )


def _rows(rows: pd.DataFrame, *, label: str) -> Markup:
    numeric = [pd.api.types.is_numeric_dtype(rows[name]) for name in rows]
    heads = joined(
        fill('<th scope="col"{kind}>{name}</th>', kind=_kind(is_number=is_number), name=name)
        for name, is_number in zip(rows.columns, numeric, strict=True)
    )
    body = joined(_row(list(rows.columns), row, numeric) for row in rows.itertuples(index=False))
    return fill(
        '<div class="wide numbers" tabindex="0" role="region" aria-label="{label}"><table><thead><tr>{heads}</tr>'
        "</thead><tbody>{body}</tbody></table></div>",
        label=label,
        heads=heads,
        body=body,
    )


def _row(heads: list[str], row: tuple[object, ...], numeric: list[bool]) -> Markup:
    cells = joined(
        fill(
            '<td data-head="{head}"{kind}>{value}</td>', head=head, kind=_kind(is_number=is_number), value=_cell(value)
        )
        for head, value, is_number in zip(heads, row, numeric, strict=True)
    )
    return fill("<tr>{cells}</tr>", cells=cells)


def _kind(*, is_number: bool) -> Markup:
    return fill(' class="number"') if is_number else fill("")


def _cell(value: object) -> str:
    """A number without needless digits; blank for none."""
    if value is None or value != value:
        return ""
    if isinstance(value, float):
        return f"{value:.0f}" if value == round(value) else f"{value:.3g}" if abs(value) < 100 else f"{value:.1f}"
    return str(value)


def _cautions() -> Markup:
    items = joined(fill("<li>{words}</li>", words=words) for words in CAUTIONS)
    return fill('<section id="cautions"><h2>Before you act on this report</h2><ul>{items}</ul></section>', items=items)
