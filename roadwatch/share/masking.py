"""Who may see which place: the only maker of what a map or a file shows to the public."""

from __future__ import annotations

import json
from dataclasses import InitVar, dataclass
from typing import TYPE_CHECKING, Any, Literal

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.errors import RoadwatchError
from roadwatch.share.grid import square_cells, squares_of
from roadwatch.share.public_words import public_statements
from roadwatch.share.releases import NOTHING_RELEASED, OPEN, Release, plan_release
from roadwatch.share.windows import months_of, with_windows

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    from numpy.typing import NDArray

Audience = Literal["public", "team"]

MASK_FROM_PROBABILITY = 0.05
"""A record is masked when its taxon is a sensitive one with at least this probability (a stated convention)."""

# fmt: off
TEAM_CROSSINGS = [
    "record_id", "observed_at", "taxon", "id_confidence", "count", "condition", "life_stage", "position_error_m",
    "observer", "photo", "notes",
]
PUBLIC_CROSSINGS = ["day", "taxon", "id_confidence", "count", "condition"]
TEAM_NESTS = [
    "nest_id", "taxon", "id_confidence", "found_at", "laid_from", "laid_to", "position_error_m", "protected_on",
    "protected_off", "observer", "notes",
]
# fmt: on

TEAM_WORDS = "Team only: exact places of nests and of sensitive animals. Do not pass on, print for others or post."
_SEAL = object()


@dataclass(frozen=True)
class ShownPlaces:
    """
    Crossings and nests that one audience may see; only :func:`show_places` makes it.

    Parameters
    ----------
    audience
        ``public`` or ``team``.
    crossings
        Points in EPSG:4326 that are shown where they lie, with the columns this audience may read.
    nests
        Points in EPSG:4326 with their windows; always empty for the public.
    cells
        Squares in EPSG:4326 with ``what`` (nests, crossings), ``records`` and ``months``; empty for the team.
    n_masked
        Records shown by their square only.
    n_withheld
        Records not shown at all, because their square holds too few.
    release
        What the union of all releases shows with this one; None for the team.
    statements
        Sentences that belong beside every use of these places.

    Raises
    ------
    RoadwatchError
        It was built by hand instead of by :func:`show_places`.
    """

    audience: Audience
    crossings: gpd.GeoDataFrame
    nests: gpd.GeoDataFrame
    cells: gpd.GeoDataFrame
    n_masked: int
    n_withheld: int
    statements: tuple[str, ...]
    release: Release | None = None
    seal: InitVar[object] = None

    def __post_init__(self, seal: object) -> None:
        if seal is not _SEAL:
            raise RoadwatchError("places can only be shown through show_places(); build none by hand")

    def counted_nests(self) -> list[str]:
        """Names of the nests that a square counts, to choose what may be summed up for the public."""
        if self.release is None:
            return []
        shown = self.release.shown
        return list(shown.loc[(shown["kind"] == "nests") & (shown["square"] != OPEN), "record_key"])


def show_places(
    crossings: pd.DataFrame,
    nests: pd.DataFrame,
    windows: pd.DataFrame | None,
    *,
    audience: Audience,
    today: date,
    sensitive: Collection[str],
    known: Collection[str],
    standing: pd.DataFrame = NOTHING_RELEASED,
) -> ShownPlaces:
    """
    Decide for one audience which crossings and nests are shown, and where.

    Parameters
    ----------
    crossings
        Canonical columns; ``longitude`` and ``latitude`` may be those of the place on the road. The optional column
        ``p_sensitive`` holds the probability that the animal is of a sensitive taxon and is believed over the name.
    nests
        Canonical columns.
    windows
        Hatch windows by ``nest_id``, or None where none were computed.
    audience
        ``team`` sees all places exactly; ``public`` sees nests and sensitive crossings as counts per square.
    today
        The day for which a window is called open or over.
    sensitive
        Names of sensitive taxa and of the families that hold one. Subspecies and genera count with them by name.
    known
        Every name of the taxon table. A name that is not in it may be anything, so its place is masked.
    standing
        What earlier releases made public, by :func:`roadwatch.records.store_releases.standing_records`.

    Returns
    -------
    Sealed places, with sentences on what was masked.

    Raises
    ------
    RoadwatchError
        The audience is neither public nor team.

    Source
    ------
    chapman2020
    """
    if audience == "team":
        return _team_places(crossings, with_windows(nests, windows, today=today))
    if audience == "public":
        mask = must_mask(crossings, sensitive=sensitive, known=known)
        return _public_places(crossings, with_windows(nests, windows, today=today), mask, standing)
    raise RoadwatchError(f"audience '{audience}' is not known; ask for 'public' or 'team'")


