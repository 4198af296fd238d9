import numpy as np
import pandas as pd
import pytest
from pyproj import Geod, Transformer

from roadwatch.share.grid import CELL_KM, grid_counts

GAINESVILLE = (-82.32, 29.65)  # a place on the map, no record


def at(*places):
    return pd.DataFrame({"longitude": [p[0] for p in places], "latitude": [p[1] for p in places]}, dtype=float)


@pytest.mark.parametrize("place", [GAINESVILLE, (-87.9, 30.7), (-71.0, 42.3), (0.0, 0.0), (151.2, -33.9)])
def test_a_square_covers_100_square_kilometres_anywhere(place):
    # Checked against the geodesic area on the WGS 84 ellipsoid (GeographicLib through pyproj.Geod), not our projection.
    cell = grid_counts(at(place, place, place), what="nests").cells.geometry.iloc[0]
    dense = cell.segmentize(0.001)  # edges along parallels are no geodesics
    area_m2 = abs(Geod(ellps="WGS84").geometry_area_perimeter(dense)[0])
    assert area_m2 == pytest.approx((CELL_KM * 1000) ** 2, rel=1e-5)


def test_the_grid_is_the_published_equal_area_one():
    # EASE-Grid 2.0 (EPSG:6933): x = a * k0 * longitude with k0 = cos 30 / sqrt(1 - e^2 sin^2 30), Brodzik et al. 2012.
    a_m, e2 = 6378137.0, 0.0066943799901413165
    k0 = np.cos(np.pi / 6) / np.sqrt(1 - e2 * np.sin(np.pi / 6) ** 2)
    west, _, east, _ = grid_counts(at(*[GAINESVILLE] * 3), what="nests").cells.total_bounds
    steps = np.radians([west, east]) * a_m * k0 / 10_000
    assert steps == pytest.approx(np.round(steps), abs=1e-6)


def test_a_square_holds_the_places_it_counts():
    rng = np.random.default_rng(3)
    places = [(-82.3 + x, 29.6 + y) for x, y in rng.uniform(-0.2, 0.2, (300, 2))]
    counts = grid_counts(at(*places), what="nests")
    within = counts.cells.geometry.apply(
        lambda cell: sum(
            cell.bounds[0] <= x < cell.bounds[2] and cell.bounds[1] <= y < cell.bounds[3] for x, y in places
        )
    )
    assert counts.cells["records"].tolist() == within.tolist()
    assert counts.cells["records"].sum() + counts.n_withheld == 300


@pytest.mark.parametrize(("n", "shown"), [(1, 0), (2, 0), (3, 1), (4, 1)])
def test_three_records_make_a_square(n, shown):
    counts = grid_counts(at(*[GAINESVILLE] * n), what="nests")
    assert len(counts.cells) == shown
    assert counts.n_withheld == (0 if shown else n)


def test_records_without_a_place_are_withheld():
    table = at(GAINESVILLE, GAINESVILLE, GAINESVILLE, (np.nan, np.nan))
    counts = grid_counts(table, what="nests")
    assert counts.cells["records"].tolist() == [3]
    assert counts.n_withheld == 1


def test_squares_do_not_follow_the_data():
    alone = grid_counts(at(*[GAINESVILLE] * 3), what="nests").cells.geometry.iloc[0]
    others = [(-84.0, 31.0)] * 3
    assert alone in list(grid_counts(at(*[GAINESVILLE] * 3, *others), what="nests").cells.geometry)


def test_neighbouring_squares_share_an_edge():
    to_grid = Transformer.from_crs("EPSG:4326", "EPSG:6933", always_xy=True)
    x, y = to_grid.transform(*GAINESVILLE)
    east = to_grid.transform(x + 10_000, y, direction="INVERSE")
    cells = grid_counts(at(*[GAINESVILLE] * 3, *[east] * 3), what="nests").cells
    assert cells.geometry.iloc[0].bounds[2] == pytest.approx(cells.geometry.iloc[1].bounds[0], abs=1e-12)


def test_nothing_to_count_gives_no_square():
    counts = grid_counts(at(), what="nests")
    assert counts.cells.empty
    assert counts.n_withheld == 0
    assert counts.cells.crs == "EPSG:4326"
