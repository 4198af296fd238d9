from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm

from roadwatch.hatch.calibration import Calibration, calibrate, offset_by
from roadwatch.hatch.nest_heat import nest_offset, nest_wave, running_mean
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.window import project_windows

AS_OF = date(2024, 7, 15)
LAID = date(2024, 6, 1)


@pytest.fixture(scope="module")
def station(years_of_weather) -> Weather:
    return years_of_weather()


@pytest.fixture(scope="module")
def logger(station):
    """Make an invented logger: a line on the station's air, with day-to-day noise, from a day on."""

    def make(
        *, first=LAID, days=45, offset=4.0, slope=0.9, noise=0.3, smooth=2, seed=3, range_ratio=0.6, name="L", tied=0.0
    ) -> Weather:
        start = (first - station.first_day).days
        middle = running_mean((station.low_c + station.high_c) / 2, days=smooth)[start : start + days]
        half = (station.high_c - station.low_c)[start : start + days] / 2 * range_ratio
        rng = np.random.default_rng(seed)
        drift = rng.normal(0, noise, len(middle))
        for day in range(1, len(drift)):
            drift[day] = tied * drift[day - 1] + np.sqrt(1 - tied**2) * drift[day]
        mean = offset + slope * middle + drift
        return Weather(first, mean - half, mean + half, name, mean_c=mean)

    return make


def test_a_line_without_noise_is_found_exactly(station, logger):
    line = calibrate(logger(noise=0.0), station, as_of=AS_OF)
    assert isinstance(line, Calibration)
    assert (line.intercept_c, line.slope) == pytest.approx((4.0, 0.9), abs=1e-9)
    assert (line.smooth_days, line.n_days) == (2, 45)
    assert line.range_ratio == pytest.approx(0.6)
    assert line.residual_sd_c == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("smooth", [1, 2, 3])
def test_the_running_mean_that_fits_best_is_chosen(station, logger, smooth):
    assert calibrate(logger(smooth=smooth, noise=0.05), station, as_of=AS_OF).smooth_days == smooth


def test_line_and_residuals_agree_with_statsmodels(station, logger):
    made = logger()
    line = calibrate(made, station, as_of=AS_OF)
    start = (LAID - station.first_day).days
    air = pd.Series((station.low_c + station.high_c) / 2)
    x = air.rolling(line.smooth_days).mean().to_numpy()[start : start + 45]
    fit = sm.OLS(made.mean_c, sm.add_constant(x)).fit()
    assert (line.intercept_c, line.slope) == pytest.approx(tuple(fit.params), rel=1e-9)
    assert line.residual_sd_c == pytest.approx(np.sqrt(fit.scale), rel=1e-9)


def test_the_error_of_the_mean_is_that_of_a_prediction_for_as_many_days(station, logger):
    # By hand: two samples of n independent days each, s * sqrt(2 / n), where the air to come is like the air seen.
    line = replace(calibrate(logger(), station, as_of=AS_OF), residual_sd_c=0.6, n_independent=18.0)
    assert line.mean_error_c(line.air_mean_c) == pytest.approx(0.6 * np.sqrt(2 / 18))
    assert line.mean_error_c(line.air_mean_c + line.air_sd_c) == pytest.approx(0.6 * np.sqrt(3 / 18))


def test_residuals_that_hang_together_are_worth_fewer_days(station, logger):
    free = calibrate(logger(days=200, noise=0.5, first=date(2024, 1, 1)), station, as_of=AS_OF)
    tied = calibrate(logger(days=200, noise=0.5, first=date(2024, 1, 1), tied=0.7), station, as_of=AS_OF)
    # (1 - 0.7) / (1 + 0.7) = 0.18 of 196 days, for a first-order chain (textbook); wide limits for one drawn series
    assert tied.n_independent / tied.n_days == pytest.approx(0.18, abs=0.08)
    assert free.n_independent > 0.7 * free.n_days


def test_the_error_of_a_calibrated_mean_is_as_large_as_it_says(station, logger):
    # 200 drawn loggers: the mean of a later stretch of the same length lies within 1.96 errors in about 95 of 100.
    start, held = (date(2024, 6, 15) - station.first_day).days, 0
    middle = (station.low_c + station.high_c) / 2
    for seed in range(200):
        made = logger(seed=seed, days=28, noise=0.6)
        line = calibrate(made, station, as_of=date(2024, 6, 14))
        later = running_mean(middle, days=line.smooth_days)[start : start + 14]
        foretold = (line.intercept_c + line.slope * later).mean()
        held += abs(made.mean_c[14:].mean() - foretold) <= 1.96 * line.mean_error_c(float(later.mean()))
    assert 0.95 - 3.3 * np.sqrt(0.95 * 0.05 / 200) <= held / 200  # binomial bound, about 1 in 1000 by chance


def test_thirteen_days_do_not_calibrate_and_fourteen_do(station, logger):
    few = calibrate(logger(days=13), station, as_of=AS_OF)
    assert few == "logger L has 13 days beside the station, 14 are needed to calibrate it"
    assert isinstance(calibrate(logger(days=14), station, as_of=AS_OF), Calibration)


def test_days_after_the_day_asked_for_do_not_calibrate(station, logger):
    assert "has 10 days" in calibrate(logger(), station, as_of=LAID + timedelta(days=9))


def test_a_logger_that_lay_in_a_pocket_is_asked_after(station):
    rng = np.random.default_rng(8)
    middle = 22 + rng.normal(0, 1.5, 40)
    found = calibrate(Weather(LAID, middle - 1, middle + 1, "P"), station, as_of=AS_OF)
    assert "P does not follow the air" in found
    assert "was it in the ground" in found


