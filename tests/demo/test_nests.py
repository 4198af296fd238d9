"""The nests, their visits, the people, and what was built."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import geopandas as gpd
import pandas as pd
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

UTM_17_NORTH = "EPSG:32617"
# The taxa whose constant-temperature incubation nobody seems to have measured stand here by their written names.
WITHOUT_A_MODEL = {"eastern box turtle", "Terrapene carolina", "mud turtle", "Kinosternon subrubrum", "musk turtle"}


@pytest.fixture(scope="module")
def nests(table: Callable[[str], pd.DataFrame]) -> pd.DataFrame:
    rows = table("nests.csv")
    return rows[rows["nest_id"] != "N25-FAULT"]


@pytest.fixture(scope="module")
def checks(table: Callable[[str], pd.DataFrame]) -> pd.DataFrame:
    return table("nest_checks.csv")


def test_eighty_nests_of_two_seasons_have_ids_of_their_own(nests: pd.DataFrame) -> None:
    assert nests["nest_id"].is_unique
    assert nests["nest_id"].str[:3].value_counts().to_dict() == {"N25": 60, "N24": 20}


def test_laying_days_are_known_bounded_or_unknown(nests: pd.DataFrame) -> None:
    known = nests["laid_on"] != ""
    bounded = (nests["laid_from"] != "") & (nests["laid_to"] != "")
    assert not (known & bounded).any()
    assert min(known.sum(), bounded.sum(), (~known & ~bounded).sum()) >= 12
    assert (nests["laid_from"] <= nests["laid_to"]).all()
    assert (nests["laid_to"] <= nests["found_at"]).all()


def test_some_nests_are_of_taxa_without_a_hatch_model(nests: pd.DataFrame) -> None:
    assert 8 <= nests["taxon"].isin(WITHOUT_A_MODEL).sum() <= 35


def test_exposure_is_told_for_most_nests(nests: pd.DataFrame) -> None:
    assert set(nests["exposure"]) == {"open", "partial", "closed", ""}
    assert nests["exposure"].eq("").mean() < 0.3


def test_cages_go_on_after_the_nest_was_found(nests: pd.DataFrame) -> None:
    caged = nests[nests["protected_on"] != ""]
    assert 15 <= len(caged) <= 50
    assert (caged["protected_on"] > caged["found_at"]).all()


def test_nests_lie_near_still_water_or_on_a_verge_and_not_in_the_water(nests: pd.DataFrame, layers: Path) -> None:
    water = gpd.read_file(layers / "water.geojson").to_crs(UTM_17_NORTH)
    still = water[water["kind"] != "creek"].geometry.union_all()
    roads = gpd.read_file(layers / "roads.geojson").to_crs(UTM_17_NORTH).geometry.union_all()
    places = gpd.GeoSeries.from_xy(nests["longitude"].astype(float), nests["latitude"].astype(float), crs="EPSG:4326")
    places = places.to_crs(UTM_17_NORTH)
    by_water, by_road = places.distance(still) < 150, places.distance(roads) < 30
    assert (by_water | by_road).all()
    assert min(by_water.sum(), by_road.sum()) > 20
    assert (places.distance(still) > 0).mean() > 0.9


def test_every_visit_is_to_a_known_nest(nests: pd.DataFrame, checks: pd.DataFrame) -> None:
    assert set(checks["nest_id"]) <= set(nests["nest_id"])


def test_outcomes_are_of_several_kinds_and_only_the_last_visit_ends_a_nest(checks: pd.DataFrame) -> None:
    assert {"intact", "emerged", "depredated_full", "depredated_partial", "flooded"} <= set(checks["outcome"])
    ended = checks[checks["outcome"] != "intact"].set_index("nest_id")["checked_at"]
    assert ended.index.is_unique
    last = checks.groupby("nest_id")["checked_at"].max()
    assert (ended == last[ended.index]).all()


def test_nests_of_the_season_before_are_over(nests: pd.DataFrame, checks: pd.DataFrame) -> None:
    before = nests.loc[nests["nest_id"].str.startswith("N24"), "nest_id"]
    ended = checks.loc[checks["outcome"] != "intact", "nest_id"]
    assert set(before) <= set(ended)


def test_emergence_comes_seven_weeks_to_five_months_after_the_nest_was_found(
    nests: pd.DataFrame, checks: pd.DataFrame
) -> None:
    """Natural nests of the region's turtles take about 50 to 125 days (common field range, from memory)."""
    emerged = checks[checks["outcome"] == "emerged"].set_index("nest_id")["checked_at"]
    found = nests.set_index("nest_id")["found_at"][emerged.index]
    days = (pd.to_datetime(emerged) - pd.to_datetime(found)).dt.days
    assert days.between(40, 150).all()
    assert len(days) >= 5


def test_eight_people_say_when_and_how_long_they_can_come(table: Callable[[str], pd.DataFrame]) -> None:
    people = table("people.csv")
    assert len(people) == 8
    assert people["hours_per_day"].astype(float).between(0.5, 8).all()
    assert people["may_open_nests"].eq("true").sum() == 2
    assert set(";".join(people["days"]).split(";")) <= {"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"}


def test_a_fence_of_four_hundred_metres_was_built_in_march_2024(demo: Path) -> None:
    measures = gpd.read_file(demo / "measures.geojson").to_crs(UTM_17_NORTH)
    fence = measures[measures["kind"] == "fence"]
    assert fence["built_on"].astype(str).str[:10].tolist() == ["2024-03-12"]
    assert fence.geometry.length.between(395, 405).all()
    assert measures["kind"].eq("sign").sum() == 2


def test_measures_have_no_column_that_could_be_taken_for_the_day_of_building(demo: Path) -> None:
    features = json.loads((demo / "measures.geojson").read_text("utf-8"))["features"]
    assert all("date" not in feature["properties"] for feature in features)
