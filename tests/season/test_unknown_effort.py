"""Chance finds stand on their own."""

import numpy as np

from roadwatch.records.store import Season
from roadwatch.season.mortality import mortality_of
from roadwatch.season.unknown_effort import stand_out_unsearched


def places_of(county, **options):
    ready = mortality_of(Season.open(county.season))
    rng = np.random.default_rng(1)
    finds = ready.records if options.get("all") else ready.records.iloc[:0]
    return stand_out_unsearched(ready.network, ready.stretches, finds, half_width_m=300.0, n_draws=99, rng=rng)


def test_none_is_an_empty_list_without_a_word(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.03)])
    places, notes = places_of(county)
    assert places.empty
    assert notes == ()


def test_too_few_to_look_at_are_said_to_be(county, crossing):
    county.ingest("c.csv", [crossing(0.01), crossing(0.03)])
    places, notes = places_of(county, all=True)
    assert places.empty
    assert "2 chance finds are too few" in notes[0]


def test_places_are_ranked_and_none_is_confirmed(county, crossing):
    rows = [crossing(0.02 + 0.0004 * k, record_id=f"r{k}", observed_at=f"2024-0{3 + k}-05") for k in range(6)]
    county.ingest("c.csv", rows)
    places, notes = places_of(county, all=True)
    assert places["rank"].tolist() == list(range(1, len(places) + 1))
    assert set(places["status"]) == {"effort unknown"}
    assert "none is confirmed" in notes[0]
