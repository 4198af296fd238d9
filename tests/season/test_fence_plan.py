"""From a season to a plan: the planted place is fenced, what is closed or unknown is not, and doubt is told."""

import numpy as np
import pytest
from fence_seasons import CROWDED_EAST, add_layer, plant, point, span
from tiny_county import CENTRE

from roadwatch.errors import NotEnoughDataError, UsageError
from roadwatch.season.fence_plan import plan_season_fences
from roadwatch.season.fence_sheets import fence_sheets
from roadwatch.season.fence_wishes import Wishes, wishes_of
from roadwatch.siting.fence_problem import Prices

PLACE = (CENTRE[0] + CROWDED_EAST, CENTRE[1])


def planned(county, *, seed=1, **changes):
    wishes = Wishes(**({"fence_m": 600.0, "most_runs": 1, "n_draws": 40} | changes))
    return plan_season_fences(county.season, wishes, rng=np.random.default_rng(seed))


@pytest.fixture
def planted(county, crossing):
    return plant(county, crossing)


def test_the_planted_place_is_fenced(planted):
    found = planned(planted)
    (run,) = found.runs.to_dict("records")
    assert run["road"] == "Invented East Road"
    assert run["longitude_from"] < PLACE[0] < run["longitude_to"]
    assert run["length_m"] <= 600.0
    assert 0.0 < run["averted_low"] <= run["averted_per_year"] <= run["averted_high"]
    assert run["averted_per_year"] <= 0.89 * run["deaths_per_year"]
    assert run["chosen_share"] > 0.7
    assert found.plan.optimal


def test_a_road_never_searched_is_never_fenced_even_with_fence_for_all(planted):
    found = planned(planted, fence_m=50_000.0, most_runs=None, least_run_m=50.0)
    assert set(found.runs["road"]) == {"Invented East Road"}
    told = " ".join(found.notes)
    assert "never searched" in told
    assert "unknown, not safe" in told


def test_without_searches_both_roads_are_open_and_the_doubt_is_said(county, crossing):
    found = planned(plant(county, crossing, searches=False))
    assert any("Where people looked is unknown" in note for note in found.notes)
    assert len(found.cells.road) * 50.0 > 18_000


def test_a_closed_stretch_is_left_out_and_costs_deaths(planted):
    before = planned(planted)
    add_layer(planted, "closed.geojson", "no_fence", span((PLACE[0] - 0.001, PLACE[1]), (PLACE[0] + 0.004, PLACE[1])))
    after = planned(planted)
    assert "closed by the layer no_fence" in " ".join(after.notes)
    middle = PLACE[0] + 0.0015
    assert before.runs["longitude_from"].iloc[0] < middle < before.runs["longitude_to"].iloc[0]
    assert not ((after.runs["longitude_from"] < middle) & (middle < after.runs["longitude_to"])).any()
    assert after.plan.averted.sum() < before.plan.averted.sum()


def test_a_driveway_drawn_as_a_point_closes_its_stretch(planted):
    before = planned(planted).cells.closed_m
    add_layer(planted, "drives.geojson", "no_fence", point(PLACE[0], PLACE[1] + 0.00005))
    after = planned(planted).cells.closed_m
    assert "closed by the layer no_fence" not in before
    assert 50.0 <= after["closed by the layer no_fence"] <= 150.0


def test_passages_within_reach_are_counted_and_can_be_demanded(planted):
    far = (CENTRE[0] - 0.03, CENTRE[1])
    add_layer(planted, "culverts.geojson", "passages", point(*far))
    free = planned(planted)
    assert free.runs["passages"].tolist() == [0]
    assert any("no passage of the layer within reach" in note for note in free.notes)
    bound = planned(planted, passage_reach_m=300.0)
    assert (bound.runs["longitude_to"] < CENTRE[0] - 0.02).all()


