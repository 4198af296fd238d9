"""Measures side by side: numbers by hand, the order, and what has no number."""

import numpy as np
import pandas as pd
import pytest
from siting.problems import question

from roadwatch.siting.efficacy import Efficacy, EfficacyRow
from roadwatch.siting.measure_comparison import COLUMNS, EVERY_PLACE, NOT_RANKED, compare_measures, comparison_words
from roadwatch.siting.measure_options import MeasureOption

PLACES = [(0, 4), (6, 8)]
DEATHS = [1, 2, 2, 1, 0, 0, 5, 5]


def efficacy(value, *, low=None, high=None, source="x"):
    low, high = value if low is None else low, value if high is None else high
    return Efficacy("me", (EfficacyRow("middle", 0.0, np.inf, value, low, high, source, ""),), ())


def option(measure, value, *, per_place=np.nan, **bounds):
    return MeasureOption(measure, efficacy(value, source="county trial", **bounds), np.nan, per_place, "own.csv")


def runs(cost=np.nan):
    rows = []
    for number, (start, stop) in enumerate(PLACES, start=1):
        averted = 0.5 * sum(DEATHS[start:stop])
        rows.append(
            {
                "run": number,
                "road": "Main Road",
                "from_m": float(start),
                "to_m": float(stop),
                "length_m": float(stop - start),
                "averted_per_year": averted,
                "averted_low": averted / 2,
                "averted_high": averted * 2,
                "cost": cost,
                "cost_per_averted_low": cost / (averted * 2),
                "cost_per_averted_high": cost / (averted / 2),
            }
        )
    return pd.DataFrame(rows)


@pytest.fixture
def compare():
    def made(*options, cost=np.nan, draws=50):
        problem = question(DEATHS, middle=(0.5,))
        drawn = question(np.tile(DEATHS, (draws, 1)), middle=(0.5,))
        return compare_measures(
            runs(cost),
            PLACES,
            problem=problem,
            drawn=drawn,
            fence=efficacy(0.5, source="markle2017"),
            options=options,
            rng=np.random.default_rng(1),
        )

    return made


def test_without_any_other_number_only_fences_are_ranked_and_the_others_are_named(compare):
    table = compare().table
    assert list(table.columns) == list(COLUMNS)
    assert table["measure"].tolist() == ["fence", "fence", "sign", "speed", "passage"]
    blank = table[table["measure"] != "fence"]
    assert (blank["basis"] == NOT_RANKED).all()
    assert (blank["place"] == EVERY_PLACE).all()
    assert blank[list(COLUMNS[2:-1])].isna().all(axis=None)


def test_signs_are_said_to_work_poorly_whether_ranked_or_not(compare):
    for found in (compare(), compare(option("sign", 0.1))):
        assert any(note.startswith("Permanent wildlife signs work poorly") for note in found.notes)


def test_a_measure_averts_its_share_of_the_deaths_on_its_place(compare):
    # place 1 holds 6 deaths a year and place 2 ten: a fifth of each.
    table = compare(option("speed", 0.2)).table
    speed = table[table["measure"] == "speed"].set_index("place")["averted_per_year"]
    assert speed["1: Main Road, 0 to 4 m"] == pytest.approx(1.2)
    assert speed["2: Main Road, 6 to 8 m"] == pytest.approx(2.0)


def test_what_averts_most_stands_first(compare):
    table = compare(option("speed", 0.7)).table
    ranked = table[table["basis"] != NOT_RANKED]
    # speed: 7 and 4.2; fence: 5 and 3
    assert ranked["averted_per_year"].tolist() == pytest.approx([7.0, 5.0, 4.2, 3.0])
    assert ranked["measure"].tolist() == ["speed", "fence", "speed", "fence"]


def test_where_all_is_priced_the_cheapest_death_averted_stands_first(compare):
    found = compare(option("sign", 0.1, per_place=10.0), cost=1000.0)
    ranked = found.table[found.table["basis"] != NOT_RANKED]
    # sign: 10 / 1.0 and 10 / 0.6; fence: 1000 / 5 and 1000 / 3
    assert ranked["measure"].tolist() == ["sign", "sign", "fence", "fence"]
    assert any("the cheapest death averted first" in note for note in found.notes)


def test_one_missing_price_leaves_the_order_to_what_is_averted(compare):
    found = compare(option("sign", 0.1, per_place=10.0))
    assert found.table["measure"].tolist()[:2] == ["fence", "fence"]
    assert any("what averts most first" in note for note in found.notes)


def test_the_interval_holds_that_of_the_efficacy_and_its_cost_turns_it_round(compare):
    found = compare(option("sign", 0.2, low=0.1, high=0.4, per_place=60.0), draws=4000).table
    row = found[(found["measure"] == "sign") & found["place"].str.startswith("1:")].iloc[0]
    # 6 deaths: from 6 x (.1 + .05 x .1) to 6 x (.4 - .05 x .2), the 2.5 % tails of a spread even on either side
    assert (row["low"], row["high"]) == pytest.approx((0.63, 2.34), abs=0.04)
    assert row["cost_per_averted_low"] == pytest.approx(60.0 / row["high"])
    assert row["cost_per_averted_high"] == pytest.approx(60.0 / row["low"])


def test_a_measure_that_may_avert_nothing_has_no_upper_cost(compare):
    table = compare(option("sign", 0.0, per_place=60.0)).table
    row = table[table["measure"] == "sign"].iloc[0]
    assert row["averted_per_year"] == 0.0
    assert np.isnan([row["cost_per_averted_low"], row["cost_per_averted_high"]]).all()


def test_every_number_names_where_it_comes_from(compare):
    table = compare(option("sign", 0.1)).table.set_index("measure")["basis"]
    assert set(table["fence"]) == {"markle2017"}
    assert set(table["sign"]) == {"county trial (own.csv)"}


def test_a_number_without_a_source_is_told_as_such(compare):
    nameless = MeasureOption("other", efficacy(0.3, source=""), np.nan, np.nan, "own.csv")
    table = compare(nameless).table
    assert set(table.loc[table["measure"] == "other", "basis"]) == {"no source given (own.csv)"}


def test_no_place_leaves_only_what_is_not_ranked():
    found = compare_measures(
        runs().iloc[:0],
        [],
        problem=question(DEATHS),
        drawn=question(DEATHS),
        fence=efficacy(0.5),
        options=(),
        rng=np.random.default_rng(1),
    )
    assert found.table["basis"].tolist() == [NOT_RANKED] * 3


def test_the_way_to_enter_a_number_is_told_for_what_lacks_one():
    told = " ".join(comparison_words(["speed"], options=[option("sign", 0.1)], is_priced=False))
    assert "column measure: speed" in told
    assert "What own.csv says of other measures is taken as it is written there." in told
    assert "do not add up" in told


def test_what_averts_nothing_stands_last_where_all_is_priced(compare):
    found = compare(option("sign", 0.0, per_place=1.0), cost=1000.0).table
    ranked = found[found["basis"] != NOT_RANKED]
    assert ranked["measure"].tolist() == ["fence", "fence", "sign", "sign"]
    assert ranked["averted_per_year"].tolist()[2:] == [0.0, 0.0]


def test_a_measure_that_averts_less_than_one_death_a_year_still_has_its_cost(compare):
    table = compare(option("sign", 0.05, per_place=60.0)).table
    row = table[(table["measure"] == "sign") & table["place"].str.startswith("1:")].iloc[0]
    assert row["cost_per_averted_low"] == pytest.approx(200.0)  # 60 / (6 x .05)
    assert row["cost_per_averted_high"] == pytest.approx(200.0)
