"""Invented nests beside roads and ponds, and the visits to them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np
from make_county import Floats, Road, chance, latitude, longitude
from make_names import OBSERVERS
from make_rows import Fault, Row, write_table
from make_weather import LOGGER, LOGGER_NEST
from shapely import LineString, MultiLineString, Point

if TYPE_CHECKING:
    from pathlib import Path

NESTS = {2024: 20, 2025: 60}
AS_OF = date(2025, 7, 15)
MOTHERS = {  # share of nests, written names, eggs; for some of them nobody has measured how long eggs take
    "Trachemys scripta": (0.36, ("yellow-bellied slider", "Trachemys scripta scripta", "slider"), 9),
    "Pseudemys floridana": (0.16, ("coastal plain cooter", "Pseudemys floridana", "cooter?"), 15),
    "Chelydra serpentina": (0.16, ("snapping turtle", "Chelydra serpentina"), 28),
    "Gopherus polyphemus": (0.06, ("gopher tortoise",), 6),
    "Terrapene carolina": (0.10, ("eastern box turtle", "Terrapene carolina"), 4),
    "Kinosternon subrubrum": (0.08, ("mud turtle", "Kinosternon subrubrum"), 3),
    "Deirochelys reticularia": (0.05, ("chicken turtle",), 8),
    "Sternotherus odoratus": (0.03, ("musk turtle",), 3),
}
# What all invented nests obey, whatever their taxon: near the sum of warmth that the program takes for sliders.
TRUE_BASE_C, TRUE_SUM_DD, TRUE_WARMER_C = 15.7, 805.0, 1.5
EXPOSURE_C = {"open": 0.8, "partial": 0.0, "closed": -0.9}


@dataclass(frozen=True)
class Nest:
    """One nest and its true story."""

    nest_id: str
    place: Floats
    access: Floats
    mother: str
    laid: date
    found: date
    exposure: str
    is_caged: bool
    hatched: date | None
    end: str


def make_nests(
    roads: list[Road],
    creeks: list[tuple[str, Floats]],
    ponds: list[tuple[str, str, Floats]],
    weather: tuple[list[date], Floats, Floats],
) -> list[Nest]:
    """Eighty nests, a quarter of them of the season before, in order of their ids."""
    rng, nests, fords = chance(12), list[Nest](), _creek_crossings(roads, creeks)
    net = MultiLineString([piece for road in roads for piece in road.pieces])
    for year, n in NESTS.items():
        laid = sorted(_laying_day(year, rng) for _ in range(n))
        found = sorted((day + timedelta(days=int(min(rng.exponential(6.0), 40))), day) for day in laid)
        for k, (found_on, laid_on) in enumerate(found, 1):
            nest_id = f"N{year % 100}-{k:03d}"
            place = _on_a_bank(ponds, rng) if rng.random() < 0.6 else _on_a_verge(roads, fords, rng)
            seen_on = min(found_on, AS_OF - timedelta(days=1))
            nests.append(_nest(nest_id, seen_on, laid_on, place, _nearest_on(net, place), weather, rng))
    return nests


def _laying_day(year: int, rng: np.random.Generator) -> date:
    """Laying from late April to early July, most in late May."""
    return date(year, 5, 24) + timedelta(days=int(np.clip(rng.normal(scale=15), -32, 44)))


def _creek_crossings(roads: list[Road], creeks: list[tuple[str, Floats]]) -> list[tuple[int, float]]:
    """Where creeks pass under roads that matter: number of the road, and metres along it."""
    fords = []
    for k, road in enumerate(roads):
        line = road.line
        for _, creek in creeks:
            meeting = line.intersection(LineString(creek))
            fords += [(k, float(line.project(point))) for point in getattr(meeting, "geoms", [meeting]) if point]
    return [(k, at) for k, at in fords if roads[k].kind in ("county", "highway")]


def _on_a_verge(roads: list[Road], fords: list[tuple[int, float]], rng: np.random.Generator) -> Floats:
    """Beside the road, some way from a creek."""
    k, at = fords[int(rng.integers(len(fords)))]
    line = roads[k].line
    at = float(np.clip(at + rng.normal(scale=220.0), 20.0, line.length - 20.0))
    before, here = line.interpolate(at - 5.0), line.interpolate(at)
    across = np.array([before.y - here.y, here.x - before.x]) / 5.0
    return np.array([here.x, here.y]) + rng.choice([-1, 1]) * rng.uniform(6, 22) * across


def _on_a_bank(ponds: list[tuple[str, str, Floats]], rng: np.random.Generator) -> Floats:
    """Up the bank of a pond or the marsh."""
    ring = ponds[int(rng.integers(len(ponds)))][2]
    bank = ring[int(rng.integers(len(ring)))]
    away = bank - ring[:-1].mean(axis=0)
    return np.asarray(bank + away / np.hypot(*away) * rng.uniform(5, 60) + rng.normal(scale=6.0, size=2))


def _nest(
    nest_id: str,
    found: date,
    laid: date,
    place: Floats,
    access: Floats,
    weather: tuple[list[date], Floats, Floats],
    rng: np.random.Generator,
) -> Nest:
    mothers = list(MOTHERS)
    mother = mothers[int(rng.choice(len(mothers), p=[share for share, _, _ in MOTHERS.values()]))]
    exposure = str(rng.choice(["open", "partial", "closed"], p=[0.55, 0.33, 0.12]))
    has_logger = nest_id == LOGGER_NEST
    if has_logger:
        mother, exposure = "Trachemys scripta", "open"
    hatched = _hatch_day(laid, exposure, weather, rng)
    end = str(rng.choice(["emerged", "depredated_full", "depredated_partial", "flooded", "failed_undeveloped"],
                         p=[0.52, 0.26, 0.1, 0.06, 0.06]))  # fmt: skip
    return Nest(
        nest_id,
        place,
        access,
        mother,
        laid,
        found,
        exposure,
        has_logger or bool(rng.random() < 0.4),
        hatched,
        "emerged" if has_logger else end,
    )


def _nearest_on(net: MultiLineString, place: Floats) -> Floats:
    at = net.interpolate(net.project(Point(place)))
    return np.array([at.x, at.y])


def _hatch_day(
    laid: date, exposure: str, weather: tuple[list[date], Floats, Floats], rng: np.random.Generator
) -> date | None:
    """The day on which the demo's own sum of warmth is reached; None when it lies beyond the weather."""
    days, low_c, high_c = weather
    start = days.index(laid)
    warmth = (low_c[start:] + high_c[start:]) / 2 + TRUE_WARMER_C + EXPOSURE_C[exposure] - TRUE_BASE_C
    reached = np.cumsum(np.maximum(warmth, 0.0)) >= TRUE_SUM_DD * rng.normal(1.0, 0.05)
    return days[start + int(np.argmax(reached))] if reached.any() else None