def test_a_priced_passage_is_bought_where_it_pays(planted):
    add_layer(planted, "culverts.geojson", "passages", point(*PLACE), point(CENTRE[0] - 0.03, CENTRE[1]))
    found = planned(planted, prices=Prices(10.0, 0.0, 1000.0, 7500.0), passage_reach_m=400.0)
    assert len(found.plan.passages) == 1
    assert found.runs["longitude_from"].iloc[0] > CENTRE[0]


def test_passages_that_are_demanded_must_be_in_a_layer(planted):
    with pytest.raises(NotEnoughDataError, match="--as passages"):
        planned(planted, passage_reach_m=300.0)


def test_money_limits_the_plan_and_its_cost_is_told(planted):
    found = planned(planted, fence_m=None, prices=Prices(10.0, 500.0, budget=5000.0))
    (run,) = found.runs.to_dict("records")
    assert run["length_m"] <= 400.0
    assert run["cost"] == run["length_m"] * 10 + 1000
    assert run["cost_per_averted_low"] <= run["cost_per_averted"] <= run["cost_per_averted_high"]


def test_more_fence_never_averts_less(planted):
    curve = planned(planted, fence_m=1500.0, most_runs=None).curve
    assert (curve["averted_per_year"].diff().dropna() >= -1e-12).all()
    assert curve["length_m"].max() == 3000.0
    assert (curve["low"] <= curve["high"]).all()


def test_equal_seeds_give_equal_plans_and_others_other_intervals(planted):
    one, same, other = planned(planted), planned(planted), planned(planted, seed=2)
    assert one.runs.drop(columns="geometry").equals(same.runs.drop(columns="geometry"))
    assert one.runs["averted_low"].tolist() != other.runs["averted_low"].tolist()
    assert one.runs["averted_per_year"].tolist() == other.runs["averted_per_year"].tolist()


def test_four_records_are_not_enough(county, crossing):
    county.ingest("c.csv", [crossing(0.005 * k, observed_at=f"2025-05-{1 + k:02d}") for k in range(1, 5)])
    with pytest.raises(NotEnoughDataError, match="at least 5"):
        planned(county)


def test_searches_that_cover_no_road_are_not_enough(county, crossing):
    plant(county, crossing, searches=False)
    county.ingest("s.csv", [{"search_id": "s1", "started_at": "2025-05-01", "method": "foot", "roads": "Elsewhere"}])
    with pytest.raises(NotEnoughDataError, match="none covers any road"):
        planned(county)


def test_all_road_closed_is_not_enough(planted):
    add_layer(planted, "all.geojson", "no_fence", span((CENTRE[0] - 0.06, CENTRE[1]), (CENTRE[0] + 0.06, CENTRE[1])))
    with pytest.raises(NotEnoughDataError, match="no searched road is left"):
        planned(planted)


def test_wishes_without_length_or_money_are_refused():
    with pytest.raises(UsageError, match="--fence-km, or --budget"):
        Wishes(None).most_m()
    assert wishes_of(cost_per_m=20.0, budget=1000.0).most_m() == 50.0
    assert wishes_of(fence_km=1.5).most_m() == 1500.0
    assert wishes_of(efficacy="mine.csv").efficacy_file.name == "mine.csv"


def test_a_sheet_names_what_else_could_be_done(planted):
    found = planned(planted)
    brief = fence_sheets(planted.season, found, team_only=False)
    (place,) = brief.places
    this, *others = place.alternatives
    assert this.averted == pytest.approx(found.runs["averted_per_year"].iloc[0])
    assert others[-1].what == "No fence"
    assert others[-1].averted == 0.0
    told = [other for other in others if "not ranked" not in other.what]
    assert all(0.0 <= other.averted <= this.averted + 1e-9 for other in told)
    (blank,) = [other for other in others if "not ranked" in other.what]
    assert blank.what.startswith("Signs, speed measures, passages without a fence")
    assert np.isnan([blank.averted, blank.low, blank.high]).all()
    assert any("outside the plan" in other.what for other in others)
    assert place.road_m.min() >= found.runs["from_m"].iloc[0] - 1000.0
    assert (place.rate_low <= place.rate_high).all()
