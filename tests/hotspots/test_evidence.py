"""What a hotspot rests on: widths, observers and repeated carcasses, on an invented county."""

import numpy as np
import pytest

from roadwatch.hotspots.search import find_hotspots
from roadwatch.roads.stretches import cut_stretches, stretch_table


@pytest.fixture
def found(county, records):
    """found(on the hot stretches, column=...): hotspots of a county with a record on every 20th stretch besides."""

    def make(n_hot, *, n_draws=199, spread=4, **columns):
        network = county(6, 1000.0)
        stretches = cut_stretches(network)
        table = stretch_table(network, stretches)
        hot = np.flatnonzero((table["road"] == "East 2") & table["from_m"].between(2200, 2200 + 50 * (spread - 1)))
        background = np.arange(7, len(table), 30)
        places = np.r_[np.resize(hot, n_hot), background]
        given = {name: np.r_[values, [other] * len(background)] for name, (values, other) in columns.items()}
        made = records(stretches, places, **given)
        return find_hotspots(
            network, stretches, made, effort_km=None, n_draws=n_draws, rng=np.random.default_rng(1)
        ).hotspots

    return make


def test_a_strong_hotspot_stands_at_all_widths_and_without_anyone(found):
    dates = [f"{year}-{month:02d}-10" for year in (2021, 2022) for month in range(3, 10)]
    row = found(14, date=(dates, "2023-07-01")).iloc[0]
    assert row["stands_at_widths"] == "150 300 600"
    assert row["stands_at_all_widths"]
    assert row["half_width_m"] in (150.0, 300.0, 600.0)
    assert not row["leaves_without_observer"]
    assert not row["leaves_without_repeats"]
    assert np.isnan(row["support"]), "no names were drawn"


def test_a_hotspot_of_one_observer_leaves_without_them(found):
    row = found(14, observer=(["home"] * 14, "other")).iloc[0]
    assert row["leaves_without_observer"]
    shared = found(14, observer=(["home"] * 7 + ["next"] * 7, "other")).iloc[0]
    assert not shared["leaves_without_observer"]


def test_records_without_an_observer_are_one_unknown_observer(found):
    assert found(14, observer=([None] * 14, "other")).iloc[0]["leaves_without_observer"]


def test_a_hotspot_of_one_day_at_one_spot_leaves_without_repeats(found):
    same = found(8, spread=1, date=(["2022-06-01"] * 8, "2023-07-01")).iloc[0]
    assert same["leaves_without_repeats"]
    apart = found(8, spread=1, date=([f"2022-{month:02d}-01" for month in range(3, 11)], "2023-07-01")).iloc[0]
    assert not apart["leaves_without_repeats"]


def test_a_single_width_is_all_widths(county, records):
    network = county(6, 1000.0)
    stretches = cut_stretches(network)
    places = np.r_[np.repeat(np.arange(100, 104), 4), np.arange(0, len(stretches.edge), 30)]
    made = find_hotspots(
        network,
        stretches,
        records(stretches, places),
        effort_km=None,
        beside_m=(),
        n_draws=99,
        rng=np.random.default_rng(1),
    )
    row = made.hotspots.iloc[0]
    assert (row["stands_at_widths"], row["half_width_m"], row["stands_at_all_widths"]) == ("300", 300.0, True)
    assert not any("beside it" in note for note in made.notes)
