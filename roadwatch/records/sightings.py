"""Crossings made ready for comparing: places, days, minutes and states as arrays, words as numbers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from roadwatch.records.double_values import value
from roadwatch.records.fields import DEFAULT_POSITION_ERROR_M

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy.typing as npt

    Floats = npt.NDArray[np.float64]
    Ints = npt.NDArray[np.int64]

DEAD, LIVING, UNTOLD = 0, 1, 2
_STATES = {"dead": DEAD, "alive": LIVING, "injured": LIVING}
MINUTES_A_DAY = 1440


@dataclass(frozen=True)
class Coded:
    """A column as numbers: (n,) code of each row, -1 for blank, and the (k,) share of rows that bear each code."""

    code: Ints
    share: Floats
    words: tuple[str, ...]

    def both(self, left: Ints, right: Ints) -> npt.NDArray[np.bool_]:
        """True where neither is blank."""
        return np.asarray((self.code[left] >= 0) & (self.code[right] >= 0), dtype=bool)

    def same(self, left: Ints, right: Ints) -> npt.NDArray[np.bool_]:
        """True where both say the same."""
        return np.asarray(self.both(left, right) & (self.code[left] == self.code[right]), dtype=bool)


@dataclass(frozen=True)
class Sightings:
    """
    (n,) arrays of records: places in metres, standard deviation of one axis, day number, minute, state.

    ``minute`` counts from the same zero as ``day`` and is nan where only the day is known; ``edge`` is -1 and
    ``offset_m`` nan where a record is not on a road.
    """

    table: pd.DataFrame
    x_m: Floats
    y_m: Floats
    edge: Ints
    offset_m: Floats
    sd_m: Floats
    day: Ints
    minute: Floats
    state: Ints

    @classmethod
    def of(
        cls,
        records: pd.DataFrame,
        x_m: Floats,
        y_m: Floats,
        *,
        edge: Ints | None = None,
        offset_m: Floats | None = None,
    ) -> Sightings:
        """
        Prepare records.

        Parameters
        ----------
        records
            (n,) rows of kind ``crossings``.
        x_m, y_m
            (n,) places in a metric reference system.
        edge, offset_m
            (n,) the edge of a road network on which each record lies, -1 for none, and metres along it.
        """
        n = len(records)
        error_m = numbers(records, "position_error_m")
        error_m = np.where(np.isnan(error_m), DEFAULT_POSITION_ERROR_M, error_m)
        written = records["observed_at"].astype(str).str.slice(0, 16).to_numpy(dtype="U16")
        moment = written.astype("datetime64[m]").astype(np.int64)
        has_time = np.char.str_len(written) > 10
        return cls(
            table=records,
            x_m=np.asarray(x_m, dtype=np.float64),
            y_m=np.asarray(y_m, dtype=np.float64),
            edge=np.full(n, -1) if edge is None else np.asarray(edge, dtype=np.int64),
            offset_m=np.full(n, np.nan) if offset_m is None else np.asarray(offset_m, dtype=np.float64),
            sd_m=np.maximum(error_m / value("error_radius_per_sd"), value("least_sd_m")),
            day=moment // MINUTES_A_DAY,
            minute=np.where(has_time, moment.astype(np.float64), np.nan),
            state=words(records, "condition").map(_STATES).fillna(UNTOLD).to_numpy().astype(np.int64),
        )

    def apart_m(self, left: Ints, right: Ints) -> Floats:
        """Metres between two records: along the road where both lie on one edge, straight otherwise."""
        straight = np.hypot(self.x_m[left] - self.x_m[right], self.y_m[left] - self.y_m[right])
        on_one = (self.edge[left] >= 0) & (self.edge[left] == self.edge[right])
        return np.asarray(np.where(on_one, np.abs(self.offset_m[left] - self.offset_m[right]), straight))

    def sd_both_m(self, left: Ints, right: Ints) -> Floats:
        """Standard deviation in metres of the difference of two places along one axis."""
        return np.asarray(np.hypot(self.sd_m[left], self.sd_m[right]), dtype=np.float64)

    def days_apart(self, left: Ints, right: Ints) -> Ints:
        """Whole days from the first to the second record."""
        return np.asarray(np.abs(self.day[right] - self.day[left]), dtype=np.int64)

    def numbered(self, name: str, order: Sequence[str]) -> Ints:
        """(n,) place of each record's word in an order, -1 for blank and for other words."""
        place = {word: k for k, word in enumerate(order)}
        return words(self.table, name).map(place).fillna(-1).to_numpy().astype(np.int64)

    def coded(self, name: str, *, blanks: tuple[str, ...] = ()) -> Coded:
        """One column as numbers; words in ``blanks`` count as blank."""
        return coded(words(self.table, name), blanks=blanks)

    def earlier_first(self, left: Ints, right: Ints) -> tuple[Ints, Ints]:
        """Turn each pair so that the earlier record comes first; without times of day the order of rows stands."""
        both = ~np.isnan(self.minute[left]) & ~np.isnan(self.minute[right])
        later = np.where(both, self.minute[left] > self.minute[right], self.day[left] > self.day[right])
        return np.where(later, right, left), np.where(later, left, right)


def words(records: pd.DataFrame, name: str) -> pd.Series:
    """A text column, all blank where there is none."""
    return records[name].astype(object) if name in records else pd.Series(None, index=records.index, dtype=object)


def numbers(records: pd.DataFrame, name: str) -> Floats:
    """A number column, nan where blank or where there is none."""
    if name not in records:
        return np.full(len(records), np.nan)
    return records[name].to_numpy(dtype=np.float64, na_value=np.nan)


def coded(written: pd.Series, *, blanks: tuple[str, ...] = ()) -> Coded:
    """
    Turn words into numbers; capitals and spaces around them do not matter.

    Parameters
    ----------
    written
        (n,) words, None or NaN for blank.
    blanks
        Words that count as blank, such as ``unknown``.
    """
    code, distinct = pd.factorize(written)
    blank = {"", *blanks}
    words_of = [str(word).strip().casefold() for word in distinct]
    again, kept = pd.factorize(np.array([None if word in blank else word for word in words_of], dtype=object))
    code = np.append(again, -1)[code].astype(np.int64)
    counts = np.bincount(code[code >= 0], minlength=len(kept))
    return Coded(code, counts / max(counts.sum(), 1), tuple(kept))
