"""Four invented seasons: who searched which roads, and which animals were met where and when."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

import numpy as np
import numpy.typing as npt
from make_county import Floats, Hotspot, Road, chance
from make_names import OBSERVERS
from shapely import LineString, Point

YEARS = (2022, 2023, 2024, 2025)
LAST_DAY = date(2025, 7, 14)
CELL_M = 50.0
HOTSPOT_TIMES = 60.0
FENCE_BUILT, FENCE_EFFECT = date(2024, 3, 12), 0.2
SEEN_BY = {"foot": 1.0, "bicycle": 0.85, "car": 0.5}
SPEED_KM_H = {"foot": 3.5, "bicycle": 12.0, "car": 38.0}
FOUND_IN_SEARCH = {2022: 108, 2023: 122, 2024: 112, 2025: 86}
CHANCE_FINDS = {2022: 44, 2023: 50, 2024: 44, 2025: 32}
SEARCHES = {2022: 150, 2023: 165, 2024: 165, 2025: 120}


@dataclass
class Search:
    """One outing: whole roads, end to end."""

    search_id: str
    start: datetime
    observer: str
    method: str
    roads: list[str]
    distance_km: float
    track: Floats | None = None

    @property
    def end(self) -> datetime:
        """When it was over, by the usual pace of the method."""
        return self.start + timedelta(minutes=round(60 * self.distance_km / SPEED_KM_H[self.method]) + 4)


@dataclass
class Meeting:
    """One animal met: the true place on the road and what the observer could know."""

    when: datetime
    place: Floats
    road: str
    observer: str
    search: Search | None
    in_hotspot: str
    extra: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Cells:
    """The county's roads in pieces of about 50 m: where an animal can be met."""

    road: npt.NDArray[np.int64]
    middle: Floats
    length_m: Floats
    traffic: Floats
    hotspot: npt.NDArray[np.int64]


def homes() -> dict[str, Floats]:
    """Where each observer lives, metres from the centre: most of them near the town."""
    rng = chance(5)
    return {name: rng.normal(scale=2_600.0, size=2) + np.array([600.0, -500.0]) for name in OBSERVERS}


def cut_cells(roads: list[Road], hotspots: list[Hotspot]) -> Cells:
    """Cut every road into cells and mark those of each hotspot (-1 is none)."""
    columns: list[list[float]] = [[], [], [], [], []]
    for k, road in enumerate(roads):
        line = road.line
        n = max(1, round(line.length / CELL_M))
        for i in range(n):
            at = line.interpolate((i + 0.5) / n, normalized=True)
            default = {"lane": 60.0, "street": 200.0}.get(road.kind, 300.0)
            row = (k, at.x, at.y, line.length / n, road.traffic or default)
            for column, value in zip(columns, row, strict=True):
                column.append(value)
    road_of, x, y, length, traffic = (np.array(column) for column in columns)
    hotspot = np.full(len(x), -1)
    for h, spot in enumerate(hotspots):
        k = next(i for i, road in enumerate(roads) if road.name == spot.road)
        near = np.hypot(x - spot.centre[0], y - spot.centre[1]) <= spot.length_m / 2
        hotspot[near & (road_of == k)] = h
    return Cells(road_of.astype(np.int64), np.column_stack([x, y]), length, traffic, hotspot)


def danger(cells: Cells, hotspots: list[Hotspot], day: date) -> Floats:
    """Relative chance, per metre, of meeting an animal: a little more with traffic, sixty times more in a hotspot."""
    rate = (cells.traffic / 300.0) ** 0.3
    for h, spot in enumerate(hotspots):
        times = HOTSPOT_TIMES if day.year in spot.years else 1.0
        if h == 0 and day >= FENCE_BUILT:
            times *= FENCE_EFFECT
        rate = np.where(cells.hotspot == h, rate * times, rate)
    return np.asarray(rate)


