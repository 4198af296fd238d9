"""Work in two threads: in order, little ahead, and faults are told."""

import threading
import time

import pytest

from roadwatch.hotspots.threads import THREADS, in_order


def test_answers_come_in_the_order_of_the_items():
    def slow_at_first(number):
        time.sleep(0.02 if number == 0 else 0.0)
        return number * number

    assert list(in_order(slow_at_first, range(7))) == [0, 1, 4, 9, 16, 25, 36]


def test_nothing_gives_nothing():
    assert list(in_order(abs, [])) == []


def test_items_are_taken_by_the_caller_and_few_ahead():
    taken, ahead = [], []

    def items():
        for number in range(10):
            taken.append(threading.current_thread())
            yield number

    for done, _ in enumerate(in_order(abs, items())):
        ahead.append(len(taken) - done)
    assert set(taken) == {threading.current_thread()}
    assert max(ahead) <= THREADS


def test_a_fault_in_a_thread_reaches_the_caller():
    def fails(number):
        raise ValueError(f"item {number}")

    with pytest.raises(ValueError, match="item 3"):
        list(in_order(fails, [3]))
