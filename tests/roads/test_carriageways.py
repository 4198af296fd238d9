"""Two carriageways as one line."""

import numpy as np
import pytest

from roadwatch.roads.carriageways import find_carriageways
from roadwatch.roads.stretches import cut_stretches


@pytest.fixture
def ways_of(network):
    """ways_of(lines, ...): the network, its stretches and its carriageways."""

    def make(lines, **columns):
        built = network(lines, **columns)
        stretches = cut_stretches(built)
        return built, stretches, find_carriageways(built, stretches)

    return make


def abreast(apart_m):
    return [[(0, 0), (1000, 0)], [(1000, apart_m), (0, apart_m)]]


def test_carriageways_of_a_divided_road_become_one_line(ways_of):
    built, stretches, ways = ways_of(abreast(30), road=["Pike"] * 2, divided=[True] * 2)
    assert ways.is_double.sum() == len(stretches.edge) / 2
    first = built.edges["road_part"].to_numpy()[stretches.edge] == 0
    assert (ways.is_double == ~first).all()
    at = lambda s: stretches.start_m[s] + stretches.length_m[s] / 2  # noqa: E731
    double = np.flatnonzero(ways.is_double)
    assert at(ways.line_of[double]) == pytest.approx(1000 - at(double), abs=0.1)  # drawn against each other
    told = (
        "1.0 km of second carriageways (divided road of one name, parallel, at most 40 m apart) are counted with the "
        "first as one line, for length, search and deaths."
    )
    assert ways.notes == (told,)


@pytest.mark.parametrize(
    ("apart_m", "road", "divided"),
    [
        (45, ["Pike", "Pike"], [True, True]),
        (30, ["Pike", "Frontage"], [True, True]),
        (30, ["Pike", "Pike"], [True, None]),
        (30, ["Pike", "Pike"], [None, None]),
        (30, ["Pike", "Pike"], [False, False]),
    ],
    ids=["too far apart", "another name", "one not marked", "neither marked", "marked undivided"],
)
def test_other_roads_side_by_side_stay_apart(ways_of, apart_m, road, divided):
    _, _, ways = ways_of(abreast(apart_m), road=road, divided=divided)
    assert not ways.is_double.any()
    assert ways.notes == ()


def test_stretches_one_after_another_are_not_abreast(ways_of):
    _, _, ways = ways_of([[(0, 0), (300, 0)], [(300, 0), (600, 0)]], road=["Pike"] * 2, divided=[True] * 2)
    assert not ways.is_double.any()


def test_a_divided_road_that_crosses_itself_is_not_abreast_of_itself(ways_of):
    loop = [[(0, 0), (100, 0), (100, 100), (50, 100), (50, -100)]]
    _, _, ways = ways_of(loop, road=["Pike"], divided=[True])
    assert not ways.is_double.any()


def test_records_move_over_to_the_place_abreast(ways_of):
    built, stretches, ways = ways_of(abreast(30), road=["Pike"] * 2, divided=[True] * 2)
    double = np.flatnonzero(ways.is_double)[:1]
    edge, offset_m = ways.move(
        np.r_[double, -1], np.r_[stretches.edge[double], -1], np.r_[stretches.start_m[double], np.nan]
    )
    assert built.edges["road_part"].iloc[edge[0]] == 0
    assert offset_m[0] == pytest.approx(1000 - (stretches.start_m + stretches.length_m / 2)[double[0]], abs=0.1)
    assert (edge[1], np.isnan(offset_m[1])) == (-1, True)


def test_values_are_joined_as_the_mean_of_both_and_stay_unknown_where_neither_is_known(ways_of):
    _, _, ways = ways_of(abreast(30), road=["Pike"] * 2, divided=[True] * 2)
    km = np.where(ways.is_double, 3.0, 1.0)
    joined = ways.join(km)
    assert joined[~ways.is_double] == pytest.approx(2.0)
    assert np.isnan(joined[ways.is_double]).all()
    assert np.isnan(ways.join(np.full(len(km), np.nan))).all()
    assert ways.join(np.where(ways.is_double, np.nan, 5.0))[~ways.is_double] == pytest.approx(5.0)


def test_which_line_stands_for_both_does_not_depend_on_how_they_are_drawn(network):
    lines = abreast(30)
    for drawn in (lines, lines[::-1], [line[::-1] for line in lines]):
        built = network(drawn, road=["Pike"] * 2, divided=[True] * 2)
        stretches = cut_stretches(built)
        ways = find_carriageways(built, stretches)
        kept = built.edges.geometry.iloc[stretches.edge[~ways.is_double][0]]
        assert kept.centroid.y == pytest.approx(0.0, abs=0.1) or kept.centroid.y == pytest.approx(30.0, abs=0.1)
        assert built.edges["road_part"].to_numpy()[stretches.edge[~ways.is_double]].max() == 0
