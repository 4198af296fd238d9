"""How many kilometres of each stretch were searched in each year."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from roadwatch.roads.tracks import TRACK_WITHIN_M, is_track, match_tracks

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from roadwatch.roads.arrays import FloatArray, IntArray
    from roadwatch.roads.network import Network
    from roadwatch.roads.stretches import Stretches

SAME_LENGTH_SHARE = 0.02
"""A stated distance within this share of the roads' length is taken as that length: odometers differ (a convention)."""
NAMED_AT_MOST = 5
"""A note names this many searches and counts the rest."""
COLUMNS = ["search_id", "started_at", "roads", "track", "distance_km"]


@dataclass(frozen=True)
class Effort:
    """
    Kilometres searched, as passes along the road: raw, without weights for method, sides or observer.

    Parameters
    ----------
    km_by_year
        Year -> (s,) kilometres searched on each stretch. nan where no search of any year went: unknown, never zero.
        A stretch that was searched in another year only has 0.
    total_km
        All kilometres searched on these roads, over all years.
    n_counted
        Number of searches that were counted.
    notes
        What was scaled, assumed or left out, with the searches it concerns.
    unmatched
        Names, as written, that no road or route of the layer has.
    """

    km_by_year: dict[int, FloatArray]
    total_km: float
    n_counted: int
    notes: tuple[str, ...]
    unmatched: tuple[str, ...]


@dataclass(frozen=True)
class _Pass:
    """Kilometres that one search adds to some stretches."""

    row: int
    stretch: IntArray
    km: FloatArray


def search_effort(network: Network, stretches: Stretches, searches: pd.DataFrame) -> Effort:
    """
    Count the kilometres searched per stretch and year from the searches' tracks or road names.

    A track counts where it runs within 30 m of a road. Without a track each road named counts in whole, once; where
    the stated distance is shorter than the roads named, their kilometres are scaled down to it.

    Parameters
    ----------
    network
        The roads.
    stretches
        The stretches cut from them.
    searches
        Table of searches with ``search_id started_at roads track distance_km``; missing columns count as blank.
    """
    rows = searches.reindex(columns=COLUMNS).reset_index(drop=True)
    rows["distance_km"] = pd.to_numeric(rows["distance_km"], errors="coerce").astype(float)
    year = pd.to_numeric(rows["started_at"].astype("string").str[:4], errors="coerce").to_numpy(
        dtype=float, na_value=np.nan
    )
    notes: list[str] = []
    by_track = _track_passes(network, stretches, rows, notes)
    without_track = rows.drop(index=[one.row for one in by_track])
    own_stretches = _stretches_by_name(network, stretches)
    by_name = list(_name_passes(own_stretches, stretches, without_track, notes))
    unmatched = _unmatched(without_track, own_stretches, notes)
    dated = [one for one in [*by_track, *by_name] if np.isfinite(year[one.row])]
    uncounted = rows.index.difference([one.row for one in dated])
    _note(notes, rows, uncounted, "not counted: no track or road name that lies on these roads, or no date")
    return _summed(dated, year, len(stretches.edge), notes, unmatched)


def _summed(
    passes: list[_Pass], year: FloatArray, n_stretches: int, notes: list[str], unmatched: tuple[str, ...]
) -> Effort:
    km: dict[int, FloatArray] = {}
    is_searched = np.zeros(n_stretches, dtype=bool)
    for one in passes:
        km.setdefault(int(year[one.row]), np.zeros(n_stretches))[one.stretch] += one.km
        is_searched[one.stretch] = True
    by_year = {one: np.where(is_searched, km[one], np.nan) for one in sorted(km)}
    total_km = float(sum(one.km.sum() for one in passes))
    return Effort(by_year, total_km, len(passes), tuple(notes), unmatched)


