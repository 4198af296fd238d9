"""Density along the roads of a season's hotspots."""

import numpy as np
import pytest

from roadwatch.records.store import Season
from roadwatch.season.mortality import season_hotspots
from roadwatch.season.road_curves import curves_of


@pytest.fixture
def found(county, crossing):
    """Hotspots of a small season: 24 records within 270 m, and 16 elsewhere."""
    rng = np.random.default_rng(1)
    east = [*(0.02 + 0.0007 * (np.arange(24) % 4)), *rng.uniform(-0.04, 0.01, 16)]
    rows = [
        crossing(float(e), record_id=f"r{k}", observed_at=f"{2021 + k % 3}-05-{1 + k % 28:02d}", observer=f"w{k % 4}")
        for k, e in enumerate(east)
    ]
    county.ingest("c.csv", rows)
    return season_hotspots(Season.open(county.season), rng=np.random.default_rng(2), n_draws=199)


def test_each_hotspot_of_a_season_gets_the_curve_of_its_road(found):
    curves = curves_of(found, rng=np.random.default_rng(3))
    assert len(curves) == len(found.hotspots) > 0
    first, hotspot = curves[0], found.hotspots.iloc[0]
    assert (first.road, first.road_part) == (hotspot["road"], hotspot["road_part"])
    inside = (first.road_m >= hotspot["from_m"]) & (first.road_m <= hotspot["to_m"])
    assert (first.density[inside] > first.band_high[inside]).all()
    own = found.stretches[found.stretches["road"] == first.road]
    assert first.density.max() == pytest.approx(own["density"].max())


def test_the_band_rests_on_as_many_scatterings_as_are_asked_for(found):
    assert {one.n_draws for one in curves_of(found, rng=np.random.default_rng(3), n_draws=79)} == {79}
    assert {one.half_width_m for one in curves_of(found, rng=np.random.default_rng(3), half_width_m=150.0)} == {150.0}
