"""Certain pairs become animals; a chain of neighbours never does."""

import networkx as nx
import numpy as np
import pytest

from roadwatch.records.double_groups import join_certain


def joined(n, *pairs):
    left, right, p = (
        (np.array(side) for side in zip(*pairs, strict=True)) if pairs else (np.zeros(0, int),) * 2 + (np.zeros(0),)
    )
    return join_certain(n, left.astype(np.int64), right.astype(np.int64), p.astype(float)).tolist()


def test_without_pairs_every_record_is_an_animal():
    assert joined(3) == [0, 1, 2]
    assert joined(0) == []


def test_a_certain_pair_is_one_animal_and_an_undecided_one_is_not():
    assert joined(4, (0, 2, 0.96), (1, 3, 0.92)) == [0, 1, 0, 3]


def told(n, *pairs, words):
    left, right, p = (np.array(side) for side in zip(*pairs, strict=True))
    found = join_certain(n, left.astype(np.int64), right.astype(np.int64), p.astype(float), told=np.array(words, float))
    return found.tolist()


SAID, DENIED, UNTOLD = 1.0, 0.0, np.nan


def test_what_a_person_told_to_be_one_animal_is_joined_whatever_contradicts():
    pairs = ((0, 1, 0.001), (1, 2, 0.001))
    assert told(3, *pairs, words=[SAID, SAID]) == [0, 0, 0], "0 and 2 are no pair at all"
    assert told(3, *pairs, words=[UNTOLD, UNTOLD]) == [0, 1, 2]


def test_records_told_to_be_one_fit_whatever_one_of_them_fits():
    assert told(3, (0, 1, 0.0), (1, 2, 0.999), words=[SAID, UNTOLD]) == [0, 0, 0]
    assert told(3, (0, 1, 0.0), (1, 2, 0.999), (0, 2, 0.01), words=[SAID, UNTOLD, UNTOLD]) == [0, 0, 0]


def test_what_a_person_told_to_be_different_is_never_joined():
    assert told(3, (0, 1, 0.0), (1, 2, 0.999), (0, 2, 0.999), words=[SAID, UNTOLD, DENIED]) == [0, 0, 2]
    assert told(3, (0, 1, 0.99), (1, 2, 0.98), (0, 2, 0.999), words=[UNTOLD, UNTOLD, DENIED]) == [0, 0, 2]


def test_three_records_of_which_all_pairs_are_possible_are_one_animal():
    assert joined(3, (0, 1, 0.99), (1, 2, 0.97), (0, 2, 0.06)) == [0, 0, 0]


def test_two_records_that_contradict_each_other_are_never_joined_by_a_third():
    assert joined(3, (0, 1, 0.97), (1, 2, 0.99), (0, 2, 0.04)) == [0, 1, 1], "the surer pair is kept"


def test_a_chain_along_a_road_does_not_become_one_animal():
    assert joined(4, (0, 1, 0.97), (1, 2, 0.97), (2, 3, 0.97)) == [0, 0, 2, 2]


@pytest.mark.parametrize("seed", range(20))
def test_groups_are_consistent_and_as_large_as_the_certain_pairs_allow(seed):
    rng = np.random.default_rng(seed)
    n = 30
    left, right = np.triu_indices(n, 1)
    keep = rng.random(len(left)) < 0.15
    left, right = left[keep], right[keep]
    p = rng.choice([0.01, 0.3, 0.97, 0.99], len(left))
    animal = join_certain(n, left, right, p)
    near = {(a, b): q for a, b, q in zip(left.tolist(), right.tolist(), p.tolist(), strict=True)}
    for label in set(animal.tolist()):
        rows = np.flatnonzero(animal == label).tolist()
        assert label == rows[0]
        assert all(near.get((a, b), 0) >= 0.05 for i, a in enumerate(rows) for b in rows[i + 1 :])
    # outside: within the connected components of networkx, and equal to them where nothing contradicts
    graph = nx.Graph([(a, b) for (a, b), q in near.items() if q >= 0.95])
    for part in nx.connected_components(graph):
        rows = sorted(part)
        if all(near.get((a, b), 0) >= 0.05 for i, a in enumerate(rows) for b in rows[i + 1 :]):
            assert set(animal[rows].tolist()) == {rows[0]}
    for a in range(n):
        part = nx.node_connected_component(graph, a) if a in graph else {a}
        assert set(np.flatnonzero(animal == animal[a]).tolist()) <= set(part)


def test_no_certain_pair_of_two_single_records_is_left_apart():
    rng = np.random.default_rng(5)
    order = rng.permutation(1000)
    pairs = [(min(a, b), max(a, b), 0.95) for a, b in order.reshape(500, 2).tolist()]
    assert len(set(joined(1000, *pairs))) == 500
