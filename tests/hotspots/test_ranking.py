"""The ranked table: its columns, counts, intervals, places and mileposts."""

import numpy as np
import pandas as pd
import pytest
from promised_columns import HOTSPOT_COLUMNS

from roadwatch.hotspots import ranking
from roadwatch.hotspots.baseline import make_baseline
from roadwatch.hotspots.clusters import Run
from roadwatch.hotspots.ranking import COLUMNS
from roadwatch.hotspots.study import Study
from roadwatch.roads.reference import road_measure
from roadwatch.roads.stretches import cut_stretches, stretch_table


@pytest.fixture
def study(records):
    """study(network, record stretches, effort_km=..., **columns): everything a ranking needs."""

    def make(network, record_stretch, *, effort_km=None, **columns):
        stretches = cut_stretches(network)
        table = records(stretches, record_stretch, **columns)
        _, _, metre = road_measure(network, table["edge"].to_numpy(), table["offset_m"].to_numpy())
        n = len(table)
        table = table.assign(
            stretch=record_stretch, stratum=0, road_m=metre, count=columns.get("count", 1), record_id=np.arange(n)
        ).assign(record=np.arange(n), is_main=True)
        baseline = make_baseline(stretches.length_m, effort_km)
        expected = table["weight"].sum() * baseline.chance.mean(axis=0)
        return Study(network, stretches, stretch_table(network, stretches), table, baseline, expected)

    return make


def run_over(study, stretch, *, cluster=0, p_value=0.01):
    stretch = np.asarray(stretch)
    row = study.table.iloc[stretch]
    held = np.flatnonzero(study.records["stretch"].isin(stretch))
    place = row["road"].iloc[0], int(row["road_part"].iloc[0]), row["from_m"].min(), row["to_m"].max()
    return Run(cluster, *place, stretch, held, stretch, p_value, p_value / 2)


def rank_hotspots(runs, study, **options):
    return ranking.rank_hotspots(runs, study, rng=np.random.default_rng(1), **options)


RECORDS = [0, 0, 1, 1, 1, 5, 9, 13, 17]


def test_the_table_has_the_columns_promised_and_no_other(straight_road, study):
    made = study(straight_road(1000.0), RECORDS)
    table = rank_hotspots([run_over(made, [0, 1])], made)
    assert list(table.columns) == COLUMNS
    assert set(HOTSPOT_COLUMNS) <= set(table.columns)
    assert table.crs.to_epsg() == 4326


def test_without_runs_the_table_is_empty_and_keeps_its_columns(straight_road, study):
    table = rank_hotspots([], study(straight_road(1000.0), RECORDS))
    assert len(table) == 0
    assert list(table.columns) == COLUMNS


def test_counts_of_a_row_by_hand(straight_road, study):
    made = study(
        straight_road(1000.0),
        RECORDS,
        weight=np.array([1.0, 0.5, 0.8, 0.95, 1.0, 1, 1, 1, 1]),
        count=[2, 1, 1, 1, 3, 1, 1, 1, 1],
    )
    row = rank_hotspots([run_over(made, [0, 1])], made).iloc[0]
    assert row["deaths"] == pytest.approx(4.25)
    assert row["events"] == 5
    assert row["animals"] == 8
    assert row["share_of_deaths"] == pytest.approx(4.25 / 8.25)
    assert row["expected"] == pytest.approx(8.25 * row["length_m"] / made.stretches.length_m.sum())
    assert row["years_present"] == 3
    assert row["deaths_per_km_year"] == pytest.approx(4.25 / (row["length_m"] / 1000) / 3)
    assert row["deaths_per_km_year_low"] < row["deaths_per_km_year"] < row["deaths_per_km_year_high"]
    assert row["p_value"] == 0.01
    assert row["p_local"] == 0.005


