"""
An invented season of carcasses, living animals and the people who record them, with the truth beside each record.

The simulator shares no number with the program: carcasses last log-normally, positions have heavy tails, deaths come
in wet spells and at culverts, searchers walk weekly and passers-by find by chance, some record a carcass again.
"""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

SPECIES = {  # taxon: share, mean length in mm, family members for which it is mistaken
    "Trachemys scripta": (0.34, 205, ("Pseudemys concinna", "Pseudemys floridana", "Chrysemys picta")),
    "Pseudemys floridana": (0.16, 260, ("Pseudemys concinna", "Trachemys scripta")),
    "Pseudemys concinna": (0.08, 270, ("Pseudemys floridana", "Trachemys scripta")),
    "Chelydra serpentina": (0.12, 290, ("Chelydra serpentina",)),
    "Terrapene carolina": (0.14, 130, ("Deirochelys reticularia",)),
    "Kinosternon subrubrum": (0.10, 90, ("Kinosternon baurii", "Sternotherus odoratus")),
    "Apalone ferox": (0.06, 300, ("Apalone spinifera",)),
}
COARSER = {"Trachemys scripta": "Emydidae", "Pseudemys floridana": "Pseudemys", "Pseudemys concinna": "Pseudemys"}
DAY = np.datetime64("2025-04-01")


@dataclass(frozen=True)
class World:
    """How a season is made; every field can be varied."""

    days: int = 150
    roads: int = 24
    road_m: float = 10_000.0
    deaths: int = 260
    culverts: int = 5
    at_culverts: float = 0.4
    median_days: float = 2.0
    searchers: int = 8
    found_on_search: float = 0.5
    found_by_chance: float = 0.05
    recorded_again: float = 0.4
    crossings: int = 80
    exported_again: bool = False
    fields: dict = field(default_factory=dict)


@dataclass(frozen=True)
class Season:
    """
    (n,) records with canonical columns, their places in metres and on edges, and the truth about each.

    ``animal`` is the animal a record is of, ``telling`` the look it was written from: a copy shares that of its model.
    """

    records: pd.DataFrame
    x_m: np.ndarray
    y_m: np.ndarray
    edge: np.ndarray
    animal: np.ndarray
    telling: np.ndarray

    @property
    def true_pairs(self) -> set[tuple[int, int]]:
        groups = pd.Series(range(len(self.animal))).groupby(self.animal)
        return {(a, b) for _, rows in groups for i, a in enumerate(rows) for b in rows.iloc[i + 1 :]}


def simulate(rng: np.random.Generator, world: World | None = None) -> Season:
    """Make one season from a generator of chance."""
    world = world or World()
    rows = [row | {"telling": k} for k, row in enumerate([*_dead(rng, world), *_living(rng, world)])]
    if world.exported_again:
        rows += _exported_again(rng, rows)
    table = pd.DataFrame([rows[k] for k in rng.permutation(len(rows))])
    return Season(
        records=table.drop(columns=["x_m", "y_m", "edge", "animal", "telling"]),
        x_m=table["x_m"].to_numpy(),
        y_m=table["y_m"].to_numpy(),
        edge=table["edge"].to_numpy(),
        animal=table["animal"].to_numpy(),
        telling=table["telling"].to_numpy(),
    )


def _animals(rng, world, n):
    names = list(SPECIES)
    kind = rng.choice(len(names), n, p=[SPECIES[name][0] for name in names])
    mean_mm = np.array([SPECIES[names[k]][1] for k in kind])
    wet = rng.gamma(0.7, size=world.days)
    culvert = rng.uniform(0, world.road_m, world.culverts), rng.integers(0, world.roads, world.culverts)
    at = np.where(rng.random(n) < world.at_culverts, rng.integers(0, world.culverts, n), -1)
    return pd.DataFrame(
        {
            "taxon": [names[k] for k in kind],
            "length_mm": mean_mm * np.exp(rng.normal(-0.15, 0.3, n)),
            "sex": rng.choice(["female", "male"], n),
            "along_m": np.where(at >= 0, culvert[0][at] + rng.normal(0, 40, n), rng.uniform(0, world.road_m, n)),
            "road": np.where(at >= 0, culvert[1][at], rng.integers(0, world.roads, n)),
            "day": rng.choice(world.days, n, p=wet / wet.sum()),
            "hour": rng.uniform(0, 24, n),
        }
    )


