"""From a season file to the judgement of its measures."""

import json

import numpy as np
import pyproj
import pytest
import shapely
from measured_county import SEARCHES, add_measures, death, fence_layer, fill, search_rows
from scipy import stats
from tiny_county import CENTRE

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.roads.spread import stretch_lines
from roadwatch.roads.stretches import cut_stretches
from roadwatch.season.evaluating import _counted, count_by_span, season_evaluation
from roadwatch.siting.evaluation_places import measure_places

FALL = {2022: 9, 2023: 9, 2024: 2, 2025: 1}


def evaluated(county):
    return season_evaluation(county.season, rng=np.random.default_rng(1))


def test_deaths_are_counted_on_the_fenced_road_before_and_after(county):
    row = evaluated(fill(county, inside=FALL)).table.iloc[0]
    assert (row["deaths_before"], row["deaths_after"]) == (18, 3)


def test_kilometres_are_the_fences_length_times_the_searches(county):
    # Fence of 0.006 degrees at 31.7 N: 0.006 x 111.32 km x cos(31.7) = 0.568 km, to a stretch of 50 m at each end;
    # 6 searches a year, two years before and two after.
    row = evaluated(fill(county, inside=FALL)).table.iloc[0]
    for name in ("km_before", "km_after"):
        assert row[name] == pytest.approx(0.568 * 2 * SEARCHES, abs=0.1 * 2 * SEARCHES)


def test_the_ratio_is_that_of_the_counts_per_kilometre(county):
    row = evaluated(fill(county, inside=FALL)).table.iloc[0]
    impact = (row["deaths_after"] / row["km_after"]) / (row["deaths_before"] / row["km_before"])
    control = (row["control_deaths_after"] / row["control_km_after"]) / (
        row["control_deaths_before"] / row["control_km_before"]
    )
    assert row["ratio"] == pytest.approx(impact / control, rel=0.02)  # negative binomial weighs years a little anew


def test_chance_finds_are_not_used(county):
    fill(county, inside=FALL)
    rows = [death(2025, k, 0.0125 + 0.0006 * k, found_on_search=False) for k in range(9)]
    rows = [row | {"record_id": f"X{k}", "observed_at": "2025-07-20"} for k, row in enumerate(rows)]
    assert county.ingest("chance.csv", rows).exit_code == 0
    found = evaluated(county)
    assert found.table["deaths_after"].iloc[0] == 3
    assert any("9 are chance finds" in note for note in found.notes)


def test_each_measure_keeps_the_shape_it_was_drawn_with(county):
    found = evaluated(fill(county, inside=FALL)).table
    drawn = json.loads(fence_layer())["features"][0]["geometry"]["coordinates"]
    assert list(found.geometry.iloc[0].coords) == [tuple(place) for place in drawn]


def test_counts_of_one_are_told_in_the_singular():
    assert _counted(1, "lies on no road", "lie on no road") == "1 lies on no road"
    assert _counted(0, "lies on no road", "lie on no road") == "0 lie on no road"


def test_the_living_are_not_deaths(county, crossing):
    fill(county, inside=FALL)
    rows = [
        crossing(0.0125 + 0.0006 * k, condition="alive", observed_at="2025-05-05T08:00:00-04:00", search_id="S2025-0")
        for k in range(8)
    ]
    county.ingest("alive.csv", rows)
    assert evaluated(county).table["deaths_after"].iloc[0] == 3


def test_a_death_on_the_day_of_building_is_after(county):
    fill(county, inside=FALL)
    add_measures(county, fence_layer(built_on="2023-05-13"))
    row = evaluated(county).table.iloc[0]
    # Of the 9 deaths of 2023 those of the weeks of 5 and 9 May (numbers 0, 1, 6, 7) lie before that day.
    assert (row["deaths_before"], row["deaths_after"]) == (9 + 4, 5 + 3)


def test_no_measure_says_how_to_add_one(county):
    with pytest.raises(NotEnoughDataError, match="no measure on file; add what was built with 'roadwatch layer"):
        evaluated(county)


def test_no_search_says_so(county):
    add_measures(county, fence_layer())
    with pytest.raises(NotEnoughDataError, match="no search on file"):
        evaluated(county)


def test_no_search_before_says_so(county):
    fill(county, inside=FALL)
    add_measures(county, fence_layer(built_on="2021-03-01"))
    with pytest.raises(NotEnoughDataError, match="F1: no search on its road before it was built"):
        evaluated(county)


def test_searches_without_a_death_are_too_few_records(county):
    assert county.ingest("searches.csv", search_rows()).exit_code == 0
    add_measures(county, fence_layer())
    with pytest.raises(NotEnoughDataError, match="fewer than 5 deaths"):
        evaluated(county)


def test_a_missing_season_is_a_usage_error(tmp_path):
    with pytest.raises(UsageError, match=r"none\.gpkg"):
        season_evaluation(tmp_path / "none.gpkg", rng=np.random.default_rng(1))


def place_of_fence(county):
    """Metres east of the crossroads at which the fence's stretches begin and end, and the road's line."""
    season = Season.open(county.season)
    network = build_network(season.read("roads"))
    stretches = cut_stretches(network)
    (place,), _ = measure_places(network, stretches, season.read("measures"))
    lines = stretch_lines(network, stretches)[place.inside]
    x_m = np.concatenate([shapely.get_coordinates(line)[:, 0] for line in lines])
    return network, float(x_m.min()), float(x_m.max())


@pytest.mark.parametrize(("beyond_m", "error_m"), [(0.0, 25.0), (10.0, 25.0), (-10.0, 25.0), (60.0, 20.0)])
def test_a_record_near_an_end_counts_inside_by_its_chance_to_lie_there(county, beyond_m, error_m):
    fill(county, inside=FALL)
    network, _, end_m = place_of_fence(county)
    longitude, _ = pyproj.Transformer.from_crs(network.crs, 4326, always_xy=True).transform(
        end_m + beyond_m, network.nodes.geometry.y.median()
    )
    row = death(2025, 5, longitude - CENTRE[0]) | {"record_id": "edge", "position_error_m": error_m}
    row["observed_at"] = "2025-05-25T08:59:00-04:00"
    before = evaluated(county).table.iloc[0]
    assert county.ingest("edge.csv", [row]).exit_code == 0
    found = evaluated(county).table.iloc[0]
    # a normal law of the stated error along a straight road: the share of it on the fence's side of its end
    assert found["deaths_after"] - before["deaths_after"] == pytest.approx(
        stats.norm.cdf(-beyond_m / error_m), abs=0.03
    )
    assert found["deaths_before"] == pytest.approx(before["deaths_before"])


def test_spreading_records_loses_none_of_them(county):
    fill(county, inside=FALL)
    season = Season.open(county.season)
    network = build_network(season.read("roads"))
    tally, _ = count_by_span(season, network, cut_stretches(network), season.read("measures"), season.read("searches"))
    assert tally.deaths.sum() == pytest.approx(9 + 9 + 2 + 1 + 4 * 8)
    assert tally.deaths.sum(axis=1) == pytest.approx([17, 17, 10, 9])


def test_the_notes_say_how_a_record_near_an_end_counts_and_towards_what_rates_are_drawn(county):
    notes = " ".join(evaluated(fill(county, inside=FALL)).notes)
    assert "by the chance that it lies there (its position error)" in notes
    assert "F1: rates before are drawn towards" in notes
