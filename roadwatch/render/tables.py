"""The tables under the map: the way to the same facts by keyboard, by ear and on paper."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pandas as pd

from roadwatch.render.legend import CONDITIONS
from roadwatch.render.safe_text import fill, joined
from roadwatch.render.words import HOTSPOT_LABELS, MEASURE_LABELS, hotspot_title, shown_value, texts_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    import geopandas as gpd
    from markupsafe import Markup

ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}")
_CELL, _DATE = '<td data-head="{head}">{value}</td>', '<td class="date" data-head="{head}">{value}</td>'


NEST_COLUMNS = {
    "taxon": "Taxon",
    "window_early": "Early",
    "window_likely": "Likely",
    "window_late": "Late",
    "window_state": "Today",
    "window_p_hatched": "Chance that it has hatched",
    "window_sureness": "Sureness",
    "window_note": "Note",
}


def hotspot_table(hotspots: gpd.GeoDataFrame) -> Markup:
    """Every hotspot in its rank, with a button that shows it on the map."""
    rows = [
        [hotspot_title(record).removeprefix("Hotspot "), *values]
        for record, values in zip(hotspots.to_dict("records"), _values(hotspots, list(HOTSPOT_LABELS)), strict=True)
    ]
    return plain_table(
        "hotspots",
        "Hotspots along roads, strongest evidence first",
        ["Hotspot", *HOTSPOT_LABELS.values()],
        rows,
        show="hotspots",
        empty="No hotspot can be shown: none was found, or too few records may be shown.",
    )


def nest_table(nests: gpd.GeoDataFrame) -> Markup:
    """Every nest with its window, with a button that shows it on the map."""
    names = texts_of(nests, "nest_id", otherwise="without id")
    rows = [[name, *values] for name, values in zip(names, _values(nests, list(NEST_COLUMNS)), strict=True)]
    return plain_table(
        "nests",
        "Nests and their hatch windows",
        ["Nest", *NEST_COLUMNS.values()],
        rows,
        show="nests",
        empty="No nest is on record.",
    )


def crossing_section(crossings: gpd.GeoDataFrame) -> Markup:
    """Crossings counted by taxon and condition; the page's code adds a list of those that are shown, page by page."""
    if not len(crossings):
        return fill(
            '<section id="crossings"><h2>Crossings</h2><p class="empty">No crossing can be shown.</p></section>'
        )
    counts = _counts(crossings)
    body = joined(
        fill(
            '<tr><th scope="row">{name}</th>{cells}</tr>',
            name=name,
            cells=joined(fill(_CELL, head=key, value=int(row[key])) for key in counts.columns),
        )
        for name, row in counts.iterrows()
    )
    return fill(
        '<section id="crossings"><h2 id="crossings-heading">{caption}</h2>'
        '<div class="wide" role="region" aria-labelledby="crossings-heading" tabindex="0"><table><thead><tr>{heads}'
        '</tr></thead><tbody>{body}</tbody></table></div><div id="crossing-list" class="screen"></div></section>',
        caption="Crossings counted by taxon and condition, all records",
        heads=joined(fill('<th scope="col">{head}</th>', head=head) for head in ["Taxon", *counts.columns]),
        body=body,
    )


def _counts(crossings: gpd.GeoDataFrame) -> pd.DataFrame:
    keys = [sign.key for sign in CONDITIONS]
    written = crossings.get("condition", pd.Series(keys[-1], index=crossings.index))
    condition = written.where(written.isin(keys), keys[-1])
    taxon = pd.Series(texts_of(crossings, "taxon", otherwise="name not known"), index=crossings.index)
    return pd.crosstab(taxon, condition).reindex(columns=keys, fill_value=0)


def measure_table(measures: gpd.GeoDataFrame) -> Markup:
    """Every measure built, with a button that shows it on the map."""
    values = _values(measures, list(MEASURE_LABELS))
    return plain_table(
        "measures",
        "Measures built",
        ["Measure", *MEASURE_LABELS.values()],
        [[f"Measure {place + 1}", *row] for place, row in enumerate(values)],
        show="measures",
        empty="No measure is on record.",
    )


def cell_table(cells: gpd.GeoDataFrame) -> Markup:
    """Squares with masked records, as the public sees nests and sensitive animals."""
    rows = [
        [f"Square {index + 1}", str(row["what"]), str(row["records"]), str(row["months"])]
        for index, row in enumerate(cells.to_dict("records"))
    ]
    return plain_table(
        "squares",
        "Nests and sensitive animals, counted in squares of 10 km",
        ["Square", "What", "Records", "Months with hatch windows"],
        rows,
        show="cells",
        empty="No square holds enough records to be shown.",
    )


def _values(table: gpd.GeoDataFrame, columns: Sequence[str]) -> list[tuple[str, ...]]:
    return list(zip(*(shown_value(table, name) for name in columns), strict=True)) if len(table) else []


def plain_table(  # one call a table; keyword-only where order could confuse
    element_id: str,
    caption: str,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    show: str,
    empty: str,
    notes: Sequence[str] = (),
) -> Markup:
    """
    A section with a table whose every row has a button that shows it on the map.

    Parameters
    ----------
    element_id
        Id of the section.
    caption
        Its heading.
    heads, rows
        Headings, and the texts under them; a column that is blank throughout is left out, the first never.
    show
        Key of the layer that the buttons show.
    empty
        What is said where there is no row.
    notes
        Sentences under the table.
    """
    told = joined(fill('<p class="note">{note}</p>', note=note) for note in notes)
    if not rows:
        body = fill('<p class="empty">{empty}</p>', empty=empty)
        return fill(
            '<section id="{element_id}"><h2>{caption}</h2>{body}{told}</section>',
            element_id=element_id,
            caption=caption,
            body=body,
            told=told,
        )
    used = [0, *(place for place in range(1, len(heads)) if any(row[place] for row in rows))]
    head = joined(fill('<th scope="col">{head}</th>', head=heads[place]) for place in used)
    shown = [heads[place] for place in used]
    body = joined(
        _row(shown, [row[place] for place in used], target=f"{show}-{index}") for index, row in enumerate(rows)
    )
    return fill(
        '<section id="{element_id}"><h2 id="{element_id}-heading">{caption}</h2>'
        '<div class="wide" role="region" aria-labelledby="{element_id}-heading" tabindex="0"><table>'
        '<thead><tr>{head}<th scope="col" class="screen">Map</th></tr></thead><tbody>{body}</tbody></table></div>'
        "{told}</section>",
        element_id=element_id,
        caption=caption,
        head=head,
        body=body,
        told=told,
    )


def _row(heads: Sequence[str], values: Sequence[str], *, target: str) -> Markup:
    """A row; each cell carries its heading, which a phone shows in front of it."""
    cells = joined(
        fill(_DATE if ISO_DATE.fullmatch(value) else _CELL, head=head, value=value)
        for head, value in zip(heads[1:], values[1:], strict=True)
    )
    return fill(
        '<tr><th scope="row">{name}</th>{cells}<td class="screen">'
        '<button type="button" data-show="{target}" aria-label="Show {name} on the map">Show</button></td></tr>',
        name=values[0],
        cells=cells,
        target=target,
    )
