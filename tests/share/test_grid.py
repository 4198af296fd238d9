import numpy as np
import pandas as pd
import pytest
from pyproj import Geod, Transformer

from roadwatch.share.grid import CELL_KM, square_cells, squares_of

GAINESVILLE = (-82.32, 29.65)  # a place on the map, no record


def at(*places):
    return pd.DataFrame({"longitude": [p[0] for p in places], "latitude": [p[1] for p in places]}, dtype=float)


def drawn(*places, what="nests"):
    """The squares of some places, each with how many lie in it."""
    counts = pd.Series(squares_of(at(*places)), dtype=object).value_counts(sort=False)
    n = len(counts)
    return square_cells(list(counts.index), what=[what] * n, records=counts.tolist(), months=[""] * n)


@pytest.mark.parametrize("place", [GAINESVILLE, (-87.9, 30.7), (-71.0, 42.3), (0.0, 0.0), (151.2, -33.9)])
def test_a_square_covers_100_square_kilometres_anywhere(place):
    # Checked against the geodesic area on the WGS 84 ellipsoid (GeographicLib through pyproj.Geod), not our projection.
    cell = drawn(place).geometry.iloc[0]
    dense = cell.segmentize(0.001)  # edges along parallels are no geodesics
    area_m2 = abs(Geod(ellps="WGS84").geometry_area_perimeter(dense)[0])
    assert area_m2 == pytest.approx((CELL_KM * 1000) ** 2, rel=1e-5)


def test_the_grid_is_the_published_equal_area_one():
    # EASE-Grid 2.0 (EPSG:6933): x = a * k0 * longitude with k0 = cos 30 / sqrt(1 - e^2 sin^2 30), Brodzik et al. 2012.
    a_m, e2 = 6378137.0, 0.0066943799901413165
    k0 = np.cos(np.pi / 6) / np.sqrt(1 - e2 * np.sin(np.pi / 6) ** 2)
    west, _, east, _ = drawn(GAINESVILLE).total_bounds
    steps = np.radians([west, east]) * a_m * k0 / 10_000
    assert steps == pytest.approx(np.round(steps), abs=1e-6)


def test_a_square_holds_the_places_it_counts():
    rng = np.random.default_rng(3)
    places = [(-82.3 + x, 29.6 + y) for x, y in rng.uniform(-0.2, 0.2, (300, 2))]
    cells = drawn(*places)
    within = cells.geometry.apply(
        lambda cell: sum(
            cell.bounds[0] <= x < cell.bounds[2] and cell.bounds[1] <= y < cell.bounds[3] for x, y in places
        )
    )
    assert cells["records"].tolist() == within.tolist()
    assert cells["records"].sum() == 300


def test_records_without_a_place_have_no_square():
    named = squares_of(at(GAINESVILLE, (np.nan, np.nan), (-82.0, np.nan)))
    assert [name is None for name in named] == [False, True, True]


def test_squares_stand_by_what_they_count_and_then_by_the_grid():
    one, other, third = squares_of(at(GAINESVILLE, (-80.0, 29.65), (-84.0, 29.65)))
    what = ["crossings", "nests", "nests"]
    cells = square_cells([one, other, third], what=what, records=[3, 4, 5], months=["", "", "May"])
    assert cells[["what", "records", "months"]].values.tolist() == [
        ["nests", 5, "May"],
        ["nests", 4, ""],
        ["crossings", 3, ""],
    ]


def test_squares_do_not_follow_the_data():
    alone = drawn(GAINESVILLE).geometry.iloc[0]
    assert alone in list(drawn(GAINESVILLE, (-84.0, 31.0)).geometry)


def test_neighbouring_squares_share_an_edge():
    to_grid = Transformer.from_crs("EPSG:4326", "EPSG:6933", always_xy=True)
    x, y = to_grid.transform(*GAINESVILLE)
    east = to_grid.transform(x + 10_000, y, direction="INVERSE")
    cells = drawn(GAINESVILLE, east)
    assert cells.geometry.iloc[0].bounds[2] == pytest.approx(cells.geometry.iloc[1].bounds[0], abs=1e-12)


def test_nothing_to_count_gives_no_square():
    assert drawn().empty
    assert drawn().crs == "EPSG:4326"
