"""The chance that an animal was not counted before."""

import numpy as np
import pytest

from roadwatch.hotspots.repeats import new_animal_chance, supported_elsewhere


def chance(animal, *pairs):
    first, second, p = (np.array(column) for column in zip(*pairs, strict=True))
    return new_animal_chance(np.array(animal), first, second, p.astype(float))


def test_only_the_later_of_a_pair_may_be_a_repeat():
    assert chance([0, 1, 2], (0, 2, 0.7)) == pytest.approx([1.0, 1.0, 0.3])
    assert chance([0, 1, 2], (2, 0, 0.7)) == pytest.approx([1.0, 1.0, 0.3])


def test_chances_against_several_earlier_animals_multiply():
    assert chance([0, 1, 2], (0, 2, 0.5), (1, 2, 0.2), (0, 1, 0.1)) == pytest.approx([1.0, 0.9, 0.4])


def test_records_already_joined_are_no_pair_and_a_group_counts_once():
    # records 0 and 1 are animal 0; both pair with record 2: the likelier pair counts, not both
    assert chance([0, 0, 1], (0, 1, 0.99), (0, 2, 0.3), (1, 2, 0.6)) == pytest.approx([1.0, 0.4])


def test_without_pairs_every_animal_is_new():
    none = np.empty(0, dtype=int)
    assert new_animal_chance(np.array([0, 1]), none, none, np.empty(0)).tolist() == [1.0, 1.0]
    assert len(new_animal_chance(none, none, none, np.empty(0))) == 0


def elsewhere(pairs, *, n_records, expected=0.16, weight=20):
    first, second, p = (np.array(column) for column in zip(*pairs, strict=True))
    return supported_elsewhere(first, second, p.astype(float), n_records=n_records, expected=expected, weight=weight)


def test_a_place_does_not_teach_itself_that_doubles_are_common():
    # by hand: three pairs of p = 0.8 at one place of 3 records in 44: all (20 x .16 + 4.8) / 64 = .125, elsewhere
    # 3.2 / 61 = .05246; odds 4 x .05246 / .125 = 1.6787, p = .62668
    found = elsewhere([(0, 1, 0.8), (1, 2, 0.8), (0, 2, 0.8)], n_records=44)
    assert found == pytest.approx([0.62668] * 3, abs=5e-6)


def test_doubles_elsewhere_support_a_pair():
    alone = elsewhere([(0, 1, 0.5)], n_records=100)[0]
    among = elsewhere([(0, 1, 0.5), *[(k, k + 1, 0.95) for k in range(2, 60, 2)]], n_records=100)[0]
    assert alone < among < 0.5 + 0.01


def test_certain_pairs_and_pairs_ruled_out_stay_what_they_are():
    assert elsewhere([(0, 1, 1.0), (2, 3, 0.0)], n_records=10).tolist() == [1.0, 0.0]


def test_no_pairs_stay_no_pairs():
    none = np.empty(0, dtype=int)
    assert len(supported_elsewhere(none, none, np.empty(0), n_records=3, expected=0.1, weight=20)) == 0