def season_weight(day: date) -> float:
    """Nesting peak in late May, a small second peak in late September, hardly any in winter."""
    n = day.timetuple().tm_yday
    spring = np.exp(-(((n - 146) / 27.0) ** 2) / 2)
    autumn = 0.28 * np.exp(-(((n - 268) / 15.0) ** 2) / 2)
    return float(spring + autumn + 0.02)


def make_searches(roads: list[Road]) -> list[Search]:
    """Outings of four seasons: mostly near home, and a round of every numbered road three times a season."""
    rng, at_home, searches = chance(6), homes(), list[Search]()
    centres = np.array([[road.line.centroid.x, road.line.centroid.y] for road in roads])
    lengths = np.array([road.line.length for road in roads])
    for year in YEARS:
        outings = [_round_of(part, year) for part in _rounds(roads, year)]
        outings += [_free_outing(roads, centres, lengths, at_home, year, rng) for _ in range(SEARCHES[year])]
        outings.sort(key=lambda search: search.start)
        for k, search in enumerate(outings, 1):
            search.search_id = f"S{year % 100}-{k:03d}"
        searches += outings
    return searches


def _rounds(roads: list[Road], year: int) -> list[tuple[date, list[Road]]]:
    """Numbered roads in four parts, driven about once a month."""
    numbered = sorted((road for road in roads if road.route_id), key=lambda road: road.line.centroid.x)
    days = [date(year, 4, 20), date(year, 5, 18), date(year, 6, 15), date(year, 9, 21)]
    days = [day for day in days if day <= LAST_DAY]
    return [(day + timedelta(days=2 * part), numbered[part::4]) for day in days for part in range(4)]


def _round_of(part: tuple[date, list[Road]], year: int) -> Search:
    day, roads = part
    driver = list(OBSERVERS)[(year + day.toordinal()) % 3]
    km = sum(road.line.length for road in roads) / 1_000
    start = datetime(day.year, day.month, day.day, 7, 30)  # noqa: DTZ001  local time, the offset is written later
    return Search("", start, driver, "car", [road.name for road in roads], km)


def _free_outing(
    roads: list[Road], centres: Floats, lengths: Floats, at_home: dict[str, Floats], year: int, rng: np.random.Generator
) -> Search:
    """One person goes out from home, on a day of the season, by some means, along one to four roads."""
    observer = str(rng.choice(list(at_home)))
    method = str(rng.choice(["foot", "bicycle", "car"], p=[0.42, 0.25, 0.33]))
    reach = {"foot": 2_500.0, "bicycle": 4_500.0, "car": 7_000.0}[method]
    longest = {"foot": 6_500.0, "bicycle": 13_000.0, "car": 40_000.0}[method]
    away = np.hypot(*(centres - at_home[observer]).T)
    weight = np.exp(-away / reach) * (lengths < longest) * np.array([bool(road.name) for road in roads])
    weight *= np.sqrt(lengths)
    n = 1 if method == "foot" else int(rng.integers(1, 5))
    chosen = sorted(rng.choice(len(roads), size=n, replace=False, p=weight / weight.sum()))
    km = float(lengths[chosen].sum()) / 1_000
    hour = float(rng.choice([7.0, 8.5, 17.5], p=[0.5, 0.25, 0.25]) + rng.uniform(-0.5, 0.9))
    start = draw_day(year, rng, flat=0.35) + timedelta(minutes=round(60 * hour))
    return Search("", start, observer, method, [roads[k].name for k in chosen], km)


def draw_day(year: int, rng: np.random.Generator, *, flat: float) -> datetime:
    """Midnight of a day between 1 March and 31 October, by the season's shape raised by a flat share."""
    start = date(year, 3, 1)
    days = [start + timedelta(days=k) for k in range(245)]
    days = [day for day in days if day <= LAST_DAY]
    weight = np.array([season_weight(day) + flat for day in days])
    day = days[int(rng.choice(len(days), p=weight / weight.sum()))]
    return datetime(day.year, day.month, day.day)  # noqa: DTZ001  local time, the offset is written later


