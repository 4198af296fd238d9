"""From a season file to the question whether its measures lowered the deaths."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.traffic import road_classes
from roadwatch.records.store import Season
from roadwatch.roads.effort import search_effort
from roadwatch.roads.near import stretches_near
from roadwatch.roads.network import Network, build_network
from roadwatch.roads.stretches import Stretches, cut_stretches, stretch_table
from roadwatch.season.animals import find_animals
from roadwatch.season.road_records import in_parts
from roadwatch.siting.evaluation import Evaluation, Tally, evaluate_measures
from roadwatch.siting.evaluation_controls import N_CONTROLS, Surroundings
from roadwatch.siting.evaluation_places import measure_places

if TYPE_CHECKING:
    from pathlib import Path


def season_evaluation(path: Path, *, rng: np.random.Generator, n_controls: int = N_CONTROLS) -> Evaluation:
    """
    Judge every measure on file.

    Parameters
    ----------
    path
        The season file.
    rng
        Source of chance, for intervals and power.
    n_controls
        Sections of road that each measure is compared with.

    Raises
    ------
    UsageError
        The season does not exist.
    NotEnoughDataError
        There is no measure or no search on file, or no measure can be judged; the message says what is missing.
    """
    season = Season.open(path)
    measures, searches = season.read("measures"), season.read("searches")
    if measures.empty:
        raise NotEnoughDataError(
            f"not enough data: no measure on file; add what was built with 'roadwatch layer {path} FILE --as measures'"
        )
    if searches.empty:
        raise NotEnoughDataError(
            "not enough data: no search on file, so deaths before and after cannot be compared; ingest searches"
        )
    network = build_network(season.read("roads"))
    stretches = cut_stretches(network)
    places, apart = measure_places(network, stretches, measures)
    tally, notes = count_by_span(season, network, stretches, measures, searches)
    found = evaluate_measures(
        measures,
        places,
        apart=apart,
        around=_surroundings(season, network, stretches),
        tally=tally,
        rng=rng,
        n_controls=n_controls,
    )
    return Evaluation(_with_places(found.table, measures), (*notes, *found.notes))


def _with_places(table: pd.DataFrame, measures: pd.DataFrame) -> pd.DataFrame:
    """The table with the shape of each measure, so that it can be put on a map."""
    if not isinstance(measures, gpd.GeoDataFrame):
        return table
    shapes = measures.drop_duplicates("measure_id").set_index("measure_id").geometry
    placed: pd.DataFrame = gpd.GeoDataFrame(table, geometry=table["measure_id"].map(shapes).tolist(), crs=measures.crs)
    return placed


def count_by_span(
    season: Season, network: Network, stretches: Stretches, measures: pd.DataFrame, searches: pd.DataFrame
) -> tuple[Tally, tuple[str, ...]]:
    """
    Count deaths found on searches, and kilometres searched, in spans cut at each year and each day of building.

    Parameters
    ----------
    season
        An open season.
    network, stretches
        Its roads, and the stretches cut from them.
    measures, searches
        Its measures and searches.

    Returns
    -------
    The tally, and in words what was used and left out.
    """
    cuts = np.unique(pd.concat([measures["built_on"], measures["removed_on"]]).dropna().astype(str))
    dated = searches[searches["started_at"].notna()]
    animals = find_animals(season, network)
    is_dead = (animals.records["condition"] == "dead").to_numpy(dtype=bool)
    dead = animals.merged_view(is_dead) if is_dead.any() else animals.records[is_dead]
    on_road = dead[(dead["edge"] >= 0) & dead["observed_at"].notna()]
    found = on_road[on_road["search_id"].isin(dated["search_id"])]
    search_span, death_span = _spans(dated["started_at"], cuts), _spans(found["observed_at"], cuts)
    spans = sorted({*search_span, *death_span})
    number = {span: at for at, span in enumerate(spans)}
    codes = pd.Series([f"{number[span]:04d}" for span in search_span], index=dated.index, dtype=object)
    effort = search_effort(network, stretches, dated.assign(started_at=codes))
    km = np.zeros((len(spans), len(stretches.edge)))
    for span, of_span in effort.km_by_year.items():
        km[span] = np.nan_to_num(of_span)
    deaths = np.zeros_like(km)
    row = np.array([number[span] for span in death_span], dtype=np.int64)
    parts = in_parts(network, stretches, found.assign(weight=1.0, row=row))
    if len(parts):
        edge, offset_m = parts["edge"].to_numpy(dtype=np.int64), parts["offset_m"].to_numpy(dtype=np.float64)
        where = (parts["row"].to_numpy(dtype=np.int64), stretches.of_place(edge, offset_m))
        np.add.at(deaths, where, parts["weight"].to_numpy(dtype=np.float64))
    since = np.array([cuts[cut - 1] if cut else "" for _, cut in spans], dtype=object)
    said = (
        (
            f"{len(found)} of {len(dead)} dead animals were found on the {len(dated)} searches and are used; "
            f"{_counted(len(dead) - len(on_road), 'lies on no road', 'lie on no road')}, "
            f"{_counted(len(on_road) - len(found), 'is a chance find', 'are chance finds')}."
        ),
        *animals.notes(is_dead),
        *effort.notes,
    )
    return Tally(np.array([year for year, _ in spans], dtype=np.int64), since, deaths, km), said


def _counted(n: int, one: str, many: str) -> str:
    return f"{n} {one if n == 1 else many}"


def _spans(moments: pd.Series, cuts: np.ndarray) -> list[tuple[int, int]]:
    """The year, and the number of cuts on or before the day, of each moment."""
    days = moments.astype(str).str[:10].to_numpy(dtype=str)
    past = np.searchsorted(cuts.astype(str), days, side="right") if len(cuts) else np.zeros(len(days), dtype=np.int64)
    return [(int(day[:4]), int(cut)) for day, cut in zip(days, past, strict=True)]


def _surroundings(season: Season, network: Network, stretches: Stretches) -> Surroundings:
    table = stretch_table(network, stretches)
    water = season.read("water")
    n = len(stretches.edge)
    return Surroundings(
        road=table["road"].to_numpy(dtype=object),
        road_part=table["road_part"].to_numpy(dtype=np.int64),
        middle_m=((table["from_m"] + table["to_m"]) / 2.0).to_numpy(),
        length_m=stretches.length_m,
        road_class=road_classes(network.edges)[stretches.edge],
        traffic=network.edges["traffic_per_day"].to_numpy(dtype=np.float64)[stretches.edge],
        near_water=stretches_near(network, stretches, water) if len(water) else np.zeros(n, dtype=bool),
    )
