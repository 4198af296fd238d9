"""Which passages a plan needs: as few as any choice of them."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from siting.passage_oracle import fewest_by_trying
from siting.problems import question

from roadwatch.siting.fence_passages import fewest_passages
from roadwatch.siting.fence_problem import Prices

PRICED = Prices(1.0, per_passage=5.0)


def test_one_passage_in_the_middle_beats_two_at_the_sides():
    passage = np.array([[1, 1, 0, 0], [0, 0, 1, 1], [0, 1, 1, 0]], dtype=bool)
    asked = question([1, 1, 1, 1], passage=passage, prices=PRICED)
    assert fewest_passages(asked, [(1, 3)]) == (2,)
    assert fewest_passages(asked, [(0, 4)]) == (0, 1)


@pytest.mark.parametrize("prices", [Prices(), Prices(1.0)])
def test_passages_without_a_price_are_not_bought(prices):
    asked = question([1, 1], passage=np.ones((1, 2), dtype=bool), prices=prices)
    assert fewest_passages(asked, [(0, 2)]) == ()


def test_no_run_and_no_layer_need_no_passage():
    assert fewest_passages(question([1, 1], prices=PRICED), [(0, 2)]) == ()
    assert fewest_passages(question([1, 1], passage=np.ones((1, 2), dtype=bool), prices=PRICED), []) == ()


@given(st.integers(1, 6), st.integers(1, 8), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_no_choice_of_fewer_passages_serves_every_cell(p, n, chance):
    passage = np.array([[chance.random() < 0.5 for _ in range(n)] for _ in range(p)])
    passage[0] |= ~passage.any(axis=0)
    asked = question([1] * n, passage=passage, prices=PRICED)
    found = fewest_passages(asked, [(0, n)])
    assert passage[list(found)].any(axis=0).all()
    assert len(found) == fewest_by_trying(passage, range(n))