def write_nests(folder: Path, nests: list[Nest]) -> list[Fault]:
    """The nests, with one row whose finder came before the mother."""
    rng = chance(13)
    rows = [_nest_row(nest, rng) for nest in nests]
    bad = dict(rows[33]) | {"nest_id": "N25-FAULT", "found_at": "2025-05-20", "laid_on": "2025-05-29"}
    rows.insert(34, bad | {"laid_from": "", "laid_to": "", "protected_on": "", "logger_id": ""})
    write_table(folder / "nests.csv", rows)
    return [Fault("nests.csv", 36, "found_at", "found nine days before it was laid")]


def _nest_row(nest: Nest, rng: np.random.Generator) -> Row:
    observer = str(rng.choice(list(OBSERVERS)))
    _, names, eggs = MOTHERS[nest.mother]
    row = {
        "nest_id": nest.nest_id,
        "found_at": nest.found.isoformat(),
        **_laying(nest, rng),
        "longitude": f"{longitude(nest.place[0]):.6f}",
        "latitude": f"{latitude(nest.place[1]):.6f}",
        "position_error_m": str(rng.choice(["3", "4", "5", "8", ""])),
        "taxon": str(rng.choice(names)),
        "id_confidence": str(rng.choice(["certain", "likely", "unsure", "0.9", ""])),
        "depth_cm": str(rng.choice(["", "", "9", "11", "13", "15"])),
        "exposure": nest.exposure if rng.random() < 0.9 else "",
        "clutch_size": str(max(1, round(eggs * float(rng.uniform(0.7, 1.3))))) if nest.is_caged else "",
        "logger_id": LOGGER if nest.nest_id == LOGGER_NEST else "",
        "protected_on": (nest.found + timedelta(days=1)).isoformat() if nest.is_caged else "",
        "protected_off": "",
        "visit_minutes": str(rng.choice(["10", "15", "20", ""])),
        "access_longitude": f"{longitude(nest.access[0]):.6f}",
        "access_latitude": f"{latitude(nest.access[1]):.6f}",
        "landowner_ok": str(rng.choice(["true", "true", "true", "false", ""])),
        "observer": observer,
        "notes": "invented",
    }
    if nest.nest_id == LOGGER_NEST:
        row |= {"taxon": "Trachemys scripta", "id_confidence": "certain", "depth_cm": "12", "exposure": nest.exposure}
    if nest.is_caged and nest.laid.year == 2024:
        row["protected_off"] = date(2024, 10, 20).isoformat()
    return row


