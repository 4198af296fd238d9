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
        "1.0 km of second carriageways (one name, parallel, at most 40 m apart) are counted with the first as one "
        "line, for length, search and deaths."
    )
    assert ways.notes == (told,)


@pytest.mark.parametrize(
    ("apart_m", "road", "divided"),
    [
        (45, ["Pike", "Pike"], [True, True]),
        (30, ["Pike", "Frontage"], [True, True]),
        (30, ["Pike", "Frontage"], [None, None]),
        (30, ["Pike", "Pike"], [False, False]),
        (30, ["Pike", "Pike"], [True, False]),
        (30, [None, None], [None, None]),
    ],
    ids=["too far apart", "another name", "another name, blank", "undivided", "one undivided", "no names"],
)
def test_other_roads_side_by_side_stay_apart(ways_of, apart_m, road, divided):
    _, _, ways = ways_of(abreast(apart_m), road=road, divided=divided)
    assert not ways.is_double.any()
    assert ways.notes == ()


@pytest.mark.parametrize("divided", [[None, None], [True, None]])
def test_two_parts_of_one_name_are_carriageways_where_the_layer_does_not_say_otherwise(ways_of, divided):
    _, stretches, ways = ways_of(abreast(30), road=["Pike"] * 2, divided=divided)
    assert stretches.length_m[ways.is_double].sum() == pytest.approx(1000.0, abs=0.5)


def test_a_road_that_splits_and_joins_again_counts_once_where_it_is_split(ways_of):
    # 2 km in all; the middle kilometre splits into two carriageways 24 m apart, tapering over 40 m at either end
    north = [(500, 0), (540, 12), (1460, 12), (1500, 0)]
    south = [(500, 0), (540, -12), (1460, -12), (1500, 0)]
    lines = [[(0, 0), (500, 0)], north, south[::-1], [(1500, 0), (2000, 0)]]
    _, stretches, ways = ways_of(lines, road=["Pike"] * 4)
    kept_m = stretches.length_m[~ways.is_double].sum()
    assert kept_m == pytest.approx(2000.0, abs=110.0)  # the tapers are not parallel and may stay two
    assert len(ways.notes) == 1


def test_a_hairpin_is_not_a_second_carriageway(ways_of):
    bend = [(0, 0), (600, 0), (620, 15), (600, 30), (0, 30)]
    _, _, ways = ways_of([bend], road=["Pass Road"])
    assert not ways.is_double.any()


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
