"""What the observers wrote down: animals, names as people write them, certainty, places with their error."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
from make_county import HALF_HEIGHT_M, HALF_WIDTH_M, Floats, Road, chance, latitude, longitude
from make_names import OBSERVERS
from shapely import MultiLineString, Point

if TYPE_CHECKING:
    from make_seasons import Meeting

TIMEZONE = ZoneInfo("America/New_York")
ANIMALS = {  # share of all meetings, English names that a careful and a hasty observer write
    "Trachemys scripta scripta": (0.30, "yellow-bellied slider", "slider"),
    "Trachemys scripta elegans": (0.03, "red-eared slider", "slider"),
    "Pseudemys floridana": (0.15, "coastal plain cooter", "cooter"),
    "Pseudemys concinna": (0.07, "river cooter", "cooter"),
    "Chelydra serpentina": (0.12, "snapping turtle", "snapper"),
    "Terrapene carolina": (0.13, "eastern box turtle", "box turtle"),
    "Deirochelys reticularia": (0.06, "chicken turtle", "chicken turtle"),
    "Kinosternon subrubrum": (0.06, "eastern mud turtle", "mud turtle"),
    "Apalone ferox": (0.04, "Florida softshell", "softshell"),
    "Gopherus polyphemus": (0.02, "gopher tortoise", "gopher tortoise"),
    "Sternotherus odoratus": (0.02, "eastern musk turtle", "musk turtle"),
}
WATER_ANIMALS = ("Terrapene carolina", "Gopherus polyphemus")  # the two that do not gather at ponds
SHELL_MM = {"Chelydra serpentina": 270, "Terrapene carolina": 135, "Kinosternon subrubrum": 95, "Apalone ferox": 320}
SHELL_MM |= {"Sternotherus odoratus": 105, "Deirochelys reticularia": 180, "Gopherus polyphemus": 255}
ERRORS_M = (3, 4, 5, 5, 6, 8, 8, 10, 12, 15, 20, 30)
N_DOUBLES = 6


@dataclass(frozen=True)
class Report:
    """One row as its observer means it; writers put it into the form of each file."""

    when: datetime
    longitude: float
    latitude: float
    position_error_m: int | None
    taxon: str
    written: str
    id_confidence: str
    condition: str
    observer: str
    search_id: str = ""
    count: int = 1
    record_id: str = ""
    date_only: bool = False
    notes: str = "invented"
    more: dict[str, str] = field(default_factory=dict)

    @property
    def observed_at(self) -> str:
        """ISO 8601 with the county's offset, or the date alone."""
        if self.date_only:
            return self.when.date().isoformat()
        return self.when.replace(tzinfo=TIMEZONE).isoformat(timespec="seconds")


def make_reports(meetings: list[Meeting], roads: list[Road]) -> list[Report]:
    """One report for every meeting, six second reports of the same animal, and one from far off any road."""
    rng = chance(8)
    reports = [_report(meeting, rng) for meeting in meetings]
    dead = [k for k, report in enumerate(reports) if report.condition == "dead" and report.id_confidence == "certain"]
    chosen = rng.choice(dead, size=N_DOUBLES, replace=False)
    seconds = [_second_report(reports[k], rng) for k in sorted(chosen)]
    reports = sorted([*reports, *seconds, _off_road(reports, roads)], key=lambda report: report.when)
    per_year = dict.fromkeys((2022, 2023, 2024, 2025), 0)
    for k, report in enumerate(reports):
        per_year[report.when.year] += 1
        reports[k] = replace(report, record_id=f"INV-{report.when.year}-{per_year[report.when.year]:04d}")
    return reports


def _report(meeting: Meeting, rng: np.random.Generator) -> Report:
    error = None if rng.random() < 0.14 else int(rng.choice(ERRORS_M))
    if rng.random() < 0.006:
        error = 250  # put on the map from memory in the evening
    x, y = meeting.place + np.clip(rng.normal(size=2), -1.7, 1.7) * min(error or 9, 60) / 2.2
    taxon = _animal(meeting, rng)
    written, confidence = _name(taxon, OBSERVERS[meeting.observer], rng)
    condition = _condition(meeting, rng)
    return Report(
        when=meeting.when,
        longitude=longitude(x),
        latitude=latitude(y),
        position_error_m=error,
        taxon=taxon,
        written=written,
        id_confidence=confidence,
        condition=condition,
        observer=meeting.observer,
        search_id=meeting.search.search_id if meeting.search else "",
        count=1 if rng.random() > 0.015 else 2,
        date_only=meeting.search is None and rng.random() < 0.12,
        notes=str(
            rng.choice(["invented", "invented; verge mown", "invented; after rain", "invented; wet ditch nearby"])
        ),
        more=_more(taxon, condition, meeting, rng),
    )


def _animal(meeting: Meeting, rng: np.random.Generator) -> str:
    shares = np.array([share for share, _, _ in ANIMALS.values()])
    if meeting.in_hotspot:
        shares = shares * np.array([0.25 if taxon in WATER_ANIMALS else 1.0 for taxon in ANIMALS])
    return str(rng.choice(list(ANIMALS), p=shares / shares.sum()))


