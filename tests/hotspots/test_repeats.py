"""The chance that an animal was not counted before."""

import numpy as np
import pytest

from roadwatch.hotspots.repeats import new_animal_chance


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
