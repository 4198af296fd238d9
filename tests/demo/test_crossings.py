"""The crossings tell the story that README.md promises: numbers, seasons, taxa, and three planted hotspots."""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

import geopandas as gpd
import numpy as np
import pyogrio
import pyproj
import pytest
from scipy.stats import binomtest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import pandas as pd

FILES = [
    "crossings_2022.csv",
    "crossings_2023.csv",
    "crossings_2024.csv",
    "crossings_2025.csv",
    "waypoints_2024.gpx",
    "phone_2025.geojson",
]
EARTH = pyproj.Geod(ellps="WGS84")
UTM_17_NORTH = "EPSG:32617"


def hotspots(demo: Path) -> list[tuple[str, float, float, float, str]]:
    """Name, longitude, latitude, length in metres and seasons, from the table of README.md."""
    rows = re.findall(
        r"^\| ([\w ]+) \| [\w ]+ \| (-[\d.]+), ([\d.]+) \| (\d+) m \| ([\d, -]+) \|",
        (demo / "README.md").read_text("utf-8"),
        re.MULTILINE,
    )
    return [(name, float(lon), float(lat), float(length), years) for name, lon, lat, length, years in rows]


def within_m(rows: pd.DataFrame, lon: float, lat: float, reach_m: float) -> pd.DataFrame:
    n = len(rows)
    _, _, away = EARTH.inv(np.full(n, lon), np.full(n, lat), rows["longitude"], rows["latitude"])
    inside: pd.DataFrame = rows[away <= reach_m]
    return inside


def test_about_six_hundred_crossings_stand_in_six_files(crossings: pd.DataFrame, good_crossings: pd.DataFrame) -> None:
    assert sorted(crossings["file"].unique()) == sorted(FILES)
    assert 590 <= len(good_crossings) <= 630


def test_about_two_in_a_hundred_rows_are_faulty(crossings: pd.DataFrame, good_crossings: pd.DataFrame) -> None:
    assert 0.015 <= 1 - len(good_crossings) / len(crossings) <= 0.03


def test_nine_observers_took_part(table: Callable[[str], pd.DataFrame]) -> None:
    assert table("crossings_2022.csv")["observer"].nunique() == 9


def test_about_two_thirds_of_the_animals_are_dead(good_crossings: pd.DataFrame) -> None:
    assert 0.60 <= good_crossings["condition"].eq("dead").mean() <= 0.70
    assert set(good_crossings["condition"]) == {"dead", "alive", "injured", "unknown"}


def test_most_animals_are_met_in_may_and_june_and_some_in_autumn(good_crossings: pd.DataFrame) -> None:
    months = Counter(good_crossings["observed_at"].str[5:7])
    assert (months["05"] + months["06"]) / months.total() > 0.5
    assert months["09"] > months["08"]


def test_four_seasons_are_covered_and_nothing_lies_after_mid_july_2025(good_crossings: pd.DataFrame) -> None:
    assert set(good_crossings["observed_at"].str[:4]) == {"2022", "2023", "2024", "2025"}
    assert good_crossings["observed_at"].max() < "2025-07-15"


@pytest.mark.parametrize(
    "name",
    [
        "Trachemys scripta scripta",
        "Pseudemys floridana",
        "river cooter",
        "cooter",
        "slider?",
        "cooter?",
        "Chelydra serpentina",
        "Terrapene carolina",
        "chicken turtle",
        "Kinosternon subrubrum",
        "Apalone ferox",
    ],
)
def test_names_of_the_region_are_written_with_and_without_doubt(good_crossings: pd.DataFrame, name: str) -> None:
    assert good_crossings["taxon"].eq(name).sum() >= 1


def test_confidence_is_written_as_words_as_decimal_commas_and_not_at_all(table: Callable[[str], pd.DataFrame]) -> None:
    assert set(table("crossings_2022.csv")["id_confidence"]) == {"certain", "likely", "unsure", ""}
    assert set(table("crossings_2023.csv")["id_confidence"]) == {"0,95", "0,8", "0,5", ""}


def test_the_file_of_2023_has_a_byte_order_mark_and_windows_line_ends(demo: Path) -> None:
    body = (demo / "crossings_2023.csv").read_bytes()
    assert body.startswith(b"\xef\xbb\xbf")
    assert body.count(b"\r\n") == body.count(b"\n") > 150