def test_a_run_that_covers_part_of_a_stretch_expects_that_part(straight_road, study):
    made = study(straight_road(1000.0), RECORDS)
    whole = run_over(made, [0, 1])
    half = Run(
        0, whole.road, 0, whole.from_m, whole.to_m * 0.75, whole.stretch, whole.record, whole.stretch, 0.01, 0.01
    )
    by_length = [rank_hotspots([run], made)["expected"].iloc[0] for run in (whole, half)]
    assert by_length[1] == pytest.approx(0.75 * by_length[0])


def test_the_ratio_lies_between_one_and_the_raw_ratio_within_its_interval(straight_road, study):
    made = study(straight_road(10_000.0), [0] * 8 + list(range(10, 200, 5)))
    row = rank_hotspots([run_over(made, [0, 1])], made).iloc[0]
    assert 1.0 < row["ratio_low"] < row["ratio"] < row["ratio_high"]
    assert row["ratio"] < row["deaths"] / row["expected"]


def test_most_deaths_beyond_the_expected_come_first_and_provisional_ones_last(straight_road, study):
    stretch = [0] * 4 + [50] * 9 + [100] * 12 + list(range(110, 200, 10))
    made = study(straight_road(10_000.0), stretch, observer=["one person"] * 34, year=[2021] * 25 + [2022] * 9)
    made.records.loc[made.records["stretch"] != 100, "observer"] = [f"person {k % 3}" for k in range(22)]
    runs = [run_over(made, [place], cluster=place) for place in (0, 50, 100)]
    table = rank_hotspots(runs, made)
    assert table["events"].tolist() == [9, 4, 12]
    assert table["status"].tolist() == ["confirmed", "confirmed", "provisional"]
    assert table["rank"].tolist() == [1, 2, 3]


@pytest.mark.parametrize(
    ("columns", "status"),
    [
        ({}, "confirmed"),
        ({"date": ["2021-05-01"] * 3}, "provisional"),
        ({"observer": ["x"] * 3}, "confirmed"),
        ({"observer": ["x"] * 3, "year": [2021] * 3}, "provisional"),
        ({"year": [2021] * 3}, "confirmed"),
    ],
)
def test_a_hotspot_needs_three_animals_two_dates_and_two_people_or_years(straight_road, study, columns, status):
    made = study(straight_road(1000.0), [4, 4, 4], **columns)
    assert rank_hotspots([run_over(made, [4])], made)["status"].tolist() == [status]


def test_two_animals_are_provisional_unless_a_run_of_the_same_cluster_holds_more(straight_road, study):
    made = study(straight_road(1000.0), [4, 4, 15])
    alone = rank_hotspots([run_over(made, [4], cluster=1), run_over(made, [15], cluster=2)], made)
    joined = rank_hotspots([run_over(made, [4], cluster=1), run_over(made, [15], cluster=1)], made)
    assert alone["status"].tolist() == ["provisional"] * 2
    assert joined["status"].tolist() == ["confirmed"] * 2


def test_a_status_given_holds_for_all(straight_road, study):
    made = study(straight_road(1000.0), RECORDS)
    assert rank_hotspots([run_over(made, [0])], made, status="watch list")["status"].tolist() == ["watch list"]


def test_mileposts_are_interpolated_along_the_road(straight_road, study):
    # measures 10 to 11 miles over the whole road: at a twentieth 10.05, at three twentieths 10.15
    road = straight_road(
        999.0, from_measure=[10.0], to_measure=[11.0], measure_unit=["mile"], route_id=["CR 5"], agency=["County"]
    )
    made = study(road, [1, 2])
    assert len(made.table) == 20
    row = rank_hotspots([run_over(made, [1, 2])], made).iloc[0]
    assert (row["milepost_from"], row["milepost_to"]) == pytest.approx((10.05, 10.15))
    assert (row["route_id"], row["agency"], row["milepost_unit"], row["why_no_milepost"]) == (
        "CR 5",
        "County",
        "mile",
        "",
    )


def test_a_road_without_measures_says_so(straight_road, study):
    made = study(straight_road(1000.0), RECORDS)
    row = rank_hotspots([run_over(made, [0])], made).iloc[0]
    assert np.isnan(row["milepost_from"])
    assert "gives no measures" in row["why_no_milepost"]