def make_meetings(roads: list[Road], hotspots: list[Hotspot], searches: list[Search]) -> list[Meeting]:
    """Finds of the searches and chance finds, each year's number fixed, in order of time."""
    rng, cells, meetings = chance(7), cut_cells(roads, hotspots), list[Meeting]()
    for year in YEARS:
        meetings += _finds(roads, hotspots, cells, [s for s in searches if s.start.year == year], rng)
        meetings += _chance_finds(roads, hotspots, cells, year, rng)
    return sorted(meetings, key=lambda meeting: meeting.when)


def _finds(
    roads: list[Road], hotspots: list[Hotspot], cells: Cells, searches: list[Search], rng: np.random.Generator
) -> list[Meeting]:
    """Spread a year's finds over its searches and their cells in proportion to danger, season and method."""
    number = {road.name: k for k, road in enumerate(roads)}
    pairs, weights = [], []
    for search in searches:
        rate = danger(cells, hotspots, search.start.date()) * cells.length_m
        for cell in np.flatnonzero(np.isin(cells.road, [number[name] for name in search.roads])):
            pairs.append((search, int(cell)))
            weights.append(rate[cell] * season_weight(search.start.date()) * SEEN_BY[search.method])
    p = np.array(weights) / np.sum(weights)
    found = []
    for k in sorted(rng.choice(len(pairs), size=FOUND_IN_SEARCH[searches[0].start.year], p=p)):
        search, cell = pairs[k]
        travelled = _share_travelled(cells, cell, [number[name] for name in search.roads]) + rng.uniform(-0.02, 0.02)
        minutes = min(max(travelled, 0.05), 0.95) * (search.end - search.start).total_seconds() / 60
        when = search.start + timedelta(minutes=round(minutes))
        found.append(_meeting(roads, hotspots, cells, cell, when, search.observer, search, rng))
    return found


def _share_travelled(cells: Cells, cell: int, roads: list[int]) -> float:
    """How much of a search lies behind when it reaches a cell: its roads one after the other, each end to end."""
    before = sum(cells.length_m[cells.road == road].sum() for road in roads[: roads.index(int(cells.road[cell]))])
    own = np.flatnonzero(cells.road == cells.road[cell])
    behind = before + cells.length_m[own[own < cell]].sum()
    return float(behind / cells.length_m[np.isin(cells.road, roads)].sum())


def _chance_finds(
    roads: list[Road], hotspots: list[Hotspot], cells: Cells, year: int, rng: np.random.Generator
) -> list[Meeting]:
    """Animals met on the way to somewhere, near somebody's home."""
    found, at_home = [], homes()
    for _ in range(CHANCE_FINDS[year]):
        observer = str(rng.choice(list(at_home)))
        day = draw_day(year, rng, flat=0.0)
        near = np.exp(-np.hypot(*(cells.middle - at_home[observer]).T) / 3_500.0)
        weight = danger(cells, hotspots, day.date()) * cells.length_m * near
        cell = int(rng.choice(len(weight), p=weight / weight.sum()))
        when = day + timedelta(minutes=int(rng.uniform(390, 1_170)))
        found.append(_meeting(roads, hotspots, cells, cell, when, observer, None, rng))
    return found


def _meeting(
    roads: list[Road],
    hotspots: list[Hotspot],
    cells: Cells,
    cell: int,
    when: datetime,
    observer: str,
    search: Search | None,
    rng: np.random.Generator,
) -> Meeting:
    """An animal somewhere within a cell, on the road."""
    road, h = roads[cells.road[cell]], int(cells.hotspot[cell])
    line: LineString = road.line
    at = line.project(Point(cells.middle[cell])) + rng.uniform(-0.5, 0.5) * cells.length_m[cell]
    place = line.interpolate(at)
    spot = hotspots[h].name if h >= 0 and when.year in hotspots[h].years else ""
    return Meeting(when, np.array([place.x, place.y]), road.name, observer, search, spot)
