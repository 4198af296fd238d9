"""
Who may see which place: the only maker of what a map or a file shows to the public.

A masked crossing is counted in a square and never given by its stretch of road, not even one that is masked for a
doubtful name alone. It is masked because it may be of a sensitive taxon; a stretch is some tens of metres to a few
kilometres long and would place it; three on one stretch hold a sensitive one the more surely the more they are; and a
later, better name that takes it off the stretch would point at it. A crossing whose name is found to be harmless
(``amend``, with a verified taxon) is shown where it lies.
"""

from __future__ import annotations

from dataclasses import InitVar, dataclass, replace
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from roadwatch.errors import RoadwatchError
from roadwatch.share.grid import square_cells, squares_of
from roadwatch.share.open_rows import column, is_blank, keys_of, open_contents, open_crossings, points_of
from roadwatch.share.public_words import public_statements
from roadwatch.share.releases import NOTHING_RELEASED, OPEN, Release, numbered, plan_release
from roadwatch.share.windows import months_of, with_windows

if TYPE_CHECKING:
    from collections.abc import Collection
    from datetime import date

    import geopandas as gpd
    from numpy.typing import NDArray

Audience = Literal["public", "team"]

MASK_FROM_PROBABILITY = 0.05
"""A record is masked when its taxon is a sensitive one with at least this probability (a stated convention)."""

# fmt: off
TEAM_CROSSINGS = [
    "record_id", "observed_at", "taxon", "id_confidence", "count", "condition", "life_stage", "position_error_m",
    "observer", "photo", "notes",
]
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

    def as_noted(self, standing: pd.DataFrame) -> ShownPlaces:
        """
        The same places, once their release stands in the season and its records have their numbers.

        Parameters
        ----------
        standing
            What the union of all releases shows, with this one.
        """
        if self.release is None:
            return self
        return replace(self, release=numbered(self.release, standing=standing), seal=_SEAL)


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
        ``p_sensitive`` holds the probability that the animal is of a sensitive taxon.
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

    A name that is blank, not known or of a group that holds harmless taxa too is masked unless ``p_sensitive`` is
    below the limit: unknown is not harmless. A name that can be nothing but sensitive masks whatever the probability
    says, which may rest on a few marks alone; only a second person's name for a harmless taxon lifts that.

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
    touchy, listed = [_words(name) for name in sensitive], [_words(name) for name in known]
    written, verified = column(records, "taxon"), column(records, "verified_taxon")
    names = {name for name in [*written, *verified] if not is_blank(name)}
    masked = {name for name in names if _words(name) not in listed or _is_touchy(_words(name), touchy)}
    certain = {name for name in masked if _is_only_touchy(_words(name), touchy, listed)}
    by_name = np.array([is_blank(name) or name in masked for name in written], dtype=bool)
    by_verified = np.array([name in masked for name in verified], dtype=bool)
    lifted = np.array([not is_blank(name) and name not in masked for name in verified], dtype=bool)
    for_sure = [
        (a in certain and not harmless) or b in certain
        for a, b, harmless in zip(written, verified, lifted, strict=True)
    ]
    probability = pd.to_numeric(column(records, "p_sensitive"), errors="coerce").to_numpy(dtype=float)
    likely = np.where(np.isnan(probability), by_name | by_verified, probability >= MASK_FROM_PROBABILITY)
    masked_rows: NDArray[np.bool_] = np.logical_or(likely, np.array(for_sure, dtype=bool))
    return masked_rows


def _words(name: object) -> list[str]:
    """A name in small letters without ``sp.``, ``spp.`` or ``cf.``, which do not change what it can be."""
    return [word for word in str(name).casefold().split() if word not in {"sp.", "spp.", "cf.", "aff."}]


def _is_only_touchy(name: list[str], sensitive: list[list[str]], known: list[list[str]]) -> bool:
    """A name is a sensitive species, lies within one, or is of a genus all of whose known species are sensitive."""
    species = [other for other in sensitive if len(other) > 1 and other[-1] != "group"]
    kin = [other for other in known if other[0] == name[0] and len(other) > 1] if len(name) == 1 else [name]
    return bool(kin) and all(any(one[: len(other)] == other for other in species) for one in kin)


def _is_touchy(name: list[str], sensitive: list[list[str]]) -> bool:
    """A name is a sensitive taxon, lies within one (a subspecies), or could hold one (its genus)."""
    return any(name[: len(other)] == other[: len(name)] for other in sensitive)


def _team_places(crossings: pd.DataFrame, nests: pd.DataFrame) -> ShownPlaces:
    window_columns = [name for name in nests.columns if name.startswith("window_")]
    return ShownPlaces(
        audience="team",
        crossings=points_of(crossings, TEAM_CROSSINGS),
        nests=points_of(nests, TEAM_NESTS + window_columns),
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
    release = plan_release(masked, open_contents(seen), standing=standing)
    n_masked = int(release.squares["records"].sum())
    shown = open_crossings(release)
    return ShownPlaces(
        audience="public",
        crossings=shown,
        nests=points_of(nests.iloc[:0], ["nest_id"]),
        cells=_cells(release, nests),
        n_masked=n_masked,
        n_withheld=max(n_placed - n_masked, 0) + len(nests) + len(hidden) - n_placed,
        statements=public_statements(len(nests) + len(hidden), len(shown)),
        release=release,
        seal=_SEAL,
    )


def _by_square(records: pd.DataFrame, kind: str) -> pd.DataFrame:
    """The records that have a place, by name and square."""
    named = pd.DataFrame({"kind": kind, "record_key": keys_of(records), "square": squares_of(records)}, dtype=object)
    return named.dropna(subset="square")


def _cells(release: Release, nests: pd.DataFrame) -> gpd.GeoDataFrame:
    """The squares shown, with the months of the nests that are counted in each."""
    table = release.squares
    counted = release.shown[release.shown["kind"] == "nests"].set_index("record_key")["square"]
    in_square = pd.Series(keys_of(nests), index=nests.index).map(counted)
    months = [
        months_of(nests[in_square == square]) if kind == "nests" else ""
        for kind, square in zip(table["kind"], table["square"], strict=True)
    ]
    return square_cells(list(table["square"]), what=list(table["kind"]), records=list(table["records"]), months=months)