def _dead(rng, world):
    animals = _animals(rng, world, world.deaths)
    searcher_road = rng.integers(0, world.roads, world.searchers)
    weekday = rng.integers(0, 7, world.searchers)
    rows = []
    for number, animal in enumerate(animals.to_dict("records")):
        gone = animal["day"] + animal["hour"] / 24 + world.median_days * np.exp(rng.normal(0, 1.1))
        seen_by, marked = set(), False
        for day in range(animal["day"], min(int(gone) + 1, world.days)):
            finders = [
                (k, f"S{k}-{day}")
                for k in range(world.searchers)
                if searcher_road[k] == animal["road"] and day % 7 == weekday[k] and rng.random() < world.found_on_search
            ]
            finders += [(100 + int(rng.integers(15)), None) for _ in range(rng.poisson(world.found_by_chance))]
            taken = False
            for who, search in finders:
                if taken or (who in seen_by and rng.random() > world.recorded_again):
                    continue
                if marked and rng.random() > 0.15:
                    continue
                at = max(day + rng.uniform(7, 19) / 24, animal["day"] + animal["hour"] / 24 + 0.01)
                row = _record(rng, animal, at=at, who=f"P{who}", search=search, dead=True)
                rows.append(row | {"animal": number})
                seen_by.add(who)
                taken = row["action"] == "carcass_removed"
                marked = marked or row["action"] == "carcass_marked"
            if taken:
                break
    return rows


def _living(rng, world):
    rows = []
    for number, animal in enumerate(_animals(rng, world, world.crossings).to_dict("records")):
        at = animal["day"] + rng.uniform(7, 19) / 24
        people = rng.choice(15, 2 if rng.random() < 0.08 else 1, replace=False)
        for k, who in enumerate(people):
            row = _record(
                rng, animal, at=at + k * rng.exponential(12) / 1440, who=f"P{100 + who}", search=None, dead=False
            )
            rows.append(row | {"animal": 100_000 + number})
    return rows


def _record(rng, animal, *, at, who, search, dead):
    said_m = float(rng.choice([5, 10, 20, 40, np.nan], p=[0.25, 0.35, 0.2, 0.05, 0.15]))
    true_sd = (30 if np.isnan(said_m) else said_m) / 1.515 * np.sqrt(4 / rng.chisquare(4))
    name, sure = _name(rng, animal["taxon"], dead)
    age = at - animal["day"] - animal["hour"] / 24
    moment = DAY.astype("datetime64[m]") + np.timedelta64(int(at * 1440), "m")
    error = rng.normal(0, 0.15 if rng.random() < 0.04 else 0.035)
    stage = "adult" if animal["length_mm"] > 120 else "juvenile" if animal["length_mm"] > 55 else "hatchling"
    along_m = animal["along_m"] + rng.normal(0, true_sd)
    return {
        "observed_at": str(moment) if rng.random() < (0.6 if dead else 0.9) else str(moment)[:10],
        "x_m": along_m,
        "y_m": animal["road"] * 2000 + rng.normal(0, true_sd),
        "edge": animal["road"],
        "position_error_m": said_m,
        "taxon": name,
        "id_confidence": sure,
        "count": 1.0,
        "condition": "dead" if dead else "alive",
        "carcass_age": _age(rng, age) if dead and rng.random() < 0.7 else None,
        "action": str(rng.choice(["left", "carcass_removed", "carcass_marked"], p=[0.7, 0.15, 0.15]))
        if dead
        else "left",
        "life_stage": stage if rng.random() < 0.5 else None,
        "sex": animal["sex"] if rng.random() < 0.25 else "unknown",
        "carapace_mm": round(animal["length_mm"] * np.exp(error)) if rng.random() < 0.4 else np.nan,
        "observer": who,
        "search_id": search,
        "notes": f"by the post {rng.integers(400)}" if rng.random() < 0.2 else None,
        "photo": None,
    }


def _name(rng, taxon, dead):
    """A name and a confidence that is right about as often as it says."""
    if rng.random() < 0.15:
        return COARSER.get(taxon, "Testudines"), 0.95
    sure = float(rng.choice([0.95, 0.8, 0.5], p=[0.4, 0.45, 0.15] if dead else [0.6, 0.35, 0.05]))
    return (taxon if rng.random() < sure else str(rng.choice(SPECIES[taxon][2]))), sure


def _age(rng, days):
    """A class of carcass age, read with an error of a quarter of the age; one in thirty is a slip."""
    classes = ["fresh", "recent", "old", "dry", "remains"]
    if rng.random() < 1 / 30:
        return str(rng.choice(classes))
    seen = days * np.exp(rng.normal(0, 0.25))
    return classes[int(np.digitize(seen, [0.8, 2.5, 6.5, 25]))]


def _exported_again(rng, rows):
    """A third of the people send their records once more: without names, with rounded places, some without times."""
    people = sorted({row["observer"] for row in rows})
    again = set(rng.choice(people, max(len(people) // 3, 1), replace=False))
    step_m, with_time = float(rng.choice([0.5, 1.0, 10.0])), rng.random() < 0.7
    return [
        row
        | {
            "x_m": round(row["x_m"] / step_m) * step_m,
            "y_m": round(row["y_m"] / step_m) * step_m,
            "observed_at": row["observed_at"] if with_time else row["observed_at"][:10],
        }
        for row in rows
        if row["observer"] in again
    ]