def _name(taxon: str, skill: str, rng: np.random.Generator) -> tuple[str, str]:
    """The name and certainty that an observer of this skill writes; sliders and cooters are told apart with doubt."""
    _, careful, hasty = ANIMALS[taxon]
    hard = taxon.startswith(("Trachemys", "Pseudemys", "Deirochelys"))
    doubt = {"expert": 0.05, "trained": 0.18, "novice": 0.42}[skill] * (1.0 if hard else 0.3)
    draw = rng.random()
    if draw < doubt * 0.5:
        return f"{hasty}?", str(rng.choice(["unsure", ""]))
    if draw < doubt:
        return hasty, str(rng.choice(["likely", "unsure", ""]))
    written = careful if skill == "novice" or rng.random() < 0.3 else taxon
    return written, str(rng.choice(["certain", "likely", ""], p=[0.6, 0.2, 0.2]))


def _condition(meeting: Meeting, rng: np.random.Generator) -> str:
    p_dead = 0.86 if meeting.in_hotspot else 0.61
    rest = 1.0 - p_dead
    return str(rng.choice(["dead", "alive", "injured", "unknown"], p=[p_dead, rest * 0.87, rest * 0.07, rest * 0.06]))


def _more(taxon: str, condition: str, meeting: Meeting, rng: np.random.Generator) -> dict[str, str]:
    """The finer columns, filled in now and then."""
    more: dict[str, str] = {"observer_skill": OBSERVERS[meeting.observer] if rng.random() < 0.8 else ""}
    if condition == "dead":
        more["carcass_age"] = str(rng.choice(["fresh", "recent", "old", "dry", ""]))
        more["action"] = str(rng.choice(["carcass_removed", "carcass_marked", "left", ""]))
        more["view"] = "carcass"
    else:
        in_car = meeting.search is not None and meeting.search.method == "car"
        more["view"] = str(rng.choice(["in_hand", "from_above"])) if not in_car else "from_car"
        more["action"] = "moved_across" if condition == "alive" and rng.random() < 0.7 else "left"
        more["heading_deg"] = str(int(rng.integers(0, 36) * 10))
    if rng.random() < 0.3 and more["view"] in ("in_hand", "carcass"):
        more["carapace_mm"] = str(round(SHELL_MM.get(taxon, 225) * float(rng.uniform(0.72, 1.15))))
    if rng.random() < 0.3:
        more["sex"] = str(rng.choice(["female", "male"], p=[0.75, 0.25]))
    more["life_stage"] = str(rng.choice(["adult", "juvenile", ""], p=[0.6, 0.1, 0.3]))
    if taxon == "Trachemys scripta scripta" and more["view"] in ("in_hand", "carcass") and rng.random() < 0.5:
        more["seen_carapace_pattern"] = str(rng.choice(["yellow_vertical_bars", "not_seen"], p=[0.8, 0.2]))
        more["seen_plastron_pattern"] = str(rng.choice(["front_smudges", "none|front_smudges", "not_seen"]))
    return more


def _second_report(first: Report, rng: np.random.Generator) -> Report:
    """The same carcass, met by somebody else a little later and a few metres off."""
    other = str(rng.choice([name for name in OBSERVERS if name != first.observer]))
    return replace(
        first,
        when=first.when + timedelta(minutes=int(rng.integers(40, 300))),
        longitude=round(first.longitude + float(rng.normal(scale=5e-5)), 6),
        latitude=round(first.latitude + float(rng.normal(scale=5e-5)), 6),
        observer=other,
        search_id="",
        date_only=False,
        notes="invented; second report of one animal",
        more={"view": "carcass"},
    )


def _off_road(reports: list[Report], roads: list[Road]) -> Report:
    """A box turtle in the woods, about 900 m from the nearest road: good data, but no crossing."""
    net = MultiLineString([piece for road in roads for piece in road.pieces])
    place = next(p for p in _inner_places() if 895.0 < Point(p).distance(net) < 905.0)
    model = next(r for r in reports if r.when.year == 2024 and r.observer == "Ines Quillfold")
    return replace(
        model,
        longitude=longitude(place[0]),
        latitude=latitude(place[1]),
        position_error_m=8,
        taxon="Terrapene carolina",
        written="Terrapene carolina",
        id_confidence="certain",
        condition="dead",
        search_id="",
        date_only=False,
        notes="invented; shell found in the woods, 900 m from any road",
        more={"view": "carcass"},
    )


def _inner_places() -> Floats:
    """Places 25 m apart over the inner half of the county."""
    x = np.arange(-HALF_WIDTH_M / 2, HALF_WIDTH_M / 2, 25.0)
    y = np.arange(-HALF_HEIGHT_M / 2, HALF_HEIGHT_M / 2, 25.0)
    return np.array([(a, b) for a in x for b in y])
