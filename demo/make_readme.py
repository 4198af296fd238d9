"""The demo's README: the scenario in words, what was planted, and every deliberate fault with its line."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from make_county import latitude, longitude

if TYPE_CHECKING:
    from pathlib import Path

    from make_county import Hotspot
    from make_records import Planted
    from make_rows import Fault

INTRODUCTION = """\
# An invented county

Everything in this folder and in `../layers` is **invented**: the county of Marrowfen, its roads, creeks, ponds, people,
turtles, nests and weather. The map sits at longitude -81.9, latitude 31.7, in the coastal plain of the south-eastern
United States, because the turtles of that region are the ones the story needs; nothing on it depicts what is really
there, and no name belongs to a real place or person. Do not use these numbers for anything but trying the program.

`python demo/make_demo.py` writes all of it again, byte for byte (one seed; needs numpy and shapely).
`steps.toml` lists the commands of the demo in their order. The day on which the demo stands is 2025-07-15.

## The story

Nine people have looked for turtles on the county's roads since 2022: on foot, by bicycle, by car, mostly near the
town where they live, with a round of all numbered roads about once a month. They know turtles unequally well, and
each keeps records in a way of their own. Most searches find nothing, and say so. Sliders and cooters are hard to tell
apart at speed, so many names are doubtful.
"""

AFTER_FILES = """
Crossings follow traffic a little (its 0.3th power), come mostly in May and June with a small second peak in late
September, and about two thirds of the animals are dead. Confidence is written as words, as numbers, or not at all.
All nests hatch by one sum of warmth, near the one that the program takes for sliders: that windows hold here proves
nothing about real nests.
"""

NOT_FAULTS = """
## What looks odd and is meant

- One shell in `crossings_2024.csv` was found in the woods, 900 m from any road: kept, but placed on no road.
- {n_repeated} records stand in two files, one of them in `crossings_2022.csv` and `crossings_2023.csv`, the others in
  `crossings_2025.csv` and `phone_2025.geojson`. They count once:
  {repeated}.
- {n_seconds} animals were reported by two people, some metres and some hours apart; the second one's notes say so.
- A few places were put on the map from memory, with an error of 250 m; many give no error at all.
- Some road pieces are digitised against their measures, some have no name, no speed limit or no traffic count.
- The station's file has lost days, two gaps (nine days in 2011, three in June 2025), and values with a quality flag.
"""

FAULTS = """
## Deliberate faults

A slip that only one change puts right, because the county lies where it lies, is mended and the change is recorded;
every other faulty row must be held back, and no sound one. Lines count from 1 with the header as line 1; in GPX and
GeoJSON files the number is that of the waypoint or feature.

| file | line | column | fault | becomes |
|---|---:|---|---|---|
"""

MENDED = ("longitude and latitude swapped", "minus sign missing")

FILES = {
    "crossings_2022.csv": "the project's own column names, words for confidence, some characters seen",
    "crossings_2023.csv": "semicolons, decimal commas, Windows line ends, byte order mark",
    "crossings_2024.csv": "everyday column names, American dates, no ids",
    "crossings_2025.csv": "Darwin Core names",
    "waypoints_2024.gpx": "a hand-held GPS that is lent round",
    "phone_2025.geojson": "two people's phones",
    "searches_2022.csv": "who searched which roads, end to end",
    "searches_2023.csv": "the same",
    "searches_2024.csv": "the same",
    "searches_2025.csv": "the same, until 14 July",
    "track_2023.gpx": "a walk past the third hotspot that found nothing",
    "track_2024.gpx": "a walk past the first hotspot that found nothing",
    "nests.csv": "nests of 2024 and 2025, laying day seen, bounded or unknown",
    "nest_checks.csv": "visits and what they found",
    "people.csv": "who can visit nests, when, from where",
    "measures.geojson": "a fence of 400 m at the first hotspot, finished 2024-03-12, and two signs",
    "station.dly": "GHCN-Daily layout, 1996 to 15 July 2025, invented station USX000INV01",
    "logger_L07.csv": "a logger in nest N25-007: title line, degrees F, twelve-hour clock",
}


def write_readme(folder: Path, hotspots: list[Hotspot], planted: Planted, faults: list[Fault]) -> None:
    """Write README.md, with the numbers of rows counted in the files beside it."""
    told = NOT_FAULTS.format(
        n_repeated=len(planted.repeated_ids),
        n_seconds=planted.n_second_reports,
        repeated=", ".join(f"`{name}`" for name in planted.repeated_ids),
    )
    rows = [
        f"| `{fault.file}` | {fault.line} | {fault.column} | {fault.what} "
        f"| {'mended' if fault.what in MENDED else 'held back'} |"
        for fault in faults
    ]
    text = INTRODUCTION + _file_table(folder) + AFTER_FILES + _hotspot_table(hotspots) + told + FAULTS
    (folder / "README.md").write_bytes((text + "\n".join(rows) + "\n").encode())


def _file_table(folder: Path) -> str:
    rows = [f"| `{name}` | {_count(folder / name)} | {about} |" for name, about in FILES.items()]
    return "\n| file | rows | what it is |\n|---|---:|---|\n" + "\n".join(rows) + "\n"


def _count(path: Path) -> int:
    text = path.read_text(encoding="utf-8-sig")
    if path.suffix == ".geojson":
        return len(json.loads(text)["features"])
    if path.suffix == ".gpx":
        return text.count("<wpt ") + text.count("<trk>")
    n_head = {".dly": 0}.get(path.suffix, 2 if path.name.startswith("logger") else 1)
    return len(text.splitlines()) - n_head


def _hotspot_table(hotspots: list[Hotspot]) -> str:
    """What hotspot analysis should find again."""
    lines = [
        "\n## The planted pattern\n",
        "On three stretches the chance of meeting an animal is sixty times that of the road before and behind.",
        "The fence cuts the first to a fifth. The program should find the first two, and the third in 2023.\n",
        "| name | road | middle (longitude, latitude) | length | seasons | setting |",
        "|---|---|---|---:|---|---|",
    ]
    for spot in hotspots:
        years = "2022-2025" if len(spot.years) == 4 else ", ".join(map(str, spot.years))
        middle = f"{longitude(spot.centre[0])}, {latitude(spot.centre[1])}"
        lines.append(f"| {spot.name} | {spot.road} | {middle} | {spot.length_m:.0f} m | {years} | {spot.setting} |")
    return "\n".join(lines) + "\n"
