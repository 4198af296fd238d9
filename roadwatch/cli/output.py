"""How every command shows its result: a readable table, one JSON object, or a file."""

from __future__ import annotations

import json
import math
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd
    from markupsafe import Markup


def plain(value: object) -> object:
    """Turn a value of pandas or numpy into what JSON can hold: no number is ``null``."""
    item = getattr(value, "item", None)
    if callable(item) and getattr(value, "ndim", 0) == 0:
        value = item()
    if isinstance(value, Mapping):
        return {str(key): plain(entry) for key, entry in value.items()}
    if isinstance(value, list | tuple):
        return [plain(entry) for entry in value]
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if value is None or isinstance(value, str | int | bool):
        return value
    return None if str(value) in {"NaT", "<NA>"} else str(value)


def rows_of(table: pd.DataFrame) -> list[dict[str, object]]:
    """The rows of a table as plain dictionaries, geometry left out."""
    flat = table.drop(columns="geometry", errors="ignore")
    return [{str(key): plain(value) for key, value in row.items()} for row in flat.to_dict("records")]


def print_json(result: Mapping[str, object]) -> None:
    """Print one JSON object on standard output."""
    click.echo(json.dumps(plain(result), ensure_ascii=False))


def cell(value: object, *, column: str = "") -> str:
    """One value as a reader wants it: blanks empty, numbers to three digits, places to a metre, mileposts to 0.01."""
    value = plain(value)
    if value is None:
        return ""
    if isinstance(value, float) and column.startswith(("longitude", "latitude")):
        return f"{value:.5f}"
    if isinstance(value, float) and column.startswith("milepost"):
        return f"{value:.2f}"
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 1000 or value == int(value) else f"{value:.3g}"
    return str(value).replace("\n", " ").replace("\r", " ")


def print_table(table: pd.DataFrame, columns: Iterable[str]) -> None:
    """Print chosen columns as aligned text; numbers to the right."""
    names = [name for name in columns if name in table.columns]
    rows = [
        [cell(value, column=name) for name, value in zip(names, row, strict=True)]
        for row in table[names].astype(object).to_numpy()
    ]
    widths = [max(len(name), *(len(row[k]) for row in rows), 0) for k, name in enumerate(names)]
    right = [table[name].dtype.kind in "fiu" for name in names]
    for line in [names, *rows]:
        cells = (text.rjust(w) if r else text.ljust(w) for text, w, r in zip(line, widths, right, strict=True))
        click.echo("  ".join(cells).rstrip())


def print_notes(notes: Iterable[str]) -> None:
    """Print what a reader must know beside the numbers, one sentence a line."""
    for note in notes:
        click.echo(f"- {note}")


def write_output(
    table: pd.DataFrame,
    path: Path,
    *,
    title: str,
    notes: Sequence[str] = (),
    team_only: bool = False,
    figure: Markup | None = None,
) -> None:
    """Write a result by the ending of its file; a page holds notes and figure, beside other files stand the notes."""
    from roadwatch.share.writers import write_result, write_text

    if path.suffix.lower() not in {".html", ".htm"}:
        write_result(table, path, team_only=team_only, title=title)
        if notes:
            write_text("\n".join([f"{title}: what belongs to {path.name}", *notes]) + "\n", path.with_suffix(".txt"))
        return
    from roadwatch.render.table_page import table_page

    flat = table.drop(columns="geometry", errors="ignore")
    rows = [[cell(value, column=str(name)) for name, value in row.items()] for row in flat.to_dict("records")]
    heads = [str(name) for name in flat]
    write_text(table_page(title, heads, rows, notes=notes, team_only=team_only, figure=figure), path)


def report_written(path: Path, *, as_json: bool) -> None:
    """Say which file was written, on standard error when standard output carries JSON."""
    click.echo(f"Wrote {path}", err=as_json)


def progress(label: str) -> Callable[[int, int], None] | None:
    """A callback ``(done, all)`` that shows progress on standard error, or nothing where no one is watching."""
    if not sys.stderr.isatty():
        return None

    def show(done: int, total: int) -> None:
        click.echo(f"\r{label}: {done} of {total}", nl=done >= total, err=True)

    return show
