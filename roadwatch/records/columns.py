"""Which written column is which field: canonical names, Darwin Core terms and everyday names."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from roadwatch.records.coordinates_columns import PlaceColumns, find_place_columns
from roadwatch.records.fields import Field, Kind, fields_of
from roadwatch.records.time_columns import TimeColumns, find_time_columns
from roadwatch.records.written_columns import plain_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

CANONICAL, DARWIN_CORE, EVERYDAY = 3, 2, 1
"""How well a written name fits a field; of two written columns for one field the better fit wins."""

SEEN_PREFIX = "seen_"
"""Columns that hold a character as it was seen, such as ``seen_upper_jaw``."""

_SEEN_NAME = re.compile(rf"{SEEN_PREFIX}[a-z0-9_]{{1,58}}")
_UNIT_ENDING = re.compile(
    r"[\s_]*\(\s*(?P<in_brackets>[^()]+?)\s*\)\s*$"
    r"|[\s_](?P<bare>ft|feet|mi|miles|in|inch|inches|f|m|mm|cm|km|c|deg|utc)\s*$",
    re.IGNORECASE,
)
_ANIMAL_NAMES = frozenset(
    {"taxon", "scientificname", "species", "commonname", "vernacularname", "turtle", "turtlespecies"}
)
"""Names of columns that only crossings and nests have."""

_TELLS: dict[Kind, str] = {
    "nests": r"(?:^|[\W_])nest(?:[\W_]|$)|nestid|laid|laying|clutch",
    "checks": r"nest|outcome|check|hatchlings|unhatched",
    "temperatures": r"temp|tmin|tmax",
    "searches": r"search|survey|start|found_?none|track",
    "people": r"hours|may_?open|weekdays|^days$",
    "measures": r"measure|built|installed",
}
"""A written name that tells each kind from crossings, which need none."""


@dataclass(frozen=True)
class ColumnPlan:
    """
    Which written column feeds which field.

    Parameters
    ----------
    of_field
        Canonical name to written name.
    times
        For date and time fields that more than one written column feeds.
    units
        Canonical name to the unit that stands in the written name, such as ``ft``; only where it is named.
    seen
        Canonical ``seen_*`` name to written name.
    place
        Columns that hold the place in other ways than a number each for longitude and latitude.
    other
        Written names that feed nothing; their cells are kept verbatim.
    notes
        What was decided, for the reader of the intake's report.
    """

    of_field: dict[str, str]
    times: dict[str, TimeColumns] = field(default_factory=dict)
    units: dict[str, str] = field(default_factory=dict)
    seen: dict[str, str] = field(default_factory=dict)
    place: PlaceColumns = field(default_factory=PlaceColumns)
    other: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def match_columns(written: Sequence[str], kind: Kind) -> dict[str, str]:
    """
    Match written column names to the fields of a kind; case, spaces and punctuation do not count.

    Parameters
    ----------
    written
        Column names as they stand in the file.
    kind
        The kind of record.

    Returns
    -------
    Written name to canonical name, only those that match. A date and a time column may share one field.

    Source
    ------
    darwincore

    >>> match_columns(["lat", "lng", "Species", "date", "time"], "crossings")["time"]
    'observed_at'
    """
    plan = plan_columns(written, kind)
    found = {name: canonical for canonical, name in plan.of_field.items()}
    for canonical, columns in plan.times.items():
        joined = (columns.clock, columns.day, columns.zone, *columns.parts)
        found |= {name: canonical for name in joined if name and name not in found}
    return found | {name: canonical for canonical, name in plan.seen.items()}


def guess_kind(written: Sequence[str]) -> Kind | None:
    """
    Guess the kind of record from column names; None where the needed columns of no kind are there.

    >>> guess_kind(["nest_id", "date", "outcome"])
    'checks'
    """
    names = [name.strip().lower() for name in written]
    in_order: tuple[Kind, ...] = ("nests", "crossings") if names_an_animal(names) else (*_TELLS, "crossings")
    return next((kind for kind in in_order if _is_told(kind, names) and _is_whole(written, kind)), None)


def names_an_animal(written: Iterable[str]) -> bool:
    """Tell whether one of the columns can only hold the animal's name, such as ``species``."""
    return any(plain_name(name) in _ANIMAL_NAMES for name in written)