def test_ends_in_degrees_are_the_ends_of_the_line(county, study):
    made = study(county(2, 900.0, drawn_backwards=True), [2, 3, 4])
    row = rank_hotspots([run_over(made, [2, 3, 4])], made).iloc[0]
    ends = np.array([row["geometry"].coords[0], row["geometry"].coords[-1]])
    stated = np.array([[row["longitude_from"], row["latitude_from"]], [row["longitude_to"], row["latitude_to"]]])
    assert ends[np.lexsort(ends.T)] == pytest.approx(stated[np.lexsort(stated.T)], abs=1e-9)
    in_metres = rank_hotspots([run_over(made, [2, 3, 4])], made).to_crs(made.network.crs)
    assert in_metres.length.iloc[0] == pytest.approx(row["length_m"], rel=1e-6)


def test_years_searched_are_counted_where_effort_is_known_by_year(straight_road, study):
    road = straight_road(1000.0)
    n = len(cut_stretches(road).edge)
    first_half = np.where(np.arange(n) < 10, 0.1, 0.0)
    made = study(road, [1, 1, 15], effort_km={2021: np.full(n, 0.1), 2022: first_half, 2023: first_half})
    table = rank_hotspots([run_over(made, [1], cluster=1), run_over(made, [15], cluster=2)], made)
    assert dict(zip(table["events"], table["years_searched"], strict=True)) == {2: 3, 1: 1}
    assert table["basis"].tolist() == ["search", "search"]


def test_years_searched_are_blank_where_they_are_not_known(straight_road, study):
    made = study(straight_road(1000.0), RECORDS)
    table = rank_hotspots([run_over(made, [0])], made)
    assert table["years_searched"].isna().all()
    assert isinstance(table["years_searched"].dtype, pd.Int64Dtype)
    assert table["basis"].tolist() == ["unknown"]


def test_equal_hotspots_share_their_ranks_and_unequal_ones_do_not(straight_road, study):
    stretch = [0] * 8 + [50] * 8 + [100] * 30 + list(range(110, 400, 10))
    made = study(straight_road(20_000.0), stretch)
    table = rank_hotspots([run_over(made, [first]) for first in (0, 50, 100)], made)
    assert table["rank"].tolist() == [1, 2, 3]
    assert (table["rank_low"].iloc[0], table["rank_high"].iloc[0]) == (1, 1)
    assert table["rank_low"].tolist()[1:] == [2, 2]
    assert table["rank_high"].tolist()[1:] == [3, 3]


def test_a_lone_hotspot_ranks_first_for_sure(straight_road, study):
    made = study(straight_road(10_000.0), [0] * 8 + list(range(10, 200, 5)))
    row = rank_hotspots([run_over(made, [0])], made).iloc[0]
    assert (row["rank_low"], row["rank"], row["rank_high"]) == (1, 1, 1)


def test_sexes_stages_windows_and_seasons_are_told(straight_road, study):
    n = len(RECORDS)
    made = study(
        straight_road(1000.0),
        RECORDS,
        sex=["female", "female", "male", None, "unknown"] + ["male"] * (n - 5),
        life_stage=["adult"] * n,
        year=[2021] * 5 + [2022] * (n - 5),
        date=[f"2021-06-{day:02d}" for day in (1, 2, 3, 4, 30)] + ["2022-01-01"] * (n - 5),
        observed_at=[f"2021-06-01T{hour:02d}:00:00-04:00" for hour in (7, 8, 9, 10, 20)] + ["2022-01-01"] * (n - 5),
    )
    row = rank_hotspots([run_over(made, [0, 1])], made).iloc[0]
    assert row["sexes"] == "female 2, male 1, not said 1, unknown 1"
    assert row["stages"] == "adult 5"
    assert (row["window_from"], row["window_to"], row["window_days"]) == ("06-01", "06-04", 4.0)
    assert (row["hour_from"], row["hour_to"]) == (7.0, 10.0)
    assert row["one_season"]