def must_mask(records: pd.DataFrame, *, sensitive: Collection[str], known: Collection[str]) -> NDArray[np.bool_]:
    """
    Which records may be of a sensitive taxon, so that their place is not for everybody.

    A name that is blank or not known is masked unless ``p_sensitive`` is below the limit: unknown is not harmless.

    Parameters
    ----------
    records
        Table with ``taxon`` and, where the identification gives it, ``p_sensitive`` and ``verified_taxon``.
    sensitive, known
        As in :func:`show_places`; upper and lower case do not matter.

    Returns
    -------
    (n,) True where the place must be masked.
    """
    touchy = [_words(name) for name in sensitive]
    listed = {" ".join(_words(name)) for name in known}
    written, verified = _column(records, "taxon"), _column(records, "verified_taxon")
    names = {name for name in [*written, *verified] if not _blank(name)}
    masked = {name for name in names if " ".join(_words(name)) not in listed or _is_touchy(_words(name), touchy)}
    by_name = [_blank(name) or name in masked for name in written]
    by_verified = [name in masked for name in verified]
    probability = pd.to_numeric(_column(records, "p_sensitive"), errors="coerce").to_numpy(dtype=float)
    return np.where(np.isnan(probability), np.logical_or(by_name, by_verified), probability >= MASK_FROM_PROBABILITY)


def _words(name: object) -> list[str]:
    """A name in small letters without ``sp.``, ``spp.`` or ``cf.``, which do not change what it can be."""
    return [word for word in str(name).casefold().split() if word not in {"sp.", "spp.", "cf.", "aff."}]


def _is_touchy(name: list[str], sensitive: list[list[str]]) -> bool:
    """A name is a sensitive taxon, lies within one (a subspecies), or could hold one (its genus)."""
    return any(name[: len(other)] == other[: len(name)] for other in sensitive)


def _blank(value: object) -> bool:
    return value is None or value != value or not str(value).strip()  # nan differs from itself


def _column(table: pd.DataFrame, name: str) -> pd.Series[Any]:
    if name in table.columns:
        return table[name]
    return pd.Series([None] * len(table), index=table.index, dtype=object)


def _points(table: pd.DataFrame, columns: list[str]) -> gpd.GeoDataFrame:
    """Keep only the named columns and the place; a missing column stays blank."""
    shown = pd.DataFrame({name: _column(table, name) for name in columns}).reset_index(drop=True)
    places = gpd.points_from_xy(_column(table, "longitude"), _column(table, "latitude"), crs="EPSG:4326")
    return gpd.GeoDataFrame(shown, geometry=places, crs="EPSG:4326")


def _team_places(crossings: pd.DataFrame, nests: pd.DataFrame) -> ShownPlaces:
    window_columns = [name for name in nests.columns if name.startswith("window_")]
    return ShownPlaces(
        audience="team",
        crossings=_points(crossings, TEAM_CROSSINGS),
        nests=_points(nests, TEAM_NESTS + window_columns),
        cells=square_cells([], what=[], records=[], months=[]),
        n_masked=0,
        n_withheld=0,
        statements=(TEAM_WORDS,),
        seal=_SEAL,
    )


