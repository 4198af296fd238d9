"""Efficacies: as shipped with their sources, as a user writes them, and refused where they cannot be."""

import math

import numpy as np
import pytest

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.siting.efficacy import COLUMNS, fence_efficacy
from roadwatch.sources import all_sources

HEAD = ",".join(COLUMNS)


def table(tmp_path, *rows):
    path = tmp_path / "own.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    return path


def test_the_turtles_are_those_of_the_sources():
    # Markle et al. 2017: 89 % fewer where complete, +6 % where partial; Huijser et al. 2016: mean 52.7 % up to 5 km;
    # Aresco 2005: 84 of 8,475 turtles passed, which is 99 % held.
    efficacy = fence_efficacy()
    (middle,), (end,) = efficacy.middles, efficacy.ends
    assert (middle.value, middle.low) == (0.89, 0.527)
    assert middle.high == pytest.approx(1 - 84 / 8475, abs=0.001)
    assert (end.value, end.low, end.high) == (0.0, 0.0, 1.0)
    assert "convention" in end.remark


def test_large_mammals_do_better_behind_more_than_five_kilometres():
    short, long = fence_efficacy("large_mammals").middles
    assert (short.to_m, short.value, short.low, short.high) == (5000.0, 0.527, 0.0, 0.94)
    assert (long.value, long.to_m) == (0.8, math.inf)


@pytest.mark.parametrize("name", ["turtles", "large_mammals"])
def test_every_source_is_listed(name):
    efficacy = fence_efficacy(name)
    assert {row.source for row in (*efficacy.middles, *efficacy.ends)} <= set(all_sources())


def test_a_reach_of_100_m_covers_two_cells_of_50_m():
    assert fence_efficacy().end_rows(50.0) == (0, 0)
    assert fence_efficacy().end_rows(30.0) == (0, 0, 0), "the centre of the third cell lies 75 m from the end"


def test_cells_for_a_length_class_are_rounded_up():
    assert fence_efficacy("large_mammals").least_cells(50.0) == (0, 100)
    assert fence_efficacy("large_mammals").least_cells(30.0) == (0, 167)


def test_half_the_draws_lie_on_either_side_of_the_value_and_all_within_the_interval():
    middle, end = fence_efficacy().draw(np.random.default_rng(1), n_draws=4000)
    assert middle.min() >= 0.527
    assert middle.max() <= 0.99
    assert (middle < 0.89).mean() == pytest.approx(0.5, abs=0.032)  # four standard errors of 4,000 coin throws
    assert end.min() >= 0.0


def test_a_longer_run_never_does_worse_in_any_draw():
    middle, _ = fence_efficacy("large_mammals").draw(np.random.default_rng(2), n_draws=500)
    assert (np.diff(middle, axis=1) >= 0.0).all()


def test_a_user_s_own_set_needs_no_name(tmp_path):
    own = fence_efficacy(path=table(tmp_path, "mine,middle,0,,0.7,0.5,0.9,own,measured here"))
    assert own.name == "mine"
    assert own.ends == ()


@pytest.mark.parametrize(
    ("rows", "what"),
    [
        ([], "at least one row"),
        (["a,middle,0,,1.2,0,1,x,y"], "0 <= low <= value <= high <= 1"),
        (["a,middle,0,,much,0,1,x,y"], "line 2: value 'much' is not a number"),
        (["a,side,0,,0.5,0,1,x,y"], "write middle or end"),
        (["a,end,0,100,0.5,0,1,x,y"], "no row of part middle"),
        (["a,middle,10,,0.5,0,1,x,y"], "start at 0"),
        (["a,middle,0,100,0.8,0,1,x,y", "a,middle,100,,0.5,0,1,x,y"], "must not fall with the length"),
        (["a,middle,0,100,0.8,0,1,x,y"], "the last to_m is blank"),
        (["a,middle,0,,0.8,0,1,x,y", "a,end,0,,0.5,0,1,x,y"], "reach of the ends"),
        (["a,middle,50,20,0.8,0,1,x,y"], "less than to_m"),
    ],
)
def test_a_table_that_cannot_be_is_refused_by_line(tmp_path, rows, what):
    with pytest.raises(UnfitFileError, match=what):
        fence_efficacy(path=table(tmp_path, *rows))


def test_an_unknown_set_or_file_is_named(tmp_path):
    with pytest.raises(UsageError, match="choose one of large_mammals, turtles"):
        fence_efficacy("newts")
    with pytest.raises(UsageError, match=r"none\.csv does not exist"):
        fence_efficacy(path=tmp_path / "none.csv")
