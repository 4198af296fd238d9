"""Work done a little ahead, in two threads."""

from __future__ import annotations

from collections import deque
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

THREADS = 2
"""Threads that work at once; no answer depends on their number."""

Item = TypeVar("Item")
Answer = TypeVar("Answer")


def in_order(function: Callable[[Item], Answer], items: Iterable[Item]) -> Iterator[Answer]:
    """
    Apply a function to each item and give the answers in the order of the items.

    Items are taken one by one in the calling thread, and no more of them than there are threads wait at a time: what
    they hold in memory stays small.

    Parameters
    ----------
    function
        What is done; it must not change what other calls read.
    items
        What it is done to.

    Raises
    ------
    BaseException
        What the function raises, when the answer's turn comes.
    """
    waiting: deque[Future[Answer]] = deque()
    with ThreadPoolExecutor(THREADS) as pool:
        for item in items:
            waiting.append(pool.submit(function, item))
            if len(waiting) == THREADS:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
