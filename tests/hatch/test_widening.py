"""How far the weather's part is stretched: learned on earlier summers alone, never below 1, and never a window less."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from roadwatch.hatch.development import hatch_tables, parameters_for
from roadwatch.hatch.ensemble import complete_years, days_to_fill, season_weather
from roadwatch.hatch.hindcast import FEWEST_WINDOWS, LEADS_D, FixedNest, WeatherCases, weather_cases, weather_scores
from roadwatch.hatch.nest_heat import nest_offset
from roadwatch.hatch.projection import Setting, project
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.widening import Widening, Widenings, learn_widening, widened_draws
from roadwatch.hatch.window import project_windows

TABLES = hatch_tables()
SLIDER = parameters_for("Trachemys scripta", development_region="deep_south", tables=TABLES)


@pytest.fixture
def cases():
    """Make past forecasts whose members are the days 1 to 9, so that the middle is 5 and 80 % lies from 1 to 9."""

    def make(truth, *, first_year=2000, leads=LEADS_D) -> WeatherCases:
        truth = np.asarray(truth, float)
        year = np.repeat(np.arange(first_year, first_year + len(truth)), len(leads))
        ensemble = np.tile(np.arange(1.0, 10.0), (len(year), 1))
        return WeatherCases(year, np.tile(leads, len(truth)), np.repeat(truth, len(leads)), ensemble, ensemble, 0)

    return make


def draw(days, *, by_member, member, factor, not_before=0.0, n_days=365):
    return widened_draws(
        np.asarray(days, float)[None],
        member=np.asarray(member),
        by_member=np.asarray(by_member, float)[None],
        factor=np.array([factor]),
        not_before=not_before,
        n_days=n_days,
    )[0]


def test_the_factor_is_the_conformal_rank_of_what_past_windows_needed(cases):
    # By hand: the middle is 5 and the end 4 away, so these nine truths needed 0, .25, .5, ... 2 times their side; the
    # (9 + 1) x 0.8 = 8th smallest is 1.75.
    learned = learn_widening(cases([5, 6, 3, 8, 1, 10, 11, 12, 13]), before=2009, coverage=0.8)
    assert learned.factors == (1.75,) * len(LEADS_D)
    assert (learned.n_years, learned.first_year, learned.last_year) == (9, 2000, 2008)


def test_windows_that_held_easily_are_not_shrunk(cases):
    assert learn_widening(cases([5.1] * 12), before=2012, coverage=0.8).factors == (1.0,) * len(LEADS_D)


def test_the_season_and_later_summers_teach_nothing(cases):
    calm = learn_widening(cases([5.1] * 8), before=2008, coverage=0.8)
    assert learn_widening(cases([5.1] * 8 + [99.0] * 8), before=2008, coverage=0.8) == calm


def test_fewer_than_fifteen_complete_years_teach_nothing(cases):
    # Fifteen complete years leave six with nine before them.
    assert FEWEST_WINDOWS == 15 - 9
    assert learn_widening(cases([9.0] * 5), before=2100, coverage=0.8) is None
    assert learn_widening(cases([9.0] * 6), before=2100, coverage=0.8) is not None


def test_between_two_leads_the_factor_lies_in_proportion_and_outside_at_the_nearest():
    learned = Widening((1.6, 1.45, 1.3, 1.15, 1.05), 20, 2000, 2019)  # at 60, 45, 30, 15 and 5 days
    np.testing.assert_allclose(learned.at(np.array([90.0, 60.0, 37.5, 10.0, 1.0])), [1.6, 1.6, 1.375, 1.1, 1.05])


def test_with_nothing_unknown_but_weather_each_year_moves_by_the_factor():
    # By hand: the middle year hatches on day 110; a year 10 days later hatches 1.5 x 10 later.
    moved = draw([120, 110, 95], by_member=[95, 110, 120], member=[2, 1, 0], factor=1.5)
    np.testing.assert_allclose(moved, [87.5, 110.0, 125.0])


def test_other_errors_are_kept_as_they_are():
    # Two draws of each year, 4 days apart for another cause: they stay 4 days apart.
    moved = draw([98, 102, 108, 112, 118, 122], by_member=[100, 110, 120], member=[0, 0, 1, 1, 2, 2], factor=2.0)
    np.testing.assert_allclose(moved, [88, 92, 108, 112, 128, 132])


def test_a_factor_of_one_changes_nothing_but_the_order():
    moved = draw([120, 95, np.inf], by_member=[95, 120, 365], member=[1, 0, 2], factor=1.0)
    np.testing.assert_allclose(moved, [95, 120, np.inf])


def test_what_hatched_in_known_weather_stays_and_nothing_is_moved_into_it():
    moved = draw([100, 111, 140], by_member=[100, 120, 140], member=[0, 0, 2], factor=2.0, not_before=110.0)
    np.testing.assert_allclose(moved, [100, 111, 160])  # the middle of three keeps its place
    moved = draw([112, 120, 140], by_member=[100, 120, 140], member=[0, 1, 2], factor=2.0, not_before=110.0)
    assert moved[0] == 110.0


def test_what_is_moved_beyond_the_year_does_not_hatch_in_it():
    moved = draw([300, 320, 350], by_member=[300, 320, np.inf], member=[0, 1, 2], factor=2.0)
    np.testing.assert_allclose(moved, [280, 320, np.inf])


@given(
    days=arrays(float, 40, elements=st.one_of(st.floats(120, 364), st.just(np.inf))),
    years=arrays(float, 10, elements=st.one_of(st.floats(120, 364), st.just(np.inf))),
    factor=st.floats(1, 3),
    not_before=st.floats(0, 300),
)
def test_no_place_in_the_order_comes_nearer_to_the_middle(days, years, factor, not_before):
    moved = draw(days, by_member=years, member=np.arange(40) % 10, factor=factor, not_before=not_before)
    plain = np.sort(days)
    assert (moved[:20] <= plain[:20]).all()
    assert moved[20] == plain[20]
    assert (moved[21:] >= plain[21:]).all()
    assert (moved[:-1] <= moved[1:]).all()


@pytest.fixture(scope="module")
def setting(clemson):
    season = season_weather(clemson, year=2020, as_of=date(2020, 6, 10))
    members = complete_years(season, to_fill=days_to_fill(season, from_day=152))
    return Setting(SLIDER, nest_offset("partial"), 6.5, season, members)


def test_at_clemson_a_nest_is_stretched_by_what_its_hindcast_learned(clemson, setting):
    # The hindcast learns year by year in its own way; half a month after 1 May stands for the nests of that month.
    nest = FixedNest(SLIDER, nest_offset("partial"), 6.5, 137.0)
    _, table = weather_scores(weather_cases(clemson, [nest], tables=TABLES), rng=np.random.default_rng(1))
    by_lead = table[table["year"] == 2020].set_index("lead_days")["factor_80"]
    found = Widenings(clemson, TABLES, 0.8, 2020).of(SLIDER, offset_c=2.0, lay_day=150.0, year=2020)
    np.testing.assert_allclose(found.factors, [by_lead[lead] for lead in LEADS_D])
    assert found.last_year == 2019


def test_a_stretched_window_holds_the_plain_one_and_keeps_its_middle(clemson, setting):
    asked = {"laid_from": np.array([153.0]), "laid_until": np.array([154.0]), "as_of_day": 161, "root": 1}
    plain = project(setting, coverage=0.8, tables=TABLES, **asked)[0]
    wide = project(setting, coverage=0.8, tables=TABLES, widenings=Widenings(clemson, TABLES, 0.8, 2020), **asked)[0]
    assert wide.weather_factor > 1
    assert wide.early <= plain.early < plain.late <= wide.late
    assert wide.late - wide.early > plain.late - plain.early
    assert (wide.likely, wide.progress) == (plain.likely, plain.progress)
    assert np.isnan(plain.weather_factor)


def test_a_window_knows_no_summer_after_the_day_asked_for(clemson):
    until = (date(2000, 1, 1) - clemson.first_day).days
    low, high = clemson.low_c.copy(), clemson.high_c.copy()
    low[until:] += 5
    high[until:] += 5
    hot = Weather(clemson.first_day, low, high, clemson.source)
    one, other = (
        Widenings(weather, TABLES, 0.8, 2000).of(SLIDER, offset_c=2.0, lay_day=150.0, year=2000)
        for weather in (clemson, hot)
    )
    assert one == other
    # a nest of next year, seen from this one, learns from the same summers
    assert Widenings(clemson, TABLES, 0.8, 2000).of(SLIDER, offset_c=2.0, lay_day=150.0, year=2001) == one


def test_what_was_learned_is_told_in_the_table_and_the_notes(windows, nest):
    found = windows(nest(), nest(nest_id="N2", taxon="Terrapene carolina"))
    factor = found.table["weather_factor"]
    assert factor[0] >= 1
    assert np.isnan(factor[1])  # days from natural nests: no weather in them
    told = next(note for note in found.notes if note.startswith("The weather's part is stretched"))
    assert "times in 1 of 2 windows (weather_factor)" in told
    # 40 invented years, 1985 to 2024: the first nine teach nothing, and the season is not over
    assert "what 30 past summers of invented, 1994 to 2023, each forecast from earlier ones alone" in told
    assert "never shrunk" in told


@pytest.mark.parametrize(("first", "is_blank"), [(2009, False), (2010, True)])
def test_with_fewer_than_fifteen_past_years_the_factor_is_blank_and_that_is_said(
    windows, nest, years_of_weather, first, is_blank
):
    found = windows(nest(), weather=years_of_weather(first=first), explain=True)
    words = [note for note in found.notes if "fewer than 15 complete past years to learn from" in note]
    assert np.isnan(found.table["weather_factor"][0]) == is_blank
    assert len(words) == is_blank
    weather = found.causes.set_index("cause").loc["weather", "stretched_by"]
    assert np.isnan(weather) == is_blank


def test_the_part_of_the_weather_is_the_only_cause_that_is_stretched(windows, nest, clemson):
    rows = [nest(laid_on="2020-06-01", found_at="2020-06-01")]
    found = windows(*rows, weather=clemson, as_of=date(2020, 6, 2), explain=True)
    causes = found.causes.set_index("cause")
    assert causes.loc["weather", "stretched_by"] == pytest.approx(found.table["weather_factor"][0])
    assert causes["stretched_by"].notna().sum() == 1


def test_the_weathers_days_alone_are_the_plain_days_times_the_factor(nest, clemson, monkeypatch):
    def alone() -> pd.Series:
        made = project_windows(
            pd.DataFrame([nest(laid_on="2020-06-01", found_at="2020-06-01")]),
            clemson,
            region="AL_Mobile_delta",
            as_of=date(2020, 6, 2),
            rng=np.random.default_rng(1),
            explain=True,
        )
        return made.causes.set_index("cause")[["days_alone", "stretched_by"]]

    stretched = alone()
    monkeypatch.setattr(Widenings, "of", lambda *_, **__: None)
    plain = alone()
    factor = stretched.loc["weather", "stretched_by"]
    assert factor > 1.02
    assert stretched.loc["weather", "days_alone"] == pytest.approx(plain.loc["weather", "days_alone"] * factor)
    others = stretched.index.drop("weather")
    np.testing.assert_allclose(stretched.loc[others, "days_alone"], plain.loc[others, "days_alone"])


def test_a_season_seen_to_its_end_has_nothing_to_stretch(row, years_of_weather):
    found = row(weather=years_of_weather(first=2004, last=2024), as_of=date(2025, 1, 10))
    assert np.isnan(found["weather_factor"])


def test_a_place_too_cold_to_hatch_in_teaches_nothing(years_of_weather):
    cold = Widenings(years_of_weather(mean_c=2.0), TABLES, 0.8, 2024)
    assert cold.of(SLIDER, offset_c=2.0, lay_day=150.0, year=2024) is None


def test_a_record_too_short_to_forecast_from_teaches_nothing(years_of_weather):
    short = Widenings(years_of_weather(first=2018), TABLES, 0.8, 2024)
    assert short.of(replace(SLIDER, taxon="other"), offset_c=2.0, lay_day=150.0, year=2024) is None
