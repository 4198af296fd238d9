from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from roadwatch.hatch.development import find_region, hatch_tables
from roadwatch.hatch.ensemble import season_weather
from roadwatch.hatch.planning import Ground, plan_nest
from roadwatch.hatch.temperatures import Weather
from roadwatch.hatch.visits import Visited

AS_OF = date(2024, 7, 1)


@pytest.fixture
def ground(years_of_weather):
    def make(*, weather=None, as_of=AS_OF, loggers=None, visits=None, region="AL_Mobile_delta") -> Ground:
        station = weather or years_of_weather()
        tables = hatch_tables()
        return Ground(
            tables=tables,
            region=find_region(region, tables=tables),
            station=station,
            seasons={2024: season_weather(station, year=2024, as_of=as_of)},
            loggers=loggers or {},
            as_of=as_of,
            visits=visits or {},
        )

    return make


def test_a_plain_nest_gets_a_setting_and_no_doubt(ground, nest):
    plan = plan_nest(nest(), ground=ground())
    assert plan.reason is None
    assert plan.setting is not None
    assert (plan.doubts, plan.remarks) == ([], [])
    assert len(plan.setting.members) == 30


def test_nests_of_one_taxon_place_and_season_share_their_sums_whatever_their_laying_day(ground, nest):
    here = ground()
    first = plan_nest(nest(nest_id="A"), ground=here)
    second = plan_nest(nest(nest_id="B", laid_on="2024-06-09", taxon="Trachemys scripta elegans"), ground=here)
    assert first.key == second.key


@pytest.mark.parametrize(
    "changes", [{"exposure": "open"}, {"exposure": None}, {"depth_cm": 12.0}, {"taxon": "Chelydra serpentina"}]
)
def test_nests_that_differ_in_what_warms_them_do_not_share(ground, nest, changes):
    here = ground()
    assert plan_nest(nest(), ground=here).key != plan_nest(nest(**changes), ground=here).key


def test_a_year_with_a_hole_is_a_member_for_late_nests_only(ground, nest, years_of_weather):
    weather = years_of_weather(first=2010)
    hole = (date(2015, 6, 1) - weather.first_day).days
    weather.low_c[hole : hole + 9] = np.nan
    early, late = (
        plan_nest(nest(laid_on=day, found_at=day), ground=ground(weather=weather, as_of=date(2024, 5, 1)))
        for day in ("2024-05-20", "2024-06-15")
    )
    assert early.setting is not None
    assert late.setting is not None
    assert len(late.setting.members) == len(early.setting.members) + 1
    assert early.key != late.key


def test_what_visits_settled_comes_before_everything_else(ground, nest):
    here = ground(visits={"N1": Visited("crushed_or_mown", "2024-06-20")})
    plan = plan_nest(nest(taxon="Kinosternon baurii"), ground=here)
    assert plan.reason == "no window: found crushed or mown on 2024-06-20"


def test_a_pausing_taxon_is_told_before_a_missing_day(ground, nest):
    plan = plan_nest(nest(taxon="Deirochelys reticularia", laid_on=None, found_at=None), ground=ground())
    assert plan.reason is not None
    assert plan.reason.startswith("no projection: eggs of this taxon pause (Deirochelys reticularia)")


def test_a_missing_day_is_told(ground, nest):
    plan = plan_nest(nest(laid_on=None, found_at=None), ground=ground())
    assert plan.reason == "no projection: neither a laying day nor the day it was found is known"
    assert plan.laying is None


def test_a_field_range_needs_no_weather(ground, nest):
    nothing = Weather(date(2024, 6, 1), np.array([20.0]), np.array([30.0]), "one day")
    plan = plan_nest(nest(taxon="Terrapene carolina"), ground=ground(weather=nothing))
    assert plan.reason is None
    assert plan.setting is None


def test_an_assumed_span_weighs_as_two_doubts_and_reads_as_one(ground, nest):
    plan = plan_nest(nest(laid_on=None, found_at="2024-06-15"), ground=ground())
    assert len(plan.doubts) == 2
    assert len(plan.remarks) == 1


def test_a_shaded_logger_is_not_asked_for_its_exposure(ground, nest):
    low = np.full(40, 26.0)
    logger = Weather(date(2024, 5, 25), low, low + 4, "HB7")
    plan = plan_nest(nest(exposure=None, logger_id="HB7"), ground=ground(loggers={"HB7": logger}))
    assert plan.logger == "HB7"
    assert plan.doubts == []
    assert plan.setting is not None
    assert plan.setting.own_low_c is not None
    recorded = np.flatnonzero(~np.isnan(plan.setting.own_low_c))
    assert recorded[0] == (date(2024, 6, 1) - date(2024, 1, 1)).days  # from laying on
    assert recorded[-1] == (AS_OF - date(2024, 1, 1)).days  # and never beyond the day asked for


@pytest.mark.parametrize("blank", [None, "", " ", float("nan")])
def test_blanks_of_any_kind_count_as_not_noted(ground, nest, blank):
    plan = plan_nest(nest(exposure=blank, logger_id=blank), ground=ground())
    assert plan.doubts == ["exposure not noted: taken as partly shaded, with a wider spread"]
    assert plan.logger is None
