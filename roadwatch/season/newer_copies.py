"""A corrected copy of a whole file: which of its rows take the place of rows held back in the older copy."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.columns import match_columns
from roadwatch.records.fields import ID_FIELD, fields_of
from roadwatch.records.values import with_distinct_names
from roadwatch.season.rows_again import cells_of, columns_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping, Sequence

    from roadwatch.records.fields import Kind
    from roadwatch.records.store import Season
    from roadwatch.records.store_held_back import HeldRow
    from roadwatch.records.tables import RawTable
    from roadwatch.season.rows_again import Cells

COPY_SHARE = 0.8
"""A file is a newer copy of another where it repeats so much of its rows (a convention)."""

FEWEST_ROWS, FEWEST_CELLS = 2, 2
"""Files of fewer rows, and rows with fewer sound cells, are never matched by their likeness (a convention)."""

Place = tuple[int, int]


@dataclass(frozen=True)
class OlderCopies:
    """
    What a file replaces.

    Parameters
    ----------
    replaces
        Line of the file to batch and line of the row held back that it certainly is.
    batches
        Batch of each older copy to its number of open rows.
    """

    replaces: Mapping[int, Place] = field(default_factory=dict)
    batches: Mapping[int, int] = field(default_factory=dict)

    def notes(self, n_replaced: int) -> tuple[str, ...]:
        """Say how many rows of older copies were replaced, and how many wait on."""
        if not self.batches:
            return ()
        n_open = sum(self.batches.values()) - n_replaced
        numbers = ", ".join(map(str, self.batches))
        are = "is replaced by its row" if n_replaced == 1 else "are replaced by their rows"
        told = f"a newer copy of batch {numbers}: {_rows(n_replaced)} held back there {are} in this file"
        left = (
            f"; {_rows(n_open)} held back there cannot be matched for certain and stay{'s' if n_open == 1 else ''} open"
            if n_open
            else ""
        )
        return (f"{told}{left}",)


def find_older_copies(raw: RawTable, kind: Kind, season: Season, *, sha256: str) -> OlderCopies:
    """
    Find the rows held back in older copies of a file that its rows certainly are; nothing is guessed.

    A batch is an older copy where its file had the same columns and four fifths of its rows stand in the new file,
    word for word or, those held back, with all cells but those at fault on the same line; where no row stands there
    word for word, a date at fault must have kept its digits. A row of the new file that
    the older copy did not have is the one held back where it alone bears its id, its wording, or all its cells but
    those at fault, or where it stands on its line with half of its cells, two of which stand nowhere else.

    Parameters
    ----------
    raw
        The new file.
    kind
        Kind of its rows.
    season
        The season.
    sha256
        Digest of the file; its own batches are not older copies.
    """
    written = {str(name) for name in with_distinct_names(raw.rows.iloc[:0]).columns}
    own = {int(str(one["batch"])) for one in season.standing_batches(sha256)}
    by_batch: dict[int, list[HeldRow]] = {}
    for row in season.held_rows():
        if row.kind == kind and row.cells and row.batch not in own and {*columns_in(row.reading)} == written:
            by_batch.setdefault(row.batch, []).append(row)
    replaces: dict[int, Place] = {}
    batches: dict[int, int] = {}
    for number, held in by_batch.items():
        found = _in_batch(raw, kind, season, number, held)
        if found is not None:
            batches[number] = len(held)
            replaces |= {line: place for line, place in found.items() if line not in replaces}
    return OlderCopies(replaces, batches)


def _in_batch(
    raw: RawTable, kind: Kind, season: Season, number: int, held: Sequence[HeldRow]
) -> dict[int, Place] | None:
    """Line to place of the rows of one older copy; None where the file is no copy of it."""
    rows = season.rows_of(number)
    told = rows[rows["record_key"].notna()]
    words_of = dict(zip(raw.lines.tolist(), map(str.strip, raw.originals), strict=True))
    present = set(words_of.values())
    told_words = [str(text).strip() for text in told["original"]]
    n_repeated = sum(text in present for text in told_words)
    if len(rows) < FEWEST_ROWS or n_repeated + len(held) < COPY_SHARE * len(rows):
        return None
    known, keys = set(told_words), {"", *told["record_key"].astype(str)}
    free = cells_of(raw, [line for line, text in words_of.items() if text not in known])
    columns = columns_in(held[0].reading)
    feeds = match_columns(columns, kind)
    at_fault = {row: _at_fault(row, columns, feeds) for row in held}
    times = frozenset(name for name in columns if _is_time(kind, feeds.get(name, "")))
    n_alike = sum(
        row.line in free
        and _has_sound_cells(free[row.line], row, at_fault[row])
        and (n_repeated > 0 or _may_be_same_time(free[row.line], row, at_fault[row] & times))
        for row in held
    )
    if n_repeated + n_alike < COPY_SHARE * len(rows):
        return None
    id_of = _id_reader([*free.values(), *(row.cells or {} for row in held)], kind)
    ids = {line: one for line, cells in free.items() if (one := id_of(cells)) not in keys}
    old_ids = {row: id_of(row.cells or {}) for row in held}
    return _matched(raw, free, at_fault, words_of=words_of, new_ids=ids, old_ids=old_ids)


def _matched(
    raw: RawTable,
    free: Mapping[int, Cells],
    at_fault: Mapping[HeldRow, frozenset[str]],
    *,
    words_of: Mapping[int, str],
    new_ids: Mapping[int, str],
    old_ids: Mapping[HeldRow, str],
) -> dict[int, Place]:
    """Match by id, by wording, by the sound cells, and last by line; each only where it leaves one choice."""
    left, rows = dict(free), dict.fromkeys(at_fault)
    found: dict[int, Place] = {}

    def take(pairs: Iterable[tuple[int, HeldRow]]) -> None:
        for line, row in list(pairs):
            found[line] = (row.batch, row.line)
            del left[line]
            del rows[row]

    take(_one_to_one(new_ids, old_ids))
    take(_one_to_one({line: words_of[line] for line in left}, {row: row.original.strip() for row in rows}))
    for wrong in dict.fromkeys(at_fault[row] for row in rows):
        old = {row: _sound_cells(row.cells or {}, wrong) for row in rows if at_fault[row] == wrong}
        old = {row: cells for row, cells in old.items() if len(cells) >= FEWEST_CELLS}
        take(_one_to_one({line: _sound_cells(cells, wrong) for line, cells in left.items()}, old))
    take([(row.line, row) for row in rows if row.line in left and _is_half_alike(raw, left[row.line], row)])
    return found


def _one_to_one(new: Mapping[int, object], old: Mapping[HeldRow, object]) -> list[tuple[int, HeldRow]]:
    """Pairs of equal keys that stand once on either side."""
    n_new, n_old = Counter(new.values()), Counter(old.values())
    line_of = {key: line for line, key in new.items() if n_new[key] == 1}
    return [(line_of[key], row) for row, key in old.items() if n_old[key] == 1 and key in line_of]


def _id_reader(rows: Iterable[Mapping[str, str]], kind: Kind) -> Callable[[Mapping[str, str]], str]:
    """The cell that names a record, however its column is called; blank text where there is none."""
    written = list(dict.fromkeys(name for cells in rows for name in cells))
    names = [name for name, canonical in match_columns(written, kind).items() if canonical == ID_FIELD.get(kind)]
    return lambda cells: next((cells[name] for name in names if cells.get(name)), "")


def _at_fault(row: HeldRow, columns: Sequence[str], feeds: Mapping[str, str]) -> frozenset[str]:
    """The written columns that feed the fields at fault."""
    wrong = {name for name in row.columns.split(", ") if name}
    return frozenset(name for name in columns if name in wrong or feeds.get(name) in wrong)


def _sound_cells(cells: Mapping[str, str], at_fault: frozenset[str]) -> frozenset[tuple[str, str]]:
    return frozenset((name, text) for name, text in cells.items() if name not in at_fault)


def _has_sound_cells(cells: Mapping[str, str], row: HeldRow, at_fault: frozenset[str]) -> bool:
    sound = _sound_cells(row.cells or {}, at_fault)
    return len(sound) >= FEWEST_CELLS and sound == _sound_cells(cells, at_fault)


def _is_time(kind: Kind, canonical: str) -> bool:
    one = fields_of(kind).get(canonical)
    return one is not None and one.type in ("date", "datetime")


def _may_be_same_time(cells: Cells, row: HeldRow, times: frozenset[str]) -> bool:
    """
    The date at fault was blank or has the same digits in whatever order, zeros and the century left aside.

    The next round over the same places, by the same person in the same order, differs from a mended copy in nothing
    but its dates.
    """
    old = row.cells or {}
    pairs = [(_digits(old[name]), _digits(cells.get(name, ""))) for name in times if old.get(name)]
    return all(new in (digits, sorted([*digits, "2"])) for digits, new in pairs)


def _digits(text: str) -> list[str]:
    return sorted(re.findall(r"[1-9]", text))


def _is_half_alike(raw: RawTable, cells: Cells, row: HeldRow) -> bool:
    """Half of the cells are the same, and some of them stand nowhere else in the file."""
    old = set((row.cells or {}).items())
    same = old & set(cells.items())
    columns = with_distinct_names(raw.rows)
    n_telling = sum(int((columns[name] == text).sum()) == 1 for name, text in same)
    return len(same) >= len(old) / 2 and n_telling >= FEWEST_CELLS


def _rows(n: int) -> str:
    return f"{n} row" if n == 1 else f"{n} rows"