def test_the_file_of_2024_has_american_dates_that_cannot_be_read_the_other_way(demo: Path) -> None:
    days = re.findall(r",(\d+)/(\d+)/2024,", (demo / "crossings_2024.csv").read_text("utf-8"))
    assert max(int(day) for _, day in days) > 12
    assert max(int(month) for month, _ in days) <= 12


def test_most_records_were_found_in_a_search_that_exists(
    good_crossings: pd.DataFrame, table: Callable[[str], pd.DataFrame]
) -> None:
    searches = {name for year in range(2022, 2026) for name in table(f"searches_{year}.csv")["search_id"]}
    found = good_crossings["search_id"][good_crossings["search_id"] != ""]
    assert set(found) <= searches
    assert 0.6 <= len(found) / len(good_crossings) <= 0.8


def test_each_planted_hotspot_holds_far_more_records_than_its_length_explains(
    demo: Path, good_crossings: pd.DataFrame
) -> None:
    planted = hotspots(demo)
    assert [length for *_, length, _ in planted] == [400, 550, 350]
    for _, lon, lat, length, years in planted:
        rows = (
            good_crossings if years == "2022-2025" else good_crossings[good_crossings["observed_at"].str[:4] == years]
        )
        inside = len(within_m(rows, lon, lat, length / 2 + 25))
        # Against one even rate along all 371 km the chance of so many is far below one in a million.
        assert binomtest(inside, len(rows), (length + 50) / 371_000, alternative="greater").pvalue < 1e-9


def test_the_third_hotspot_exists_in_one_season_only(demo: Path, good_crossings: pd.DataFrame) -> None:
    _, lon, lat, length, years = hotspots(demo)[2]
    counts = Counter(within_m(good_crossings, lon, lat, length / 2 + 25)["observed_at"].str[:4])
    assert years == "2023"
    assert counts["2023"] >= 10
    assert counts.total() - counts["2023"] <= 2


def test_the_fence_of_2024_lowers_the_toll_at_the_first_hotspot(demo: Path, good_crossings: pd.DataFrame) -> None:
    _, lon, lat, length, _ = hotspots(demo)[0]
    counts = Counter(within_m(good_crossings, lon, lat, length / 2 + 25)["observed_at"].str[:4])
    assert counts["2024"] + counts["2025"] < 0.5 * (counts["2022"] + counts["2023"])


def test_one_record_lies_nine_hundred_metres_off_any_road_and_no_other_beyond_three_hundred(
    layers: Path, good_crossings: pd.DataFrame
) -> None:
    net = gpd.read_file(layers / "roads.geojson").to_crs(UTM_17_NORTH).geometry.union_all()
    points = gpd.GeoSeries.from_xy(good_crossings["longitude"], good_crossings["latitude"], crs="EPSG:4326")
    away = np.sort(points.to_crs(UTM_17_NORTH).distance(net))
    assert 880 < away[-1] < 920
    assert away[-2] < 300


def test_the_repeated_rows_stand_in_two_files_at_one_place(demo: Path, good_crossings: pd.DataFrame) -> None:
    told = re.search(r"records stand in two files.*?\n- ", (demo / "README.md").read_text("utf-8"), re.DOTALL)
    assert told is not None
    promised = re.findall(r"`(INV-\d{4}-\d{4})`", told[0])
    named = good_crossings[good_crossings["record_id"] != ""]
    twice = named[named.duplicated("record_id", keep=False)]
    assert sorted(twice["record_id"].unique()) == sorted(promised)
    for _, pair in twice.groupby("record_id"):
        assert pair["file"].nunique() == 2
        assert pair[["longitude", "latitude", "taxon", "condition", "search_id"]].drop_duplicates().shape[0] == 1


def test_gdal_reads_the_waypoints_and_the_tracks(demo: Path) -> None:
    points = pyogrio.read_dataframe(demo / "waypoints_2024.gpx", layer="waypoints")
    assert points.geometry.notna().all()
    assert points["time"].notna().all()
    for year in (2023, 2024):
        track = pyogrio.read_dataframe(demo / f"track_{year}.gpx", layer="tracks")
        assert len(track) == 1
        metres = EARTH.geometry_length(track.geometry.iloc[0])
        assert 2_400 < metres < 2_700
