"""Cutting many lines at once, against shapely's own cutting of one line at a time."""

import numpy as np
import pytest
import shapely
from shapely.ops import substring

from roadwatch.roads.cutting import cut_lines, vertices_of


def crooked_lines(rng, n=40):
    return np.array(
        [shapely.LineString(np.cumsum(rng.normal(0, 50, (rng.integers(2, 9), 2)), axis=0)) for _ in range(n)]
    )


def test_vertices_know_how_far_along_their_line_they_are():
    lines = crooked_lines(np.random.default_rng(1))
    vertices = vertices_of(lines)
    for line, x_y, at_m in zip(lines[vertices.line], vertices.xy, vertices.at_m, strict=True):
        assert line.interpolate(at_m).distance(shapely.Point(x_y)) < 1e-9
    assert vertices.is_end.sum() == 2 * len(lines)


def test_pieces_are_what_shapely_cuts_out_one_by_one():
    rng = np.random.default_rng(2)
    lines = crooked_lines(rng)
    cuts = sorted(
        (i, at) for i, line in enumerate(lines) for at in [0, *rng.uniform(0, line.length, i % 5), line.length]
    )
    line, at_m = np.array([i for i, _ in cuts]), np.array([at for _, at in cuts])
    xy = shapely.get_coordinates(shapely.line_interpolate_point(lines[line], at_m))
    pieces = cut_lines(vertices_of(lines), line, at_m, xy)
    assert len(pieces.line) == len(cuts) - len(lines)
    for own, begin, end, piece in zip(pieces.line, pieces.from_m, pieces.to_m, pieces.geometry, strict=True):
        expected = substring(lines[own], begin, end)
        assert piece.length == pytest.approx(expected.length, abs=1e-6)
        assert piece.hausdorff_distance(expected) < 1e-6


@pytest.mark.parametrize("off_m", [0.0, 1e-9, -1e-9])
def test_a_cut_at_a_vertex_does_not_repeat_the_vertex(off_m):
    lines = np.array([shapely.LineString([(0, 0), (10, 0), (20, 0)])])
    at_m, xy = np.array([0.0, 10.0 + off_m, 20.0]), np.array([[0.0, 0], [10 + off_m / 2, 0], [20, 0]])
    pieces = cut_lines(vertices_of(lines), np.zeros(3, dtype=int), at_m, xy)
    assert shapely.get_num_points(pieces.geometry).tolist() == [2, 2]
    assert shapely.length(pieces.geometry) == pytest.approx([10.0, 10.0])


def test_pieces_meet_at_the_point_given_even_when_it_lies_beside_the_line():
    lines = np.array([shapely.LineString([(0, 0), (20, 0)])])
    at_m, xy = np.array([0.0, 10.0, 20.0]), np.array([[0.0, 0], [10, 0.7], [20, 0]])
    pieces = cut_lines(vertices_of(lines), np.zeros(3, dtype=int), at_m, xy)
    assert [piece.wkt for piece in pieces.geometry] == ["LINESTRING (0 0, 10 0.7)", "LINESTRING (10 0.7, 20 0)"]
