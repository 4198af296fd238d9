"""What is taken for what: alike marks are confused, distinct ones are not."""

import numpy as np
import pytest

from roadwatch.identify.confusion import LAPSE, expected_confusion, look_alike, true_totals


def at(tables, code):
    return tables.taxa.index(tables.tree.find(code))


@pytest.fixture
def confusion(tables):
    return expected_confusion(tables)


def test_each_animal_is_taken_for_something(confusion):
    np.testing.assert_allclose(confusion.sum(axis=1), 1.0, atol=1e-12)
    assert (confusion >= LAPSE / len(confusion) - 1e-12).all()


def test_likeness_is_mutual_and_whole_with_oneself(tables):
    alike = look_alike(tables.matrix, view="from_above", slip=0.07)
    np.testing.assert_allclose(alike, alike.T)
    np.testing.assert_allclose(np.diag(alike), 1.0)
    assert (alike <= 1 + 1e-12).all()


def test_likeness_of_one_character_by_hand(tiny):
    # by hand: .9*.2 + .1*.8 = .26 over sqrt(.82 * .68) = .7467
    matrix = tiny({"mark": [[0.9, 0.1], [0.2, 0.8]]}).matrix
    assert look_alike(matrix, view="in_hand", slip=0.0)[0, 1] == pytest.approx(0.26 / np.sqrt(0.82 * 0.68))


@pytest.mark.parametrize(
    ("one", "like", "unlike"),
    [
        ("PFL", "PPE", "CSE"),
        ("KSU", "SOD", "TSS"),  # mud and musk turtles from above; common practice, no source
        ("CSE", "MAC", "TCA"),
        ("AFE", "ASP", "GPO"),
        ("TSS", "TSE", "KBA"),
    ],
)
def test_look_alikes_are_taken_for_each_other_rather_than_others(tables, confusion, one, like, unlike):
    assert confusion[at(tables, like), at(tables, one)] > 3 * confusion[at(tables, unlike), at(tables, one)]


def test_true_totals_by_hand():
    # by hand: .9x + .3(100 - x) = 80 gives x = 83.33
    totals = true_totals(np.array([80.0, 20.0]), np.array([[0.9, 0.1], [0.3, 0.7]]))
    assert totals == pytest.approx([83.333, 16.667], abs=1e-3)


def test_true_totals_are_never_negative():
    assert (true_totals(np.array([100.0, 0.0]), np.array([[0.9, 0.1], [0.3, 0.7]])) >= 0).all()
