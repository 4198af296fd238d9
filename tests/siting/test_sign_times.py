"""When a sign is needed."""

import numpy as np
import pandas as pd
import pytest

from roadwatch.siting.sign_times import (
    DAYS,
    HOURS,
    LEAST_NEAR,
    clock,
    day_numbers,
    living_hours,
    month_day,
    shortest_interval,
    times_of,
)

WORKED = np.array(
    [150, 152, 155, 158, 160, 161, 163, 165, 166, 170, 172, 175, 180, 190, 240, 245, 250, 251, 255, 262], dtype=float
)


@pytest.fixture
def crossings():
    """crossings([text, ...]): animals seen alive at these moments, with any column changed."""

    def make(moments, **changes) -> pd.DataFrame:
        table = pd.DataFrame({"observed_at": moments, "condition": "alive", "carcass_age": None}, dtype=object)
        return table.assign(**changes)

    return make


@pytest.mark.parametrize(("share", "ends"), [(0.5, (150, 170)), (0.8, (150, 245)), (0.9, (150, 251))])
def test_the_shortest_interval_of_a_worked_example(share, ends):
    # By hand: of 20 days k = ceil(20 p) lie together; the narrowest run of 10, 16 and 18 of them starts on day 150
    # (for 50 % the runs from 150, 152 and 155 last 20, 20 and 20 days; the first is taken).
    found = shortest_interval(WORKED, period=DAYS, rng=np.random.default_rng(1), share=share)
    assert (found.first, found.last) == ends


def test_a_season_over_new_year_goes_round():
    days = np.array([350, 355, 360, 365, 2, 4, 8, 10], dtype=float)
    found = shortest_interval(days, period=DAYS, rng=np.random.default_rng(1), share=1.0)
    assert (found.first, found.last) == (350, 10)


def test_the_bootstrap_holds_the_estimate_between_its_ends():
    rng = np.random.default_rng(2)
    found = shortest_interval(np.round(rng.normal(160, 15, 80)), period=DAYS, rng=rng)
    assert found.first_low <= found.first <= found.first_high
    assert found.last_low <= found.last <= found.last_high
    assert found.n == 80


def test_more_records_tell_the_ends_more_surely():
    rng = np.random.default_rng(3)

    def width(n: int) -> float:
        found = [shortest_interval(rng.normal(160, 15, n), period=DAYS, rng=rng, n_draws=200) for _ in range(20)]
        return float(np.mean([one.first_high - one.first_low for one in found]))

    assert width(320) < width(20)


def test_all_on_one_day_is_that_day_for_certain():
    found = shortest_interval(np.full(6, 130.0), period=DAYS, rng=np.random.default_rng(1))
    assert {found.first, found.last, found.first_low, found.last_high} == {130.0}


def test_turning_the_clock_turns_the_interval():
    hours = np.random.default_rng(4).normal(9, 2, 60)
    one = shortest_interval(hours % 24, period=HOURS, rng=np.random.default_rng(5))
    other = shortest_interval((hours + 20) % 24, period=HOURS, rng=np.random.default_rng(5))
    assert (one.first + 20) % 24 == pytest.approx(other.first)
    assert (one.last + 20) % 24 == pytest.approx(other.last)


def test_the_order_of_records_never_matters():
    rng = np.random.default_rng(6)
    days = rng.normal(160, 15, 40)
    shuffled = rng.permutation(days)
    one, other = (shortest_interval(v, period=DAYS, rng=np.random.default_rng(1)) for v in (days, shuffled))
    assert (one.first, one.last) == (other.first, other.last)


def test_29_february_has_a_number_of_its_own(crossings):
    assert day_numbers(crossings(["2024-02-29", "2023-03-01", "2024-03-01"])).tolist() == [59, 60, 60]


@pytest.mark.parametrize("age", ["old", "dry", "remains"])
def test_an_old_carcass_does_not_tell_the_day(crossings, age):
    assert not len(day_numbers(crossings(["2024-05-01"], condition="dead", carcass_age=age)))
    assert len(day_numbers(crossings(["2024-05-01"], condition="dead", carcass_age="fresh")))


def test_only_the_living_tell_the_hour(crossings):
    moments = ["2024-05-01T08:30:00-04:00", "2024-05-02"]
    assert living_hours(crossings(moments)).tolist() == [8.5]
    assert not len(living_hours(crossings(moments, condition="dead")))


def test_days_and_hours_are_written_as_people_read_them():
    assert month_day(0) == "01-01"
    assert month_day(59) == "02-29"
    assert clock(8.67) == "08:40"
    assert clock(23.999) == "00:00"


def test_enough_crossings_near_are_taken_alone(crossings):
    near = crossings([f"2024-05-{day:02d}T09:00:00-04:00" for day in range(1, LEAST_NEAR + 1)])
    county = pd.concat([near, crossings(["2024-08-01T15:00:00-04:00"] * 50)])
    told = times_of(near, county, rng=np.random.default_rng(1))
    assert (told["days_basis"], told["hours_basis"]) == ("near", "near")
    assert told["on_from"] >= "05-01"
    assert told["on_to"] <= "05-20"
    assert told["hours_from"] == "09:00"


def test_too_few_near_take_the_countys_and_say_so(crossings):
    near = crossings(["2024-05-01T09:00:00-04:00"] * (LEAST_NEAR - 1))
    county = crossings(["2024-08-01T15:00:00-04:00"] * 50)
    told = times_of(near, county, rng=np.random.default_rng(1))
    assert told["days_basis"] == "county"
    assert (told["on_from"], told["hours_from"], told["days_crossings"]) == ("08-01", "15:00", 50)


def test_too_few_in_the_county_tell_nothing(crossings):
    few = crossings(["2024-05-01"] * 4)
    told = times_of(few, few, rng=np.random.default_rng(1))
    assert told["days_basis"] == "none"
    assert told["on_from"] is None
    assert told["hours_to_high"] is None


def test_the_bootstrap_interval_holds_the_true_end_about_as_often_as_it_says():
    # 200 samples of 100 days, uniform on 100..199: the true 80 % interval has length 80. The 90 % interval of the
    # length's two ends is judged on a triangular season, whose shortest interval is unique: mode 150, half-width 50.
    rng, n, inside = np.random.default_rng(8), 120, 0
    true_first = 150 - 50 * (1 - np.sqrt(0.2))
    for _ in range(n):
        days = rng.triangular(100, 150, 200, 150)
        found = shortest_interval(days, period=DAYS, rng=rng, n_draws=150)
        inside += found.first_low <= true_first <= found.first_high
    assert inside / n >= 0.75  # cube-root estimators are bootstrapped badly; it must not be far below 90 %


@pytest.mark.parametrize(
    ("n_near", "n_county", "basis"), [(20, 20, "near"), (19, 19, "county"), (4, 5, "county"), (4, 4, "none")]
)
def test_twenty_near_or_five_in_the_county_are_just_enough(crossings, n_near, n_county, basis):
    def seen(n):
        return crossings([f"2024-05-{1 + k:02d}T09:00:00-04:00" for k in range(n)])

    told = times_of(seen(n_near), seen(n_county), rng=np.random.default_rng(1))
    assert (told["days_basis"], told["hours_basis"]) == (basis, basis)