def test_a_station_that_never_changes_calibrates_nothing(steady_weather, logger):
    assert "hardly changed" in calibrate(logger(), steady_weather(25.0), as_of=AS_OF)


def test_days_far_off_the_line_are_counted_and_kept(station, logger):
    clean, odd = logger(), logger()
    mean = odd.mean_c.copy()
    mean[20] += 12.0
    line = calibrate(replace(odd, mean_c=mean), station, as_of=AS_OF)
    assert line.n_far_out == 1
    assert line.n_days == calibrate(clean, station, as_of=AS_OF).n_days


def test_a_neighbour_keeps_the_whole_scatter_between_nests(station, logger):
    line = calibrate(logger(), station, as_of=AS_OF)
    own, other = (offset_by(line, air_ahead_c=26.0, exposure="open", own=one) for one in (True, False))
    assert own.sd_c < 0.5
    assert other.sd_c > nest_offset("open").sd_c
    assert own.mean_c == other.mean_c == line.intercept_c


def test_a_calibrated_nest_follows_slope_mean_and_range(station, logger):
    line = calibrate(logger(noise=0.0), station, as_of=AS_OF)
    offset = offset_by(line, air_ahead_c=26.0, exposure=None, own=True)
    low, high = nest_wave(
        np.array([10.0, 20.0]), np.array([30.0, 40.0]), offset_c=offset.mean_c, depth_cm=50.0, like=offset
    )
    # By hand: middles 20 and 30, running means 20 and 25, times 0.9, plus 4; half range 10 times 0.6
    np.testing.assert_allclose(low, [22 - 6, 26.5 - 6])
    np.testing.assert_allclose(high, [22 + 6, 26.5 + 6])


@pytest.mark.parametrize(
    ("days", "expected"),
    [(1, [1, 3, np.nan, 5]), (2, [1, 2, np.nan, 5]), (3, [1, 2, np.nan, 4])],
)
def test_running_means_take_the_days_there_are(days, expected):
    np.testing.assert_allclose(running_mean(np.array([1.0, 3.0, np.nan, 5.0]), days=days), expected)


@pytest.fixture
def windows(station, nest):
    def make(*rows, loggers=None, as_of=AS_OF):
        return project_windows(
            pd.DataFrame([nest(**row) for row in rows]),
            station,
            region="AL_Mobile_delta",
            as_of=as_of,
            rng=np.random.default_rng(1),
            loggers=loggers or {},
        ).table

    return make


def width(row) -> int:
    return (date.fromisoformat(row["hatch_late"]) - date.fromisoformat(row["hatch_early"])).days


def test_the_bases_stand_in_their_order_and_a_logger_of_its_own_narrows_most(windows, logger):
    table = windows(
        {"nest_id": "A"},
        {"nest_id": "B", "site_logger_id": "L"},
        {"nest_id": "C", "logger_id": "L"},
        loggers={"L": logger()},
    )
    assert list(table["basis"]) == ["station_offset", "calibrated_site", "own_logger"]
    assert width(table.iloc[2]) < 0.6 * width(table.iloc[0])
    assert "by 45 days of a logger elsewhere on its site (L)" in table["note"][1]


def test_a_logger_that_stopped_early_still_calibrates_its_nest(windows, logger):
    table = windows(
        {"laid_on": "2024-05-01", "found_at": "2024-05-01", "logger_id": "L"},
        loggers={"L": logger(first=date(2024, 5, 10), days=18)},
    )
    assert table["basis"][0] == "calibrated_site"
    assert "its own logger (L)" in table["note"][0]


def test_a_site_is_calibrated_only_where_that_is_stated(windows, logger):
    table = windows({"nest_id": "A", "logger_id": "L"}, {"nest_id": "B"}, loggers={"L": logger()})
    assert table["basis"][1] == "station_offset"


def test_a_cold_site_hatches_later_than_the_plain_offset_says(windows, logger):
    table = windows({"nest_id": "A"}, {"nest_id": "B", "site_logger_id": "L"}, loggers={"L": logger(offset=0.0)})
    assert table["hatch_likely"][1] > table["hatch_likely"][0]


def test_two_loggers_of_one_nest_that_agree_are_averaged_in_silence(windows, logger):
    pair = {"K": logger(name="K", seed=4), "L": logger()}
    row = windows({"logger_id": "K; L"}, loggers=pair).iloc[0]
    assert row["basis"] == "own_logger"
    assert "differ" not in row["note"]


def test_two_loggers_that_disagree_are_told_and_lower_the_sureness(windows, logger):
    apart = {"K": logger(name="K", offset=7.0), "L": logger()}
    row = windows({"logger_id": "K;L"}, loggers=apart).iloc[0]
    alike = windows({"logger_id": "L"}, loggers=apart).iloc[0]
    assert "loggers K and L differ by 3.0 °C on average" in row["note"]
    assert (row["sureness"], alike["sureness"]) == ("low", "high")


def test_a_logger_in_a_pocket_lowers_the_sureness_and_is_not_hidden(windows):
    middle = 22 + np.random.default_rng(8).normal(0, 1.5, 44)
    row = windows({"logger_id": "P"}, loggers={"P": Weather(LAID, middle - 1, middle + 1, "P")}).iloc[0]
    assert "does not follow the air" in row["note"]
    assert row["sureness"] == "low"
