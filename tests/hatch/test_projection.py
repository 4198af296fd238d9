from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.design import N_DRAWS, draw_design
from roadwatch.hatch.development import ParameterSet, hatch_tables, parameters_for
from roadwatch.hatch.ensemble import complete_years, days_to_fill, season_weather
from roadwatch.hatch.nest_heat import nest_offset
from roadwatch.hatch.projection import Setting, project, scenario_warmth
from roadwatch.hatch.window import project_windows

AS_OF = date(2024, 7, 1)


def slider() -> ParameterSet:
    found = parameters_for("Trachemys scripta", development_region="deep_south", tables=hatch_tables())
    assert isinstance(found, ParameterSet)
    return found


@pytest.fixture
def setting(years_of_weather):
    def make(*, weather=None, as_of=AS_OF, **changes) -> Setting:
        season = season_weather(weather or years_of_weather(), year=2024, as_of=as_of)
        members = complete_years(season, to_fill=days_to_fill(season, from_day=100))
        made = Setting(slider(), nest_offset("partial"), 6.5, season, members)
        return replace(made, **changes)

    return make


def warmth(setting: Setting):
    return scenario_warmth(setting, draw_design(len(setting.members), root=1), tables=hatch_tables())


def projected(setting: Setting, *, count=1, laid=152.0, span=1.0, root=1, coverage=0.8):
    lay = np.full(count, laid) if np.isscalar(laid) else np.asarray(laid)
    return project(
        setting,
        laid_from=lay,
        laid_until=lay + span,
        as_of_day=(AS_OF - date(2024, 1, 1)).days,
        coverage=coverage,
        root=root,
        tables=hatch_tables(),
    )


def test_there_are_as_many_rows_as_the_design_has_and_a_place_before_each_day(setting):
    scenarios = warmth(setting())
    assert scenarios.cumulative.shape == (N_DRAWS, 367)
    assert scenarios.needed.shape == (N_DRAWS,)


def test_the_rows_carry_the_whole_spread_of_the_nest(setting, steady_weather):
    # At a steady 25 degrees a day's warmth is 25 + offset - base, so its spread over rows is that of both.
    daily = np.diff(warmth(setting(weather=steady_weather(25.0), as_of=AS_OF)).cumulative, axis=1)[:, 200]
    assert daily.mean() == pytest.approx(25 + 2.0 - 15.74, abs=0.01)
    assert daily.std() == pytest.approx(np.hypot(1.5, 0.20), abs=0.02)


def test_the_sum_needed_carries_parameters_clutches_and_the_straight_line(setting):
    # By hand: relative errors 13.5 / 804, 3.2 % and 5 % together; base and sum tied by -0.83.
    scenarios = warmth(setting())
    assert scenarios.needed.mean() == pytest.approx(804, rel=0.002)
    assert scenarios.needed.std() / 804 == pytest.approx(np.sqrt((13.5 / 804) ** 2 + 0.032**2 + 0.05**2), rel=0.03)
    assert np.corrcoef(scenarios.base_c, scenarios.needed)[0, 1] == pytest.approx(
        -0.83 * 13.5 / (804 * 0.0617), abs=0.03
    )


def test_a_steady_summer_takes_the_days_that_division_gives(setting, steady_weather):
    # By hand: 804 / (26 + 2 - 15.74) = 65.6 days; the middle of the draws lies there, within the skew of a ratio.
    made = setting(weather=steady_weather(26.0))
    result = projected(made)[0]
    assert result.likely - 152.5 == pytest.approx(804 / (28 - 15.74), abs=1.0)
    assert result.mean_c == pytest.approx(28.0, abs=0.01)


def test_nests_laid_alike_have_one_window_and_company_changes_nothing(setting):
    made = setting()
    alone = projected(made, laid=[150.0])[0]
    company = projected(made, laid=[152.0, 150.0, 152.0])
    assert alone == company[1]
    assert company[0] == company[2] != company[1]


def test_another_root_gives_other_draws(setting):
    made = setting()
    assert projected(made, root=1) != projected(made, root=2)


def test_a_wider_coverage_gives_a_wider_window(setting):
    made = setting()
    narrow, wide = (projected(made, coverage=coverage)[0] for coverage in (0.5, 0.9))
    assert wide.early < narrow.early
    assert narrow.late < wide.late
    assert narrow.likely == wide.likely


def test_an_open_nest_hatches_before_a_shaded_one(setting):
    sunny, shaded = (projected(setting(offset=nest_offset(word)))[0] for word in ("open", "closed"))
    assert sunny.likely < shaded.likely
    assert sunny.progress > shaded.progress


def test_a_longer_span_of_laying_widens_the_window(setting):
    made = setting()
    known, vague = projected(made, laid=152, span=1)[0], projected(made, laid=142, span=21)[0]
    assert vague.late - vague.early > known.late - known.early


def test_a_logger_narrows_the_window(setting, steady_weather):
    own = np.full(366, 28.0)
    with_logger = projected(setting(weather=steady_weather(26.0), own_low_c=own, own_high_c=own))[0]
    without = projected(setting(weather=steady_weather(26.0)))[0]
    assert with_logger.late - with_logger.early < (without.late - without.early) * 0.8
    assert with_logger.likely == pytest.approx(without.likely, abs=1.5)


@pytest.fixture
def fully_logged(setting, steady_weather):
    """A nest whose logger stood at 28 degrees all year: weather and offset then have no part in the spread."""
    own = np.full(366, 28.0)
    return setting(weather=steady_weather(26.0), own_low_c=own, own_high_c=own)


