"""Small questions for fence plans, and hypothesis's way of making them up."""

import numpy as np
from hypothesis import strategies as st

from roadwatch.siting.fence_problem import FenceProblem, Prices


def question(deaths, **changes):
    """One line of cells of 1 m, every death averted in the middle of a run and at its ends."""
    table = np.atleast_2d(np.asarray(deaths, dtype=float))
    middle, end = changes.pop("middle", (1.0,)), changes.pop("end", ())
    facts = {
        "line": np.zeros(table.shape[1], dtype=np.int64),
        "middle_cells": (0,) * len(middle),
        "cell_m": 1.0,
        "least_cells": 1,
        "most_cells": table.shape[1],
        "most_runs": None,
        "prices": Prices(),
    } | changes
    return FenceProblem(
        deaths=table,
        middle=np.tile(middle, (len(table), 1)),
        end=np.tile(end, (len(table), 1)).reshape(len(table), len(end)),
        end_rows=tuple(range(len(end))),
        **facts,
    )


@st.composite
def questions(draw, *, money=False):
    n = draw(st.integers(2, 9))
    middle = draw(st.sampled_from([(0.5,), (0.5, 0.8), (0.0, 0.9)]))
    most = draw(st.integers(1, n))
    prices = Prices()
    if money:
        prices = Prices(1.0, float(draw(st.integers(0, 3))), budget=float(draw(st.integers(0, 14))))
    return question(
        draw(st.lists(st.integers(0, 9), min_size=n, max_size=n)),
        line=np.sort(draw(st.lists(st.integers(0, 2), min_size=n, max_size=n))),
        middle=middle,
        middle_cells=(0, draw(st.integers(2, 5)))[: len(middle)],
        end=draw(st.sampled_from([(), (0.0,), (0.5,), (0.0, 0.5), (1.0,)])),
        least_cells=draw(st.integers(1, min(most, 3))),
        most_cells=most,
        most_runs=draw(st.integers(1, 3)),
        prices=prices,
    )