def _laying(nest: Nest, rng: np.random.Generator) -> Row:
    """A third were seen being laid, two fifths are bounded, the rest have no date but the day they were found."""
    draw = rng.random()
    blank = {"laid_on": "", "laid_from": "", "laid_to": ""}
    if draw < 0.33 or nest.nest_id == LOGGER_NEST:
        return blank | {"laid_on": nest.laid.isoformat()}
    if draw < 0.73:
        before = nest.laid - timedelta(days=int(rng.integers(1, 9)))
        after = min(nest.found, nest.laid + timedelta(days=int(rng.integers(0, 7))))
        return blank | {"laid_from": before.isoformat(), "laid_to": after.isoformat()}
    return blank


def write_checks(folder: Path, nests: list[Nest]) -> list[Fault]:
    """Visits every ten days or so until the nest's end or the day of the demo; one visit is dated before the laying."""
    rng, rows = chance(14), list[Row]()
    for nest in nests:
        rows += _visits(nest, rng)
    rows.sort(key=lambda row: (row["checked_at"], row["nest_id"]))
    at = next(k for k, row in enumerate(rows) if row["nest_id"] == LOGGER_NEST) + 1
    early = next(n.laid for n in nests if n.nest_id == LOGGER_NEST) - timedelta(days=12)
    rows.insert(at, _check(LOGGER_NEST, early, "intact", next(iter(OBSERVERS))))
    write_table(folder / "nest_checks.csv", rows)
    return [Fault("nest_checks.csv", at + 2, "checked_at", "visited twelve days before the eggs were laid")]


def _visits(nest: Nest, rng: np.random.Generator) -> list[Row]:
    """Intact until the end that fate has chosen; a nest of 2025 is seldom over by mid-July."""
    last = _end_day(nest, rng)
    day, rows, observer = (
        nest.found + timedelta(days=int(rng.integers(3, 12))),
        list[Row](),
        str(rng.choice(list(OBSERVERS))),
    )
    while day < AS_OF and (last is None or day < last):
        rows.append(_check(nest.nest_id, day, "intact", observer))
        day += timedelta(days=int(rng.integers(8, 16)))
    if last is not None and last < AS_OF:
        seen = min(last + timedelta(days=int(rng.integers(0, 4))), AS_OF - timedelta(days=1))
        eggs = MOTHERS[nest.mother][2]
        live = str(max(1, round(eggs * float(rng.uniform(0.5, 1.0))))) if nest.end == "emerged" else ""
        rows.append(_check(nest.nest_id, seen, nest.end, observer) | {"hatchlings_live": live})
    return rows


def _end_day(nest: Nest, rng: np.random.Generator) -> date | None:
    """Emergence follows hatching by a few days; robbers come early, mostly in the first three weeks."""
    if nest.end == "emerged":
        return nest.hatched + timedelta(days=int(rng.integers(1, 9))) if nest.hatched else None
    if nest.end.startswith("depredated"):
        return nest.found + timedelta(days=1 + int(rng.exponential(12.0)))
    return nest.found + timedelta(days=int(rng.integers(30, 95)))


def _check(nest_id: str, day: date, outcome: str, observer: str) -> Row:
    row = {"nest_id": nest_id, "checked_at": day.isoformat(), "outcome": outcome, "hatchlings_live": ""}
    return row | {"observer": observer, "notes": "invented"}
