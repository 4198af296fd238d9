"""Carcasses that were gone or overlooked, from the searches on file and a trial to deaths averted."""

import numpy as np
import pandas as pd
import pytest
from fence_seasons import plant

from roadwatch.errors import NotEnoughDataError
from roadwatch.hotspots.carcasses import CarcassTrial, recorded_share
from roadwatch.records.store import Season
from roadwatch.roads.network import build_network
from roadwatch.roads.stretches import cut_stretches
from roadwatch.season.carcass_trials import NO_TRIAL, central_share, days_between, killed_words, trial_words
from roadwatch.season.fence_plan import plan_season_fences
from roadwatch.season.fence_sheets import fence_sheets
from roadwatch.season.fence_wishes import Wishes
from roadwatch.season.mortality import season_hotspots

ROWS = ["days,gone,found", "2,yes,yes", "5,yes,no", "1,yes,yes", "8,no,yes", "4,yes,"]
"""5 days on average (20 over 4), .7 found."""
EVERY_DAYS = 10


@pytest.fixture
def planted(county, crossing):
    """Deaths on the east road, which was searched every ten days."""
    plant(county, crossing)
    days = [f"2025-0{5 + k // 3}-{1 + EVERY_DAYS * (k % 3):02d}" for k in range(6) if k != 0]
    rows = [
        {"search_id": f"t{k}", "started_at": day, "method": "foot", "roads": "Invented East Road"}
        for k, day in enumerate(days)
    ]
    assert county.ingest("more.csv", rows).exit_code == 0
    return county


@pytest.fixture
def trial_file(planted):
    return planted.write("trial.csv", "\n".join(ROWS) + "\n")


def planned(county, trial=None, *, seed=1):
    wishes = Wishes(600.0, most_runs=1, n_draws=100, carcass_trial=trial)
    return plan_season_fences(county.season, wishes, rng=np.random.default_rng(seed))


def roads_of(county):
    season = Season.open(county.season)
    network = build_network(season.read("roads"))
    return season, network, cut_stretches(network)


def test_days_between_searches_are_those_of_the_searched_road_alone(planted):
    # 1, 11, 21 May, 1, 11, 21 June: gaps of 10, 10, 11, 10 and 10 days
    season, network, stretches = roads_of(planted)
    assert days_between(season.read("searches"), network, stretches) == pytest.approx(51 / 5)


def test_the_winter_between_two_years_is_no_gap(planted):
    row = {"search_id": "u1", "started_at": "2026-05-01", "method": "foot", "roads": "Invented East Road"}
    assert planted.ingest("next.csv", [row]).exit_code == 0
    season, network, stretches = roads_of(planted)
    assert days_between(season.read("searches"), network, stretches) == pytest.approx(51 / 5)


def test_two_searches_of_one_day_are_one(planted):
    row = {"search_id": "u2", "started_at": "2025-05-11", "method": "car", "roads": "Invented East Road"}
    assert planted.ingest("twice.csv", [row]).exit_code == 0
    season, network, stretches = roads_of(planted)
    assert days_between(season.read("searches"), network, stretches) == pytest.approx(51 / 5)


def test_without_two_searches_of_a_road_in_a_year_there_is_no_factor(county, crossing):
    plant(county, crossing)
    season, network, stretches = roads_of(county)
    with pytest.raises(NotEnoughDataError, match="searched at least twice in a year"):
        days_between(season.read("searches"), network, stretches)
    with pytest.raises(NotEnoughDataError, match="leave --carcass-trial out"):
        days_between(pd.DataFrame(), network, stretches)


def test_deaths_and_deaths_averted_grow_by_the_share_that_is_recorded(planted, trial_file):
    # Shoenfeld's share for 5 days, .7 found and 10.2 days between searches
    share = float(recorded_share(5.0, 0.7, 10.2))
    found, killed = planned(planted), planned(planted, trial_file)
    assert share < 0.5
    for name in ("deaths_per_year", "averted_per_year"):
        assert killed.runs[name].tolist() == pytest.approx((found.runs[name] / share).tolist())
    assert killed.curve["averted_per_year"].tolist() == pytest.approx(
        (found.curve["averted_per_year"] / share).tolist()
    )


def test_one_share_for_all_roads_leaves_the_places_as_they_are(planted, trial_file):
    found, killed = planned(planted), planned(planted, trial_file)
    for name in ("road", "from_m", "to_m", "chosen_share"):
        assert killed.runs[name].tolist() == found.runs[name].tolist()


def test_what_the_trial_does_not_know_widens_the_interval(planted, trial_file):
    found, killed = planned(planted).runs.iloc[0], planned(planted, trial_file).runs.iloc[0]

    def width(run):
        return np.log(run["averted_high"] / run["averted_low"])

    assert width(killed) > 1.2 * width(found)


def test_the_notes_say_of_what_the_deaths_are(planted, trial_file):
    assert NO_TRIAL in planned(planted).notes
    (told,) = [
        note for note in planned(planted, trial_file).notes if note.startswith("Deaths are those of animals killed")
    ]
    assert "a carcass lies" in told.lower()
    assert "70% of those that lie there" in told
    assert "every 10 days" in told


def test_the_sheet_counts_the_killed_where_a_trial_says_how_many(planted, trial_file):
    for trial, word in ((None, "recorded dead"), (trial_file, "killed")):
        sheets = fence_sheets(planted.season, planned(planted, trial), team_only=False)
        assert sheets.counted == word
    (place,) = sheets.places
    usual = fence_sheets(planted.season, planned(planted), team_only=False).places[0].usual
    assert place.usual == pytest.approx(usual / float(recorded_share(5.0, 0.7, 10.2)))
    assert any(note.startswith("Deaths are those of animals killed") for note in sheets.unknown)


def test_hotspots_tell_the_killed_beside_deaths_and_test_as_before(planted, trial_file):
    def found(trial):
        return season_hotspots(planted.season, rng=np.random.default_rng(3), n_draws=99, carcass_trial=trial)

    plain, killed = found(None), found(trial_file)
    first, same = killed.hotspots.iloc[0], plain.hotspots.iloc[0]
    for name in ("deaths", "p_value", "from_m", "to_m"):
        assert first[name] == same[name]
    assert np.isnan(same["killed_per_km_year"])
    assert first["killed_per_km_year_low"] < first["killed_per_km_year"] < first["killed_per_km_year_high"]
    assert any("killed_per_km_year counts animals killed" in note for note in killed.notes)
    assert not any("killed" in note for note in plain.notes)


def test_the_share_without_a_trial_is_the_whole():
    assert central_share(None) == 1.0
    assert killed_words(None, rng=np.random.default_rng(1)) == ()
    assert trial_words(None, rng=np.random.default_rng(1)) == NO_TRIAL


def test_the_share_of_a_worked_case():
    # by hand in tests/hotspots: 4 days, .6 found, 7 days between, each carcass looked at once: .283278
    once = CarcassTrial(4.0, 1.0, 0.6, 0.1, 7.0, looked_again=False)
    assert central_share(once) == pytest.approx(0.283278, abs=1e-6)


def test_the_table_is_asked_for_on_the_command_line(planted, trial_file):
    run = planted.json("site", planted.season, "--fence-km", 0.6, "--draws", 20, "--carcass-trial", trial_file)
    assert any(note.startswith("Deaths are those of animals killed") for note in run["notes"])
    for name, code in (("gone.csv", 2), (planted.write("bad.csv", "a,b\n1,2\n"), 4)):
        result = planted.run("site", planted.season, "--fence-km", 0.6, "--carcass-trial", name)
        assert result.exit_code == code, result.output
        assert "Traceback" not in result.output
