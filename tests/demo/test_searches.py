"""The searches: who went where, most of them in vain, unevenly, but everywhere that matters."""

from __future__ import annotations

from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

YEARS = (2022, 2023, 2024, 2025)
HOTSPOT_ROADS = ("State Route 1907", "Ellickmere Mill Road", "Lornby Road")


@pytest.fixture(scope="module")
def searches(table: Callable[[str], pd.DataFrame]) -> pd.DataFrame:
    return pd.concat([table(f"searches_{year}.csv").assign(year=year) for year in YEARS], ignore_index=True)


@pytest.fixture(scope="module")
def searched(searches: pd.DataFrame) -> pd.DataFrame:
    """One row for every road of every search."""
    return searches.assign(road=searches["roads"].str.split(";")).explode("road")


@pytest.fixture(scope="module")
def roads(layers: Path) -> gpd.GeoDataFrame:
    return gpd.read_file(layers / "roads.geojson")


def test_every_search_has_an_id_of_its_own(searches: pd.DataFrame) -> None:
    assert searches["search_id"].is_unique


def test_people_go_on_foot_by_bicycle_and_by_car(searches: pd.DataFrame) -> None:
    assert set(searches["method"]) == {"foot", "bicycle", "car"}


def test_every_searched_road_is_on_the_map(searched: pd.DataFrame, roads: gpd.GeoDataFrame) -> None:
    assert set(searched["road"]) <= set(roads["road"].dropna())


def test_all_numbered_roads_are_searched_and_the_hotspots_in_every_season(
    searched: pd.DataFrame, roads: gpd.GeoDataFrame
) -> None:
    assert set(roads.loc[roads["route_id"].notna(), "road"]) <= set(searched["road"])
    per_season = searched.groupby(["road", "year"]).size()
    assert all(per_season.get((road, year), 0) >= 2 for road in HOTSPOT_ROADS for year in YEARS)


def test_lanes_near_the_town_are_searched_more_often_than_those_far_out(
    searched: pd.DataFrame, roads: gpd.GeoDataFrame
) -> None:
    town = gpd.GeoSeries.from_xy([-81.9], [31.7], crs="EPSG:4326").to_crs("EPSG:32617").iloc[0]
    lanes = roads[roads["route_id"].isna() & roads["road"].notna()].drop_duplicates("road").to_crs("EPSG:32617")
    times = lanes["road"].map(searched.groupby("road").size()).fillna(0)
    away_m = lanes.geometry.distance(town)
    assert times[away_m < 4_000].mean() > 2 * times[away_m > 8_000].mean()


def test_a_search_says_it_found_none_exactly_when_no_crossing_names_it(
    searches: pd.DataFrame, crossings: pd.DataFrame
) -> None:
    with_finds = searches["search_id"].isin(set(crossings["search_id"]) - {""})
    assert (with_finds == searches["found_none"].eq("false")).all()
    assert 0.4 < searches["found_none"].eq("true").mean() < 0.9


def test_the_distance_is_that_of_the_roads_searched(searched: pd.DataFrame, roads: gpd.GeoDataFrame) -> None:
    km = roads.to_crs("EPSG:32617").length.groupby(roads["road"]).sum() / 1_000
    together = searched["road"].map(km).groupby(searched["search_id"]).sum()
    told = searched.drop_duplicates("search_id").set_index("search_id")["distance_km"].astype(float)
    # UTM stretches lengths by at most 0.1 % here; told to 10 m.
    assert np.abs(together - told).max() < 0.002 * told.max() + 0.01


def test_every_search_ends_after_it_began(searches: pd.DataFrame) -> None:
    start, end = (pd.to_datetime(searches[name], utc=True) for name in ("started_at", "ended_at"))
    assert (end > start).all()
    assert (end - start).max() < pd.Timedelta(hours=6)
