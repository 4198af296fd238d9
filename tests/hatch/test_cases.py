from __future__ import annotations

from datetime import date

import numpy as np
import pandas as pd
import pytest

from roadwatch.hatch.laying import Laying
from roadwatch.hatch.mixtures import field_draws, mix_windows, weighted_quantiles
from roadwatch.hatch.projection import Projected
from roadwatch.hatch.window import project_windows

AS_OF = date(2024, 7, 1)
SLIDER, SNAPPER, PAINTED, CHICKEN = (
    "Trachemys scripta",
    "Chelydra serpentina",
    "Chrysemys picta",
    "Deirochelys reticularia",
)


@pytest.fixture
def row(years_of_weather, nest):
    def make(candidates=None, **changes) -> pd.Series:
        return project_windows(
            pd.DataFrame([nest(**changes)]),
            years_of_weather(),
            region="AL_Mobile_delta",
            as_of=AS_OF,
            rng=np.random.default_rng(1),
            candidates={"N1": candidates} if candidates else None,
        ).table.iloc[0]

    return make


def day(text: str) -> int:
    return (date.fromisoformat(text) - date(2024, 1, 1)).days


def test_one_candidate_is_the_nest_as_written(row):
    plain, same = row(), row({SLIDER: 0.4})
    pd.testing.assert_series_equal(plain, same)


def test_subspecies_with_one_parameter_set_are_one_taxon(row):
    found = row({"Trachemys scripta scripta": 0.6, "Trachemys scripta elegans": 0.4})
    assert "window over" not in found["note"]
    assert found["hatch_early"] == row()["hatch_early"]


def test_a_window_over_two_taxa_reaches_from_one_to_the_other(row):
    slider, snapper = row(), row(taxon=SNAPPER)
    mixed = row({SLIDER: 0.5, SNAPPER: 0.5})
    assert day(slider["hatch_early"]) <= day(mixed["hatch_early"])
    assert day(mixed["hatch_late"]) <= day(snapper["hatch_late"])
    assert day(slider["hatch_likely"]) < day(mixed["hatch_likely"]) < day(snapper["hatch_likely"])
    assert f"window over the taxa it may be of: {SNAPPER} 50%, {SLIDER} 50%" in mixed["note"]


def test_a_taxon_of_little_weight_moves_little(row):
    plain, mixed = row(), row({SLIDER: 0.98, SNAPPER: 0.02})
    assert abs(day(mixed["hatch_likely"]) - day(plain["hatch_likely"])) <= 1
    assert mixed["sureness"] == plain["sureness"]


def test_a_doubtful_name_lowers_the_sureness(row):
    assert row()["sureness"] == "medium"
    assert row({SLIDER: 0.6, SNAPPER: 0.4})["sureness"] == "low"


def test_a_published_range_stands_beside_weather(row):
    mixed = row({SLIDER: 0.7, PAINTED: 0.3})
    assert mixed["basis"] == "station_offset"
    assert isinstance(mixed["hatch_late"], str)


def test_the_share_of_taxa_without_a_window_is_told(row):
    mixed = row({SLIDER: 0.8, CHICKEN: 0.2})
    assert "20% lies on taxa without a window, which are left out of it" in mixed["note"]
    assert mixed["hatch_likely"] == row()["hatch_likely"]


def test_where_most_lies_on_taxa_without_a_window_there_is_none(row):
    none = row({SLIDER: 0.3, CHICKEN: 0.7})
    assert none["basis"] == "none"
    assert "only 30% of the probability lies on taxa that have one" in none["note"]
    assert "pause" in none["note"]


def test_the_taxon_is_shown_as_written(row):
    assert row({SNAPPER: 0.6, SLIDER: 0.4}, taxon="Testudines")["taxon"] == "Testudines"


def test_a_genus_gets_the_window_of_its_species(row):
    assert row(taxon="Pseudemys")["basis"] == "none"
    assert row({"Pseudemys floridana": 0.9, "Pseudemys nelsoni": 0.1}, taxon="Pseudemys")["basis"] == "station_offset"


def test_emergence_is_possible_where_any_of_the_taxa_does_it(row):
    alone = row(taxon="Gopherus polyphemus")
    mixed = row({"Gopherus polyphemus": 0.6, SLIDER: 0.4})
    assert pd.isna(alone["spring_early"])
    assert isinstance(mixed["spring_early"], str)


def test_an_outcome_ends_the_window_whatever_the_taxon(years_of_weather, nest):
    checks = pd.DataFrame({"nest_id": ["N1"], "checked_at": ["2024-06-20"], "outcome": ["depredated_full"]})
    found = project_windows(
        pd.DataFrame([nest()]),
        years_of_weather(),
        region="AL_Mobile_delta",
        as_of=AS_OF,
        rng=np.random.default_rng(1),
        checks=checks,
        candidates={"N1": {SLIDER: 0.5, SNAPPER: 0.5}},
    ).table.iloc[0]
    assert found["note"] == "no window: found fully depredated on 2024-06-20"


def test_quantiles_of_weighted_draws_agree_with_repeating_them():
    # numpy's inverted distribution function on draws written out as often as they weigh
    rng = np.random.default_rng(4)
    days, counts = rng.normal(200, 10, 60), rng.integers(1, 9, 60)
    at = [0.1, 0.5, 0.9]
    expected = np.quantile(np.repeat(days, counts), at, method="inverted_cdf")
    np.testing.assert_allclose(weighted_quantiles(days, counts / counts.sum(), at=at), expected)


def test_shares_of_a_mixture_are_weighted_means():
    first, second = (Projected(1, 2, 3, p, q, 0.5, 28.0, np.array([days])) for p, q, days in ((0.2, 0, 5), (0.6, 1, 9)))
    mixed = mix_windows([(first, 0.3), (second, 0.1)], coverage=0.8)
    assert (mixed.p_hatched, mixed.p_never) == pytest.approx((0.3, 0.25))


def test_a_range_is_spread_evenly_and_its_laying_too():
    # By hand: 10 days of span and 60 to 80 days: mean 5 + 70, variance (10^2 + 20^2) / 12
    laying = Laying(date(2024, 6, 1), date(2024, 6, 10), assumed=False)
    found = field_draws(laying, days_low=60, days_high=80, as_of_day=0, start=date(2024, 1, 1))
    assert found.days.mean() - 152 == pytest.approx(75, abs=0.1)
    assert found.days.std() == pytest.approx(np.sqrt((10**2 + 20**2) / 12), rel=0.05)
    assert found.p_hatched == 0