def _public_places(
    crossings: pd.DataFrame, nests: pd.DataFrame, mask: NDArray[np.bool_], standing: pd.DataFrame
) -> ShownPlaces:
    hidden, seen = crossings[mask], crossings[~mask]
    masked = pd.concat([_by_square(nests, "nests"), _by_square(hidden, "crossings")], ignore_index=True)
    n_placed = len(masked)
    release = plan_release(masked, _by_content(seen), standing=standing)
    n_masked = int(release.squares["records"].sum())
    shown = _open_crossings(release)
    return ShownPlaces(
        audience="public",
        crossings=shown,
        nests=_points(nests.iloc[:0], ["nest_id"]),
        cells=_cells(release, nests),
        n_masked=n_masked,
        n_withheld=max(n_placed - n_masked, 0) + len(nests) + len(hidden) - n_placed,
        statements=public_statements(len(nests) + len(hidden), len(shown)),
        release=release,
        seal=_SEAL,
    )


def _by_square(records: pd.DataFrame, kind: str) -> pd.DataFrame:
    """The records that have a place, by name and square."""
    named = pd.DataFrame({"kind": kind, "record_key": _keys(records), "square": squares_of(records)}, dtype=object)
    return named.dropna(subset="square")


def _by_content(records: pd.DataFrame) -> pd.DataFrame:
    """Each open record as the public reads it, in one text."""
    told = pd.DataFrame({name: _column(records, name) for name in PUBLIC_CROSSINGS[1:]})
    told.insert(0, "day", _column(records, "observed_at").map(_day))
    told = told.assign(**{name: records[name].round(6) for name in ("longitude", "latitude")})
    told["position_error_m"] = _column(records, "position_error_m")
    texts = [
        json.dumps(row, ensure_ascii=False) for row in told.astype(object).where(told.notna(), None).to_dict("records")
    ]
    return pd.DataFrame({"kind": "crossings", "record_key": _keys(records), "content": texts}, dtype=object)


def _keys(records: pd.DataFrame) -> NDArray[np.object_]:
    name = next((name for name in ("record_key", "record_id", "nest_id") if name in records.columns), None)
    return np.array(records.index if name is None else records[name], dtype=object)


def _open_crossings(release: Release) -> gpd.GeoDataFrame:
    """Open crossings in an order that tells nothing of the season's own."""
    told = release.shown[release.shown["square"] == OPEN]
    rows = pd.DataFrame(
        [json.loads(text) for text in told["content"]],
        columns=[*PUBLIC_CROSSINGS, "longitude", "latitude", "position_error_m"],
    )
    rows = rows.assign(number=told["number"].to_numpy(), first_released_at=told["first_released_at"].to_numpy())
    order = ["day", "longitude", "latitude", "taxon", "condition"]
    rows = rows.sort_values(order, kind="stable", key=lambda cells: cells.map(_sortable))
    return _points(rows, PUBLIC_CROSSINGS)


def _sortable(cell: object) -> tuple[int, float, str]:
    if isinstance(cell, int | float):
        return (0, float(cell), "")
    return (1, 0.0, str(cell or ""))


def _cells(release: Release, nests: pd.DataFrame) -> gpd.GeoDataFrame:
    """The squares shown, with the months of the nests that are counted in each."""
    table = release.squares
    counted = release.shown[release.shown["kind"] == "nests"].set_index("record_key")["square"]
    in_square = pd.Series(_keys(nests), index=nests.index).map(counted)
    months = [
        months_of(nests[in_square == square]) if kind == "nests" else ""
        for kind, square in zip(table["kind"], table["square"], strict=True)
    ]
    return square_cells(list(table["square"]), what=list(table["kind"]), records=list(table["records"]), months=months)


def _day(observed_at: object) -> str | None:
    return None if _blank(observed_at) else str(observed_at)[:10]
