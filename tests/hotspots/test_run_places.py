"""Where runs lie: many at once, by hand on a straight road."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
import shapely
from pyproj import Transformer

from roadwatch.hotspots.clusters import Run
from roadwatch.hotspots.run_places import places_of
from roadwatch.roads.stretches import cut_stretches, stretch_table

WEST_M, SOUTH_M = 500_000.0, 4_000_000.0


def study_of(network):
    stretches = cut_stretches(network)
    return SimpleNamespace(network=network, stretches=stretches, table=stretch_table(network, stretches))


def run_on(study, road, from_m, to_m):
    """The run over all stretches of a road that it touches, in the order of the road."""
    table = study.table
    touched = (table["road"] == road) & (table["to_m"] > from_m) & (table["from_m"] < to_m)
    stretch = table[touched].sort_values("from_m").index.to_numpy()
    return Run(0, road, 0, from_m, to_m, stretch, np.empty(0, int), stretch, 0.01, 0.01)


def test_no_runs_lie_nowhere(straight_road):
    assert places_of([], study_of(straight_road(1000.0))) == []


def metres_east(line, network):
    """Metres from the western end of the road at which a line begins and ends, in the system in which it was drawn."""
    to_drawn = Transformer.from_crs(network.crs, "EPSG:32617", always_xy=True)
    x, y = to_drawn.transform(*shapely.get_coordinates(line).T)
    assert y == pytest.approx(np.full(len(y), SOUTH_M), abs=0.01)
    return x.min() - WEST_M, x.max() - WEST_M


def test_a_run_of_a_straight_road_by_hand(straight_road):
    # roads are measured in a system of the county, of which 1,000 m are within 0.4 m of those of the UTM zone
    study = study_of(straight_road(1000.0))
    row = places_of([run_on(study, "Long Road", 120.0, 333.0)], study)[0]
    assert metres_east(row["geometry"], study.network) == pytest.approx((120.0, 333.0), abs=0.2)
    # pyproj, UTM zone 17 north to WGS 84; 0.2 m are 2e-6 degrees
    to_degrees = Transformer.from_crs("EPSG:32617", "EPSG:4326", always_xy=True)
    west, east = (to_degrees.transform(WEST_M + at_m, SOUTH_M) for at_m in (120.0, 333.0))
    assert (row["longitude_from"], row["latitude_from"]) == pytest.approx(west, abs=3e-6)
    assert (row["longitude_to"], row["latitude_to"]) == pytest.approx(east, abs=3e-6)
    assert row["why_no_milepost"] == "the road layer gives no measures here"


def test_a_road_drawn_from_east_to_west_is_still_measured_from_its_western_end(roads):
    study = study_of(roads({"Back Road": [(1000.0, 0.0), (0.0, 0.0)]}))
    line = places_of([run_on(study, "Back Road", 120.0, 333.0)], study)[0]["geometry"]
    assert metres_east(line, study.network) == pytest.approx((120.0, 333.0), abs=0.2)


def test_within_one_stretch_the_line_is_a_piece_of_it(straight_road):
    study = study_of(straight_road(1000.0))
    line = places_of([run_on(study, "Long Road", 110.0, 130.0)], study)[0]["geometry"]
    assert line.length == pytest.approx(20.0)


def test_runs_told_together_are_those_told_one_by_one(county):
    study = study_of(county(4, 400.0))
    rng = np.random.default_rng(6)
    roads = sorted(set(study.table["road"]))
    runs = [run_on(study, rng.choice(roads), at_m, at_m + 170.0) for at_m in rng.uniform(0.0, 900.0, 12)]
    together = places_of(runs, study)
    for run, row in zip(runs, together, strict=True):
        alone = pd.Series(places_of([run], study)[0])
        pd.testing.assert_series_equal(alone, pd.Series(row))
        assert row["geometry"].length == pytest.approx(170.0, abs=1e-6)