def plan_columns(written: Sequence[str], kind: Kind) -> ColumnPlan:
    """
    Decide which written column feeds which field of a kind.

    The exact canonical name wins over a Darwin Core term, and that over an everyday name; among everyday names the
    order of the field's list decides. What loses is kept verbatim with a note.
    """
    fits = _all_fits(written, kind)
    of_field = _winners(fits)
    place = _place_columns(written, kind, of_field)
    of_field |= place.degrees
    free = [name for name in written if all(name != fit.written for fit in fits)]
    seen = {_seen_name(name): name for name in free if _SEEN_NAME.fullmatch(_seen_name(name))}
    times = find_time_columns(written, kind, of_field)
    paired = {
        name
        for columns in times.values()
        for name in (columns.clock, columns.day, columns.zone, *columns.parts)
        if name
    }
    fed = {*of_field.values(), *seen.values(), *paired, *place.used}
    other = tuple(name for name in written if name not in fed)
    notes = tuple(_note_on_loser(name, fits, of_field) for name in other if any(name == fit.written for fit in fits))
    units = {canonical: unit for canonical, name in of_field.items() if (unit := unit_in_name(name))}
    return ColumnPlan(of_field, times, units, seen, place, other, notes)


def unit_in_name(written: str) -> str:
    """
    The unit that stands at the end of a written column name, in lower case; blank where none does.

    >>> unit_in_name("SCL (in)"), unit_in_name("tmax_f"), unit_in_name("latitude")
    ('in', 'f', '')
    """
    ending = _UNIT_ENDING.search(written)
    return (ending["in_brackets"] or ending["bare"]).lower().strip("°º. ") if ending else ""


@dataclass(frozen=True)
class _Fit:
    written: str
    canonical: str
    strength: tuple[int, int]


def _seen_name(name: str) -> str:
    return re.sub(r"[\W_]+", "_", name.strip().casefold()).strip("_")


def _all_fits(written: Iterable[str], kind: Kind) -> list[_Fit]:
    fits = []
    for name in written:
        for one in fields_of(kind).values():
            strength = _strength(name, one)
            if strength:
                fits.append(_Fit(name, one.name, strength))
    return fits


def _strength(written: str, one: Field) -> tuple[int, int] | None:
    """How well a written name fits a field, or None; a unit in the name is set aside when the whole does not fit."""
    whole, without_unit = plain_name(written), plain_name(_without_unit(written, one))
    for plain in filter(None, dict.fromkeys((whole, without_unit))):
        if plain == plain_name(one.name) or (plain != whole and plain == plain_name(_without_unit(one.name, one))):
            return (CANONICAL, 1 if plain == whole else 0)
        if one.darwin_core and plain == plain_name(one.darwin_core):
            return (DARWIN_CORE, 0)
        names = [plain_name(name) for name in one.synonyms]
        if plain in names:
            return (EVERYDAY, -names.index(plain))
    return None


def _without_unit(name: str, one: Field) -> str:
    """The name before its unit; a word such as 'in' is a unit only where the field has one."""
    ending = _UNIT_ENDING.search(name)
    may_end = ending and (ending["in_brackets"] or one.unit or one.type in ("date", "datetime"))
    return name[: ending.start()] if ending and may_end else name


def _winners(fits: list[_Fit]) -> dict[str, str]:
    """The best fit first; a written column feeds one field only, and a field is fed by one column."""
    of_field: dict[str, str] = {}
    for fit in sorted(fits, key=lambda fit: fit.strength, reverse=True):
        if fit.canonical not in of_field and fit.written not in of_field.values():
            of_field[fit.canonical] = fit.written
    return of_field


def _place_columns(written: Sequence[str], kind: Kind, of_field: dict[str, str]) -> PlaceColumns:
    if not {"longitude", "latitude"} <= fields_of(kind).keys():
        return PlaceColumns()
    taken = {name for canonical, name in of_field.items() if canonical not in ("longitude", "latitude")}
    free = [name for name in written if name not in taken]
    return find_place_columns(free, longitude=of_field.get("longitude"), latitude=of_field.get("latitude"))


def _note_on_loser(name: str, fits: list[_Fit], of_field: dict[str, str]) -> str:
    canonical = next(fit.canonical for fit in fits if fit.written == name)
    return f"column '{name}' is kept as written: '{of_field[canonical]}' already gives {canonical}"


def _is_whole(written: Sequence[str], kind: Kind) -> bool:
    """Every required field of the kind has a column."""
    required = {name for name, one in fields_of(kind).items() if one.required}
    plan = plan_columns(written, kind)
    told = {"longitude", "latitude"} if plan.place.gives_both else set()
    return required <= plan.of_field.keys() | told


def _is_told(kind: Kind, names: Sequence[str]) -> bool:
    return kind not in _TELLS or any(re.search(_TELLS[kind], name) for name in names)
