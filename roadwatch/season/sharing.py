"""A season as files in open formats, for the team or for everybody."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, get_args

import geopandas as gpd
import pandas as pd

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records.store import Season
from roadwatch.records.taxa import Taxonomy, taxonomy_of
from roadwatch.season.own_tables import tables_folder
from roadwatch.season.public_view import season_view
from roadwatch.season.shared_archives import public_archive, team_archives
from roadwatch.share.gpx_points import waypoints
from roadwatch.share.masking import TEAM_WORDS
from roadwatch.share.measure_rows import public_measures, team_measures, with_shape_as_text
from roadwatch.share.nest_calendar import public_calendar, team_calendar
from roadwatch.share.public_rows import public_rows
from roadwatch.share.public_words import NOTED_WORDS
from roadwatch.share.team_points import team_points
from roadwatch.share.team_rows import TEAM_KINDS, team_rows
from roadwatch.share.writers import refuse_target, write_bytes, write_layers, write_result, write_text

if TYPE_CHECKING:
    from datetime import date
    from pathlib import Path

    from roadwatch.records.fields import Kind
    from roadwatch.share.masking import Audience

Format = Literal["dwca", "geopackage", "geojson", "gpx", "icalendar", "csv"]
FORMATS: tuple[Format, ...] = get_args(Format)
ENDINGS: dict[Format, tuple[str, ...]] = {
    "dwca": (".zip",),
    "geopackage": (".gpkg",),
    "geojson": (".geojson", ".json"),
    "gpx": (".gpx",),
    "icalendar": (".ics",),
    "csv": (".csv",),
}

LAW_WORDS = (
    "Law, permits and agreements with landowners may forbid passing on places of listed animals or of nests: ask the "
    "agency that gave your permit before you share."
)
NOT_SHARED_WORDS = (
    "People are not in it: starting points are homes. Photographs are not in it either, only their names."
)
NO_SEARCH_WORDS = (
    "Searches, checks, temperatures and nests' own rows are for the team; the public gets crossings, counts in squares "
    "and what was built."
)
NO_MEASURES_WORDS = "This format holds records only: what was built is in GeoPackage, GeoJSON and CSV."
NO_SQUARE_WORDS = "Squares are not in it: a waypoint in the middle of one would lead to a place where nothing was seen."
TITLE = "Turtles on roads"
WINDOW_DAYS = ("nest_id", "hatch_early", "hatch_likely", "hatch_late")


@dataclass(frozen=True)
class Shared:
    """Which files were written, how many rows each holds, and what must be said beside them."""

    files: dict[Path, int]
    notes: tuple[str, ...]


def share_season(
    path: Path,
    *,
    form: Format,
    to: Path,
    audience: Audience,
    as_of: date,
    released_at: str,
    windows: pd.DataFrame | None = None,
) -> Shared:
    """
    Write a season in an open format.

    Parameters
    ----------
    path
        The season file.
    form
        The format.
    to
        The file to write. Kinds that a format cannot hold in one file stand beside it, as ``name-nests.csv``.
    audience
        ``team`` gets everything as it stands; ``public`` what masking allows, noted in the season as a release.
    as_of
        The day for which it holds.
    released_at
        ISO 8601 time, kept with a release.
    windows
        Hatch windows by ``nest_id``, for a calendar.

    Raises
    ------
    UsageError
        The season does not exist, the ending does not fit, or nothing can be written there.
    NotEnoughDataError
        There is nothing that this audience may have in this format.
    """
    _check_ending(to, form)
    refuse_target(to)
    season = Season.open(path)
    taxonomy = taxonomy_of(tables_folder(season))
    if audience == "team":
        held = {str(kind): season.read(kind) for kind in TEAM_KINDS}
        return _share_with_team(season, held, form, to, as_of=as_of, windows=windows, taxonomy=taxonomy)
    view = season_view(
        path,
        audience="public",
        today=as_of,
        windows=windows,
        what=f"share as {form}",
        file_name=to.name,
        released_at=released_at,
    )
    rows = public_rows(view.places, season=path.stem)
    words = view.places.statements
    if form == "icalendar":
        counted = view.places.counted_nests()
        told = windows[windows["nest_id"].isin(counted)] if windows is not None else _no_windows()
        write_bytes(public_calendar(told, season=path.stem, as_of=as_of, words=words), to)
        return Shared({to: 1}, (*words, NOTED_WORDS, LAW_WORDS))
    measures = public_measures(view.measures)
    return _share_with_all(rows, measures, form, to, words=words, as_of=as_of, taxonomy=taxonomy)


def _check_ending(to: Path, form: Format) -> None:
    """
    Refuse a name whose ending belongs to another format.

    Raises
    ------
    UsageError
        The ending is not one of this format.
    """
    if to.suffix.lower() not in ENDINGS[form]:
        raise UsageError(
            f"{to}: a file of format '{form}' ends in {' or '.join(ENDINGS[form])}, not '{to.suffix}'; "
            "name it so, or choose another format with --as"
        )


def _no_windows() -> pd.DataFrame:
    return pd.DataFrame({name: pd.Series([], dtype=object) for name in WINDOW_DAYS})


def _share_with_all(
    rows: gpd.GeoDataFrame,
    measures: gpd.GeoDataFrame,
    form: Format,
    to: Path,
    *,
    words: tuple[str, ...],
    as_of: date,
    taxonomy: Taxonomy,
) -> Shared:
    is_point = rows["what"] == "crossing"
    if rows.empty or (form == "gpx" and not is_point.any()):
        raise NotEnoughDataError(
            "not enough data: nothing of this season can be shown to everybody in this format yet: no crossing that "
            "may stand where it lies, or no square with at least three records; use '--for team' within the team"
        )
    said = " ".join(words)
    notes = (*words, NOTED_WORDS, NO_SEARCH_WORDS, LAW_WORDS)
    no_measures = (NO_MEASURES_WORDS,) if len(measures) else ()
    if form == "gpx":
        points = rows[is_point].assign(
            name=rows["taxon"],
            kind="crossing",
            comment=rows["day"].str.cat(rows["condition"].fillna("condition unknown"), sep=", "),
            time=None,
        )
        write_bytes(waypoints(points, title=TITLE, words=words, made_on=as_of.isoformat()), to)
        return Shared({to: int(is_point.sum())}, (*notes, NO_SQUARE_WORDS, *no_measures))
    if form == "dwca":
        write_bytes(public_archive(rows, title=TITLE, as_of=as_of, words=words, taxonomy=taxonomy), to)
        return Shared({to: len(rows)}, (*notes, *no_measures))
    if form == "geopackage":
        layers = {"crossings": rows[is_point], "squares": rows[~is_point], "measures": measures}
        write_layers({n: t for n, t in layers.items() if len(t)}, to, description=said, team_only=False)
        return Shared({to: len(rows) + len(measures)}, notes)
    return Shared(_public_tables(rows, measures, form, to, said=said, words=words), notes)


def _public_tables(
    rows: gpd.GeoDataFrame, measures: gpd.GeoDataFrame, form: Format, to: Path, *, said: str, words: tuple[str, ...]
) -> dict[Path, int]:
    """GeoJSON or CSV, with what was built in a file beside it, and the words beside a table of text."""
    tables = {to: rows, beside(to, "measures"): measures} if len(measures) else {to: rows}
    for file, table in tables.items():
        is_text = form == "csv" and table is measures
        write_result(with_shape_as_text(table) if is_text else table, file, team_only=False, title=f"{TITLE}. {said}")
    if form == "csv":
        write_text("\n".join([f"What belongs to {to.name}", *words]) + "\n", to.with_suffix(".txt"))
    return {file: len(table) for file, table in tables.items()}


def _share_with_team(
    season: Season,
    held: dict[str, pd.DataFrame],
    form: Format,
    to: Path,
    *,
    as_of: date,
    windows: pd.DataFrame | None,
    taxonomy: Taxonomy,
) -> Shared:
    name, notes = season.path.stem, (TEAM_WORDS, NOT_SHARED_WORDS, LAW_WORDS)
    if all(table.empty for table in held.values()):
        raise NotEnoughDataError("not enough data: the season holds no record; ingest a file first")
    if form == "icalendar":
        days = _no_windows() if windows is None else windows[list(_no_windows().columns)]
        nests = held["nests"].merge(days, on="nest_id")
        write_bytes(team_calendar(nests, season=name, as_of=as_of), to)
        return Shared({to: int(nests["hatch_late"].notna().sum())}, notes)
    if form == "gpx":
        points = team_points(held["crossings"], held["nests"])
        write_bytes(waypoints(points, title=f"{TITLE} (team only)", words=(TEAM_WORDS,), made_on=as_of.isoformat()), to)
        return Shared({to: len(points)}, notes)
    if form == "dwca":
        region = season.settings.get("region") or None
        made = team_archives(held, title=TITLE, as_of=as_of, region=region, own_tables=tables_folder(season))
        files = {beside(to, kind): content for kind, content in made.items()}
        for file, (content, _) in files.items():
            write_bytes(content, file)
        return Shared({file: n for file, (_, n) in files.items()}, notes)
    tables = {str(kind): _team_table(held[kind], kind, taxonomy=taxonomy) for kind in TEAM_KINDS if len(held[kind])}
    if form == "geopackage":
        write_layers(tables, to, description=TEAM_WORDS, team_only=True)
        return Shared({to: sum(map(len, tables.values()))}, notes)
    files_of = {beside(to, kind if k else ""): _placed(table, form) for k, (kind, table) in enumerate(tables.items())}
    for file, table in files_of.items():
        write_result(table, file, team_only=True, title=f"{TITLE}. {TEAM_WORDS}")
    return Shared({file: len(table) for file, table in files_of.items()}, notes)


def beside(path: Path, kind: str) -> Path:
    """
    The name of a further file beside one.

    >>> from pathlib import Path
    >>> beside(Path("out.csv"), "nests").name, beside(Path("out.csv"), "").name
    ('out-nests.csv', 'out.csv')
    """
    return path.with_name(f"{path.stem}-{kind}{path.suffix}") if kind else path


def _team_table(records: pd.DataFrame, kind: Kind, *, taxonomy: Taxonomy) -> pd.DataFrame:
    if kind == "measures" and isinstance(records, gpd.GeoDataFrame):
        measures: pd.DataFrame = team_measures(records, taxonomy=taxonomy)
        return measures
    return team_rows(records, kind, taxonomy=taxonomy)


def _placed(table: pd.DataFrame, form: Format) -> pd.DataFrame:
    """GeoJSON keeps rows without a place as features whose geometry is null; CSV tells a geometry in words."""
    if isinstance(table, gpd.GeoDataFrame):
        return with_shape_as_text(table) if form == "csv" else table
    if form != "geojson" or {"longitude", "latitude"} <= set(table.columns):
        return table
    placeless: pd.DataFrame = gpd.GeoDataFrame(
        table, geometry=gpd.GeoSeries([None] * len(table), crs="EPSG:4326"), crs="EPSG:4326"
    )
    return placeless
