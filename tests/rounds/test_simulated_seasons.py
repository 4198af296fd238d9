"""What plans meet in simulated seasons, against what they promised and against two plain ways of going round."""

import numpy as np
import pytest
from simulators.hatchings import earliest_first, every_third_day, simulated_season

from roadwatch.rounds.interval import met_interval
from roadwatch.rounds.solve import solve

SEEDS = range(8)
N_TRUTHS = 40


@pytest.fixture(scope="module")
def seasons():
    """Eight small seasons with their plans."""
    made = [simulated_season(seed, n_nests=16, n_days=24, n_people=3, per_day=3) for seed in SEEDS]
    return [(season, solve(season.problem)) for season in made]


def met(season, timetable, seed, **shifts):
    """(truths,) Nests met in seasons whose true days are drawn."""
    rng = np.random.default_rng([20250715, seed])
    return np.array([season.n_met(timetable, season.true_days(rng, **shifts)) for _ in range(N_TRUTHS)])


@pytest.mark.parametrize("shifts", [{}, {"shared_sd": 5.0}, {"beyond_sd": 5.0}])
@pytest.mark.parametrize("plain", [every_third_day, earliest_first])
def test_a_plan_meets_more_than_a_plain_way_with_as_many_visits(seasons, plain, shifts):
    differences = []
    for seed, (season, plan) in zip(SEEDS, seasons, strict=True):
        other = plain(season, n_visits=int(plan.timetable.is_visited.sum()))
        ours, theirs = (met(season, one, seed, **shifts) for one in (plan.timetable, other))  # the same true days
        differences.append(float((ours - theirs).mean()))
    lower = np.mean(differences) - 2.365 * np.std(differences, ddof=1) / np.sqrt(len(differences))
    assert lower > 0  # Student's t, 7 degrees of freedom, two-sided 95 %, from handbook tables


@pytest.mark.parametrize("shared_sd", [0.0, 5.0])
def test_a_plan_meets_as_many_as_it_promised_also_where_weather_moves_all_nests_together(seasons, shared_sd):
    counts, promised = [], []
    for seed, (season, plan) in zip(SEEDS, seasons, strict=True):
        counts.append(met(season, plan.timetable, seed, shared_sd=shared_sd))
        promised.append(plan.expected)
    found = np.array(counts) - np.array(promised)[:, None]
    error = found.std(ddof=1) / np.sqrt(found.size)  # a season is one draw, whatever its nests have in common
    assert abs(found.mean()) < 2 * error


def test_weather_in_common_makes_seasons_differ_more_than_chance_apart(seasons):
    apart, shared = (
        np.mean([
            met(season, plan.timetable, seed, shared_sd=sd).var(ddof=1)
            for seed, (season, plan) in zip(SEEDS, seasons, strict=True)
        ])
        for sd in (0.0, 5.0)
    )  # fmt: skip
    assert shared > apart


@pytest.mark.parametrize("shared_sd", [0.0, 5.0])
def test_the_interval_holds_at_least_95_of_100_seasons_drawn_apart(seasons, shared_sd):
    inside = []
    for seed, (season, plan) in zip(SEEDS, seasons, strict=True):
        low, high = met_interval(season.problem, plan.timetable, season.chances, rng=np.random.default_rng(1))
        counts = met(season, plan.timetable, seed, shared_sd=shared_sd)
        inside += [low <= count <= high for count in counts]
    # one-sided binomial bound at 0.1 % for 320 seasons of which 95 % lie inside: 0.95 - 3.09 * 0.0122
    assert np.mean(inside) > 0.912


def test_the_interval_is_the_same_for_the_same_seed(seasons):
    season, plan = seasons[0]
    one, two = (
        met_interval(season.problem, plan.timetable, season.chances, rng=np.random.default_rng(3)) for _ in range(2)
    )
    assert one == two
    assert one[0] <= plan.expected <= one[1]


def test_a_plan_without_nests_meets_none():
    season = simulated_season(1, n_nests=0, n_days=5, n_people=1)
    plan = solve(season.problem)
    assert met_interval(season.problem, plan.timetable, [], rng=np.random.default_rng(1)) == (0.0, 0.0)


def test_a_larger_season_with_cages_states_a_bound_and_fits():
    season = simulated_season(4, n_nests=40, n_days=40, n_people=8, per_day=2, n_caged=6)
    plan = solve(season.problem)
    assert plan.bound >= plan.expected
    assert plan.gap <= 0.10
    assert not (plan.timetable.is_visited.sum(axis=0) > 2 * season.problem.available.sum(axis=0)).any()
