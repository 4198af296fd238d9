"""Runs of road from marked stretches: across junctions, over gaps, without the kernel's halo."""

import numpy as np
import pytest

from roadwatch.hotspots.clusters import find_clusters, stretch_links
from roadwatch.hotspots.null import NullResult
from roadwatch.roads.reference import road_measure
from roadwatch.roads.stretches import stretch_table


@pytest.fixture
def runs_of(cut, records):
    """runs_of(network, marked, record stretches): runs, with surprise given by ``surprise`` or 1 where marked."""

    def make(network, marked, record_stretch, *, surprise=None, half_width_m=300.0):
        network, stretches = cut(network)
        table = records(stretches, np.asarray(record_stretch, dtype=int))
        _, _, metre = road_measure(network, table["edge"].to_numpy(), table["offset_m"].to_numpy())
        is_marked = np.zeros(len(stretches.edge), dtype=bool)
        is_marked[marked] = True
        p = np.where(is_marked, 0.01, 0.8)
        seen = is_marked.astype(float) if surprise is None else surprise
        return find_clusters(
            is_marked,
            network=network,
            stretches=stretches,
            table=stretch_table(network, stretches),
            record_stretch=np.asarray(record_stretch, dtype=int),
            record_m=metre,
            null=NullResult(seen, seen, seen, p, p / 2, np.zeros(1), p[None]),
            reach_m=np.full(len(p), half_width_m),
        )

    return make


def stretch_at(network, stretches, road, metre):
    table = stretch_table(network, stretches)
    on = (table["road"] == road) & (table["from_m"] <= metre) & (metre < table["to_m"])
    return int(np.flatnonzero(on)[0])


def test_nothing_marked_gives_no_run(straight_road, runs_of):
    assert runs_of(straight_road(1000.0), [], [3, 4]) == []


def test_a_run_ends_three_mean_gaps_beyond_its_outermost_records(straight_road, runs_of, cut):
    # records in the middle of stretches 12, 13, 14 and 14: mean gap 2/3 of a stretch, so two stretches on either side
    road = straight_road(1500.0)
    _, stretches = cut(road)
    length_m = stretches.length_m[0]
    (run,) = runs_of(road, np.arange(4, 24), [12, 13, 14, 14])
    assert run.from_m == pytest.approx(10.5 * length_m)
    assert run.to_m == pytest.approx(16.5 * length_m)
    assert run.stretch.tolist() == [10, 11, 12, 13, 14, 15, 16]
    assert run.record.tolist() == [0, 1, 2, 3]
    assert run.marked.tolist() == list(range(4, 24))
    assert (run.road, run.road_part, run.p_value, run.p_local) == ("Long Road", 0, 0.01, 0.005)


def test_records_at_one_spot_are_a_run_of_one_stretch(straight_road, runs_of, cut):
    road = straight_road(1000.0)
    _, stretches = cut(road)
    (run,) = runs_of(road, np.arange(4, 14), [9, 9, 9])
    assert (run.from_m, run.to_m) == pytest.approx((9 * stretches.length_m[0], 10 * stretches.length_m[0]))
    assert run.stretch.tolist() == [9]


def test_a_run_ends_no_more_than_half_a_gap_beyond_what_stands_out(straight_road, runs_of, cut):
    road = straight_road(1500.0)
    _, stretches = cut(road)
    length_m = stretches.length_m[0]
    (run,) = runs_of(road, np.arange(8, 16), [8, 15])  # two records: their gap is the whole run
    assert run.from_m == pytest.approx(8 * length_m - 50.0)
    assert run.to_m == pytest.approx(16 * length_m + 50.0)


def test_a_run_does_not_reach_beyond_what_is_marked_or_the_road(straight_road, runs_of):
    (run,) = runs_of(straight_road(500.0), [0, 1], [0, 1])
    assert run.from_m == 0.0
    (run,) = runs_of(straight_road(500.0), [0, 1], [1, 2])
    assert run.record.tolist() == [0]


