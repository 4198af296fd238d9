from __future__ import annotations

import pytest

from roadwatch.hatch.sureness import LEVELS, sureness_of


@pytest.mark.parametrize(
    ("start", "doubts", "logger", "seen", "expected"),
    [
        ("medium", 0, False, True, "medium"),
        ("medium", 0, True, True, "high"),
        ("medium", 0, True, False, "medium"),
        ("medium", 1, True, True, "low"),
        ("medium", 9, False, False, "low"),
        ("high", 1, False, True, "medium"),
        ("high", 0, True, True, "high"),
        ("low", 0, True, True, "medium"),
        ("none", 0, True, True, "none"),
    ],
)
def test_sureness_falls_by_a_level_for_each_doubt_and_rises_for_a_measured_nest(start, doubts, logger, seen, expected):
    assert sureness_of(start, doubts=["a doubt"] * doubts, own_logger=logger, seen_laying=seen) == expected


@pytest.mark.parametrize("start", LEVELS)
def test_a_further_doubt_never_raises_it(start):
    levels = [
        LEVELS.index(sureness_of(start, doubts=["x"] * count, own_logger=True, seen_laying=True)) for count in range(4)
    ]
    assert levels == sorted(levels, reverse=True)