def test_parameters_clutch_line_and_logger_spread_the_day_as_their_errors_add_up(fully_logged):
    # By hand: shares of 65.6 days from clutch 3.2 %, line 5 %, logger 0.25 of 12.26 degrees, parameters 0.66 of 65.58
    # days; 80 % of a normal lies within 1.2816 standard deviations, and laying is spread evenly over its day.
    share = np.sqrt(0.032**2 + 0.05**2 + (0.25 / 12.26) ** 2 + (0.66 / 65.58) ** 2)
    result = projected(fully_logged)[0]
    assert result.likely == pytest.approx(152.5 + 804 / 12.26, abs=0.6)
    assert result.late - result.early == pytest.approx(2 * 1.2816 * np.hypot(share * 65.6, 1 / np.sqrt(12)), rel=0.08)


def test_a_span_of_laying_is_spread_evenly_over_its_days(fully_logged):
    # By hand: 30 days of span put the middle 15 days later, and 30 over the square root of 12 into the spread.
    known, vague = projected(fully_logged)[0], projected(fully_logged, span=30.0)[0]
    assert vague.likely - known.likely == pytest.approx(14.5, abs=1.0)
    spread = np.hypot((known.late - known.early) / (2 * 1.2816), 30 / np.sqrt(12))
    assert vague.late - vague.early == pytest.approx(2 * 1.2816 * spread, rel=0.1)


def test_a_cold_summer_never_reaches_the_sum_and_says_how_often(setting, steady_weather):
    result = projected(setting(weather=steady_weather(15.0)))[0]
    assert np.isinf(result.late)
    assert result.p_never > 0.9
    assert result.p_hatched == 0


def test_shares_and_progress_stay_between_0_and_1(setting):
    for laid in (60, 100, 152, 182, 200):
        result = projected(setting(), laid=float(laid))[0]
        assert 0 <= result.progress <= 1
        assert 0 <= result.p_hatched <= 1
        assert 0 <= result.p_never <= 1
        assert result.early <= result.likely <= result.late


def true_hatch(weather, year: int, laid: float, *, rng: np.random.Generator) -> float:
    """
    Hatching day of one nest drawn from the stated error model, hour by hour: an oracle that shares no code.

    A sine of 24 hours a day at nest depth, warmth above the base capped at 34 degrees, summed until the nest's own
    need is met; days from the start of 1 January, infinite after 31 December.
    """
    start = (date(year, 1, 1) - weather.first_day).days
    days = (date(year, 12, 31) - date(year, 1, 1)).days + 1
    low, high = weather.low_c[start : start + days], weather.high_c[start : start + days]
    offset = rng.normal(2.0, 1.5)
    z = rng.normal(size=4)
    base = 15.74 + 0.20 * z[0]
    need = (804.0 + 13.5 * (-0.83 * z[0] + np.sqrt(1 - 0.83**2) * z[1])) * (1 + 0.032 * z[2]) * (1 + 0.05 * z[3])
    shrink = 1.16 * np.exp(-0.065 / np.sqrt(0.5e-6 * 86400 / np.pi))
    hour = np.arange(24) + 0.5
    course = (low + high)[:, None] / 2 + offset + (high - low)[:, None] / 2 * shrink * np.sin(2 * np.pi * hour / 24)
    rate = np.clip(np.minimum(course, 34.0) - base, 0, None).ravel() / 24
    moment = (np.arange(len(rate)) + 1) / 24
    gathered = np.cumsum(np.where(moment > laid, rate, 0.0))
    reached = np.flatnonzero(gathered >= need)
    return float(moment[reached[0]]) if len(reached) else np.inf


def simulated_coverage(weather, *, coverage: float, seed: int) -> tuple[int, int]:
    """Windows made on 1 July for invented nests of 25 summers; how many held the day that came, of how many."""
    rng = np.random.default_rng(seed)
    held = count = 0
    for year in range(2000, 2025):
        first = rng.integers(130, 175, 12)
        truths = [true_hatch(weather, year, start + rng.uniform(0, 7), rng=rng) for start in first]
        nests = pd.DataFrame(
            {
                "nest_id": [f"{year}-{index}" for index in range(12)],
                "taxon": "Trachemys scripta",
                "id_confidence": 1.0,
                "exposure": "partial",
                "depth_cm": 6.5,
                "laid_from": [str((pd.Timestamp(year, 1, 1) + pd.Timedelta(days=int(day))).date()) for day in first],
                "laid_to": [str((pd.Timestamp(year, 1, 1) + pd.Timedelta(days=int(day) + 6)).date()) for day in first],
            }
        )
        table = project_windows(
            nests, weather, region="AL_Mobile_delta", as_of=date(year, 7, 1), coverage=coverage, rng=rng
        ).table
        for truth, early, late in zip(truths, table["hatch_early"], table["hatch_late"], strict=True):
            day = (pd.Timestamp(year, 1, 1) + pd.Timedelta(days=int(truth))).date().isoformat() if truth < 366 else "9"
            held += early <= day and (not isinstance(late, str) or day <= late)
            count += 1
    return held, count


@pytest.mark.parametrize(("coverage", "seed"), [(0.8, 11), (0.5, 12)])
def test_windows_hold_at_their_stated_rate_where_the_error_model_is_true(years_of_weather, coverage, seed):
    # Limits: 3.3 standard errors of a binomial share (about 1 in 1000 by chance), a day's rounding added above.
    held, count = simulated_coverage(years_of_weather(first=1970), coverage=coverage, seed=seed)
    allowed = 3.3 * np.sqrt(coverage * (1 - coverage) / count)
    assert coverage - allowed <= held / count <= coverage + allowed + 0.03