@pytest.mark.parametrize(("gap", "n_runs"), [(1, 1), (2, 1), (3, 2)])
def test_gaps_of_up_to_100_m_are_closed(straight_road, runs_of, gap, n_runs):
    # stretches of this road are a shade under 50 m long, so two of them are a gap of just under 100 m
    marked = [2, 3, 4 + gap, 5 + gap]
    runs = runs_of(straight_road(999.6), marked, [2, 5 + gap])
    assert len(runs) == n_runs
    assert len({run.cluster for run in runs}) == n_runs


def test_a_hotspot_across_a_junction_is_one_cluster_with_a_run_on_each_road_that_has_records(county, runs_of, cut):
    network, stretches = cut(county(3, 1000.0))
    at = lambda road, metre: stretch_at(network, stretches, road, metre)  # noqa: E731
    marked = [at("East 1", m) for m in (880, 930, 980, 1020, 1070)] + [at("North 1", m) for m in (980, 1020, 1070)]
    runs = runs_of(network, marked, [at("East 1", 930), at("North 1", 1070)])
    assert sorted(run.road for run in runs) == ["East 1", "North 1"]
    assert len({run.cluster for run in runs}) == 1


def test_side_roads_that_hold_only_the_halo_get_no_run(county, runs_of, cut):
    network, stretches = cut(county(3, 1000.0))
    at = lambda road, metre: stretch_at(network, stretches, road, metre)  # noqa: E731
    marked = [at("East 1", 980), at("East 1", 1020), at("North 1", 980), at("North 1", 1020)]
    (run,) = runs_of(network, marked, [at("East 1", 980)])
    assert run.road == "East 1"


def test_a_marked_middle_between_records_is_led_out_to_them(straight_road, runs_of, cut):
    # two records 100 m either side of the only marked stretch: the road between them is the hotspot
    road = straight_road(1000.0)
    length_m = cut(road)[1].length_m[0]
    (run,) = runs_of(road, [10], [8, 12])
    assert set(range(8, 13)) <= set(run.stretch)
    assert run.record.tolist() == [0, 1]
    assert run.to_m - run.from_m == pytest.approx(5 * length_m + 2 * 50.0)
    assert run.p_value == 0.01


def test_records_beyond_the_kernel_are_not_led_out_to(straight_road, runs_of):
    (run,) = runs_of(straight_road(2000.0), [10], [8, 30], half_width_m=150.0)
    assert run.record.tolist() == [0]


def test_roads_that_do_not_meet_do_not_join(roads, runs_of, cut):
    # two roads 5 m apart, not joined
    network, stretches = cut(roads({"A": [(0, 0), (500, 0)], "B": [(0, 5), (500, 5)]}))
    at = lambda road: stretch_at(network, stretches, road, 225.0)  # noqa: E731
    runs = runs_of(network, [at("A"), at("B")], [at("A"), at("B")])
    assert len({run.cluster for run in runs}) == 2


def test_links_are_as_long_as_the_way_between_centres(straight_road, cut):
    network, stretches = cut(straight_road(99.0))
    links = stretch_links(network, stretches).toarray()
    half_m = stretches.length_m[0] / 2
    assert links[0, 1] == pytest.approx(2 * half_m)
    assert sorted(links[:2, 2:].ravel()) == pytest.approx([0.0, 0.0, half_m, half_m])


def test_digitising_backwards_gives_the_same_runs(county, runs_of, cut):
    answers = []
    for backwards in (False, True):
        network, stretches = cut(county(3, 1000.0, drawn_backwards=backwards))
        at = lambda metre, n=network, s=stretches: stretch_at(n, s, "East 1", metre)  # noqa: E731
        (run,) = runs_of(network, [at(m) for m in (410, 460, 510)], [at(460), at(510)])
        answers.append((run.road, round(run.from_m, 3), round(run.to_m, 3)))
    assert answers[0] == answers[1]
