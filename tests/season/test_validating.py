"""Leaving seasons out of a season file."""

import numpy as np
import pytest

from roadwatch.errors import NotEnoughDataError
from roadwatch.records.store import Season
from roadwatch.season.mortality import mortality_of
from roadwatch.season.validating import check_mortality, clustering_of, validate_mortality


def test_a_place_that_comes_back_each_year_is_foretold(county, crossing):
    rows = [
        crossing(0.02 + 0.0007 * (k % 4), record_id=f"{year}-{k}", observed_at=f"{year}-0{3 + k}-1{k}")
        for year in (2021, 2022, 2023)
        for k in range(6)
    ]
    county.ingest("c.csv", rows)
    table = validate_mortality(mortality_of(Season.open(county.season))).table
    best = table[(table["rule"] == "hotspot map") & (table["share_of_length"] == 0.05)].iloc[0]
    assert best["hit_rate"] == pytest.approx(1.0, abs=0.05), "all within 270 m of 20.6 km, of which 5 % are chosen"
    assert best["pai"] == pytest.approx(20.0, rel=0.05)


def test_records_of_one_year_cannot_be_foretold(county, crossing):
    rng = np.random.default_rng(1)
    rows = [crossing(float(e), record_id=f"r{k}") for k, e in enumerate(rng.uniform(-0.04, 0.04, 9))]
    county.ingest("c.csv", rows)
    with pytest.raises(NotEnoughDataError, match="all records are of 2025"):
        validate_mortality(mortality_of(Season.open(county.season)))


def test_dead_at_one_place_lie_together(county, crossing):
    rng = np.random.default_rng(3)
    together = [crossing(0.02 + 0.0004 * k, record_id=f"a{k}", observed_at=f"2025-05-{k + 1:02d}") for k in range(12)]
    county.ingest("a.csv", together)
    found = clustering_of(mortality_of(Season.open(county.season)), rng=rng)
    assert found.p_value == pytest.approx(1 / 200), "the least that 199 scatterings can show"
    assert (found.k_m > 5 * found.k_expected_m)[0]


def test_the_checks_tell_of_both_in_words_with_their_p(county, crossing):
    rows = [
        crossing(0.02 + 0.0007 * (k % 4), record_id=f"{year}-{k}", observed_at=f"{year}-0{3 + k}-1{k}")
        for year in (2021, 2022, 2023)
        for k in range(6)
    ]
    county.ingest("c.csv", rows)
    found = check_mortality(mortality_of(Season.open(county.season)), rng=np.random.default_rng(1))
    assert any("(global p)" in note for note in found.notes)
    assert any("never where" in note for note in found.notes)
    assert len(found.validation.table) > 0


def test_records_of_one_year_are_still_asked_whether_they_lie_together(county, crossing):
    rows = [crossing(0.02 + 0.0004 * k, record_id=f"a{k}", observed_at=f"2025-05-{k + 1:02d}") for k in range(12)]
    county.ingest("a.csv", rows)
    found = check_mortality(mortality_of(Season.open(county.season)), rng=np.random.default_rng(1))
    assert found.validation is None
    assert found.notes[0].startswith("Whether other years would have told cannot be asked: not enough data")
