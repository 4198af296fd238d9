"""Left-out seasons: the accuracy index by hand, and what a map that repeats or does not repeat must score."""

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.validation import COLUMNS, hit_share, validate_hotspots, with_intervals
from roadwatch.roads.stretches import cut_stretches


def test_forty_of_a_hundred_on_eight_per_cent_is_five_times_chance():
    # PAI = (n / N) / (a / A) = .40 / .08 (Chainey, Tompson & Uhlig 2008)
    row = with_intervals(pd.DataFrame({"share_of_length": [0.08], "hit": [40.0], "events": [100]})).iloc[0]
    assert row["pai"] == pytest.approx(5.0)
    low, high = stats.beta.ppf([0.025, 0.975], 40.5, 60.5)  # Jeffreys
    assert (row["pai_low"], row["pai_high"]) == pytest.approx((low / 0.08, high / 0.08))


@pytest.mark.parametrize(
    ("score", "share", "hit"),
    [
        ([4, 3, 2, 1], 0.5, 0.7),
        ([1, 2, 3, 4], 0.25, 0.1),
        ([1, 1, 1, 1], 0.5, 0.5),
        ([2, 1, 1, 1], 0.5, 0.4 + 0.6 / 3),
        ([np.nan, 1, 2, 3], 0.75, 0.6),
        ([4, 3, 2, 1], 0.375, 0.55),
    ],
    ids=["half", "worst quarter", "all alike", "rest alike", "unknown last", "part of a stretch"],
)
def test_hits_on_the_best_share_by_hand(score, share, hit):
    deaths = np.array([4.0, 3.0, 2.0, 1.0])
    assert hit_share(np.array(score, dtype=float), np.full(4, 50.0), deaths, share) == pytest.approx(hit)


def test_all_the_road_holds_all_deaths_and_no_death_has_no_share():
    score, length_m = np.array([2.0, 1.0]), np.array([30.0, 50.0])
    assert hit_share(score, length_m, np.array([1.0, 5.0]), 1.0) == pytest.approx(1.0)
    assert np.isnan(hit_share(score, length_m, np.zeros(2), 0.5))


@pytest.fixture
def validated(county, records):
    """validated(share on a few stretches, same places each year or not): the table of a validation."""

    def make(*, repeats=True, share=0.5, near_water=False, years=(2021, 2022, 2023), n=60):
        network = county(6, 1000.0)
        stretches = cut_stretches(network)
        rng = np.random.default_rng(7)
        count = len(stretches.edge)
        places, year = [], []
        for number, one in enumerate(years):
            hot = np.arange(100, 108) + (0 if repeats else 300 * number)
            chance = np.full(count, (1 - share) / count)
            chance[hot] += share / len(hot)
            places.append(rng.choice(count, n, p=chance))
            year += [one] * n
        water = np.isin(np.arange(count), np.arange(95, 120)) if near_water else None
        table = records(stretches, np.concatenate(places), year=year)
        return validate_hotspots(network, stretches, table, effort_km=None, near_water=water)

    return make


def row(made, rule, share):
    table = made.table
    return table[(table["rule"] == rule) & (table["share_of_length"] == share)].iloc[0]


def test_places_that_repeat_are_found_again(validated):
    made = validated(near_water=True)
    assert list(made.table.columns) == COLUMNS
    assert set(made.table["rule"]) == {"hotspot map", "count per km", "last year's places", "all along wetland"}
    best = row(made, "hotspot map", 0.01)
    assert best["events"] == 180
    assert best["hit_low"] <= 0.5 <= best["hit_high"] + 0.05  # half of all lie on 8 of 1,260 stretches
    assert best["pai_low"] > 20.0
    wetland = row(made, "all along wetland", 0.02)
    assert wetland["hit_rate"] == pytest.approx(0.5, abs=0.1)


def test_places_that_do_not_repeat_are_not_found(validated):
    best = row(validated(repeats=False), "hotspot map", 0.05)
    assert best["hit_rate"] < 0.2


def test_without_any_pattern_the_index_is_that_of_chance(validated):
    best = row(validated(share=0.0, n=200), "hotspot map", 0.05)
    assert best["pai_low"] <= 1.0 <= best["pai_high"]


def test_each_year_is_told_and_adds_up(validated):
    made = validated()
    assert sorted(set(made.by_year["year"])) == [2021, 2022, 2023]
    summed = made.by_year.groupby(["rule", "share_of_length"])["hit"].sum()
    for _, one in made.table.iterrows():
        assert one["hit"] == pytest.approx(summed[one["rule"], one["share_of_length"]])


def test_without_wetland_the_notes_say_so(validated):
    assert "No wetland is on file: the rule 'all along wetland' was not compared." in validated().notes
    assert len(validated(near_water=True).notes) == 2


def test_one_year_cannot_be_left_out(validated):
    with pytest.raises(NotEnoughDataError, match="all records are of 2021; leaving a season out takes records of at"):
        validated(years=(2021,))
