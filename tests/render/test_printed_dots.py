import re

import geopandas as gpd
import numpy as np
import pytest

from roadwatch.render.printed_dots import MOST_DOTS, crossing_dots


def records(conditions):
    return gpd.GeoDataFrame(
        {"condition": conditions}, geometry=gpd.points_from_xy([0.0] * len(conditions), [0.0] * len(conditions))
    )


def cells_of(piece):
    """Every raster point that the strokes of a path cover, by walking along them."""
    raster = float(re.search(r"scale\(([\d.]+)\)", piece)[1])
    x = y = 0
    found = []
    for dx, dy, run in re.findall(r"m(-?\d+) (-?\d+)h(\d+)", re.search(r' d="([^"]*)"', piece)[1]):
        x, y = x + int(dx), y + int(dy)
        found += [((x + step) * raster, y * raster) for step in range(int(run) + 1)]
        x += int(run)
    return found


def test_dots_lie_where_records_lie_to_half_a_pixel():
    rng = np.random.default_rng(5)
    places = rng.uniform(0, 700, (400, 2))
    pieces, merged = crossing_dots(records(["dead"] * 400), places)
    wanted = {(round(x * 2) / 2, round(y * 2) / 2) for x, y in places}
    found = cells_of(str(pieces[0]))
    assert len(found) == len(set(found))
    assert set(found) == wanted
    assert merged == (len(wanted) < 400)


def test_records_in_one_place_are_one_dot_for_each_condition():
    pieces, merged = crossing_dots(records(["dead", "dead", "alive"]), np.full((3, 2), 10.2))
    assert merged
    assert [cells_of(str(piece)) for piece in pieces] == [[(10.0, 10.0)], [(10.0, 10.0)]]


def test_neighbours_are_one_stroke():
    pieces, _ = crossing_dots(records(["dead"] * 3), np.array([[1.0, 2.0], [1.5, 2.0], [2.0, 2.0]]))
    assert 'd="m2 4h2"' in pieces[0]


@pytest.mark.parametrize(("n", "raster"), [(MOST_DOTS // 2, 0.5), (10_150, 1), (200_000, 2)])
def test_the_more_crowded_a_picture_the_coarser_its_raster(n, raster):
    places = np.random.default_rng(6).uniform(0, 400, (n, 2))
    pieces, _ = crossing_dots(records(["dead"] * n), places)
    assert f"scale({raster:g})" in pieces[0]
    assert f'stroke-width="{5 / raster:g}"' in pieces[0]  # 5 pixels on paper, whatever the raster
    cells = cells_of(str(pieces[0]))
    assert len(cells) == len(set(cells)) <= (400 / raster + 1) ** 2


def test_a_blank_or_unknown_condition_is_drawn_as_unknown():
    pieces, _ = crossing_dots(records([None, "flown"]), np.array([[1.0, 1.0], [9.0, 9.0]]))
    assert sum(len(cells_of(str(piece))) for piece in pieces) == 2


def test_without_records_nothing_is_drawn():
    assert crossing_dots(records([]), np.empty((0, 2))) == ([], False)