def _track_passes(network: Network, stretches: Stretches, rows: pd.DataFrame, notes: list[str]) -> list[_Pass]:
    """Passes of the searches that have a readable track."""
    written = rows["track"][_is_filled(rows["track"])]
    with np.errstate(invalid="ignore"):  # shapely warns of nan in WKT; such a track is refused below
        shapes = shapely.from_wkt(written.to_numpy(dtype=object), on_invalid="ignore")
    is_line = is_track(shapes)
    _note(
        notes,
        rows,
        written.index[~is_line],
        "the track is not a line of longitudes and latitudes in WKT, such as LINESTRING (-82.3 29.6, -82.4 29.6)",
    )
    row_of = written.index[is_line].to_numpy()
    if not len(row_of):
        return []
    passes = match_tracks(network, stretches, shapes[is_line])
    is_off = passes.off_road_m > np.maximum(0.02 * passes.all_m, TRACK_WITHIN_M)
    _note(
        notes,
        rows,
        row_of[is_off],
        f"{passes.off_road_m[is_off].sum() / 1000:.2f} km of track lie more than {TRACK_WITHIN_M:g} m from any road "
        "and are not counted",
    )
    found = []
    for track, row in enumerate(row_of.tolist()):
        own = passes.track == track
        if own.any():
            found.append(_Pass(row, passes.stretch[own], passes.length_m[own] / 1000.0))
    return found


def _name_passes(
    own_stretches: dict[str, IntArray], stretches: Stretches, rows: pd.DataFrame, notes: list[str]
) -> Iterator[_Pass]:
    """Passes of the searches that name roads, scaled to the stated distance where that is shorter."""
    scaled: list[int] = []
    longer: list[int] = []
    filled = rows[_is_filled(rows["roads"])]
    for row, text, stated_km in zip(filled.index.tolist(), filled["roads"], filled["distance_km"], strict=True):
        named = {_plain(name) for name in _names_in(text)} & own_stretches.keys()
        if not named:
            continue
        stretch = np.concatenate([own_stretches[name] for name in sorted(named)])
        km = stretches.length_m[stretch] / 1000.0
        share = stated_km / km.sum()
        if share < 1.0 - SAME_LENGTH_SHARE:
            scaled.append(row)
            km = km * share
        elif share > 1.0 + SAME_LENGTH_SHARE:
            longer.append(row)
        yield _Pass(row, stretch, km)
    _note(notes, rows, scaled, "the stated distance is shorter than the roads named; their kilometres are scaled to it")
    _note(notes, rows, longer, "the stated distance is longer than the roads named; each road is counted once")


def _stretches_by_name(network: Network, stretches: Stretches) -> dict[str, IntArray]:
    """The stretches of each road by its plain name; a route by its plain number where no road is called that."""
    found: dict[str, IntArray] = {}
    for column in ("route_id", "road"):
        written = network.edges[column]
        name = written.where(written.notna(), "").map(_plain).to_numpy(dtype=object)[stretches.edge]
        order = np.argsort(name, kind="stable")
        starts = np.flatnonzero(np.r_[True, name[order][1:] != name[order][:-1]])
        found.update({name[own[0]]: own for own in np.split(order, starts[1:]) if name[own[0]]})
    return found


def _unmatched(rows: pd.DataFrame, known: dict[str, IntArray], notes: list[str]) -> tuple[str, ...]:
    """Names that no road has, as written, each once."""
    written = [name for text in rows["roads"][_is_filled(rows["roads"])] for name in _names_in(text)]
    missing = {_plain(name): name for name in reversed(written) if _plain(name) not in known}
    unmatched = tuple(dict.fromkeys(name for name in written if name in missing.values()))
    if unmatched:
        notes.append(f"roads named in searches that the layer does not have, not counted: {'; '.join(unmatched)}")
    return unmatched


def _names_in(text: str) -> list[str]:
    return [name.strip() for name in text.split(";") if name.strip()]


def _plain(name: str) -> str:
    """A name without regard to case and to how wide its gaps are."""
    return " ".join(str(name).split()).casefold()


def _is_filled(column: pd.Series) -> pd.Series:
    return column.notna() & (column.astype("string").str.strip() != "").fillna(value=False).astype(bool)


def _note(notes: list[str], rows: pd.DataFrame, which: Iterable[int], what: str) -> None:
    """Add a note that names the searches it concerns, if there are any."""
    names = [str(rows["search_id"][row]) for row in which]
    if names:
        more = f" and {len(names) - NAMED_AT_MOST} more" if len(names) > NAMED_AT_MOST else ""
        notes.append(f"search {', '.join(names[:NAMED_AT_MOST])}{more}: {what}")
