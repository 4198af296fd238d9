"""Measures other than fences: only with a number that somebody stands for."""

import math

import pytest

from roadwatch.errors import UnfitFileError, UsageError
from roadwatch.siting.efficacy import COLUMNS, fence_efficacy
from roadwatch.siting.measure_options import PRICES, measure_options

HEAD = ",".join(["measure", *COLUMNS, *PRICES])


@pytest.fixture
def own(tmp_path):
    """own(row, ...): a table of one's own; a row names measure, set, part, ... and the two prices."""

    def write(*rows, head=HEAD):
        path = tmp_path / "own.csv"
        path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
        return path

    return write


SIGN = "sign,me,middle,0,,0.2,0,0.4,county trial,seasonal,,1500"
SPEED = "speed,me,middle,0,,0.3,0.1,0.5,county trial,humps,4,"
FENCE = "fence,me,middle,0,,0.7,0.5,0.9,measured here,,,"


@pytest.mark.parametrize("name", ["turtles", "large_mammals"])
def test_the_shipped_table_has_no_number_for_any_other_measure(name):
    assert measure_options(name) == ()


def test_a_user_s_rows_become_options_with_their_own_prices(own):
    sign, speed = measure_options(path=own(SIGN, SPEED, FENCE))
    assert (sign.measure, sign.efficacy.middles[0].value, sign.efficacy.middles[0].source) == (
        "sign", 0.2, "county trial",
    )  # fmt: skip
    assert sign.table == "own.csv"
    assert sign.cost(700.0) == 1500.0
    assert speed.cost(700.0) == 2800.0


def test_prices_add_up_and_none_is_assumed(own):
    (both,) = measure_options(path=own("sign,me,middle,0,,0.2,0,0.4,x,,2,100"))
    assert both.cost(50.0) == 200.0
    (none,) = measure_options(path=own("sign,me,middle,0,,0.2,0,0.4,x,,,"))
    assert math.isnan(none.cost(50.0))


def test_a_table_without_a_fence_leaves_the_shipped_fence_in_place(own):
    assert fence_efficacy(path=own(SIGN)).middles == fence_efficacy().middles
    assert fence_efficacy(path=own(SIGN, FENCE)).middles[0].value == 0.7


def test_a_table_shaped_like_the_shipped_one_is_of_fences(own):
    path = own("me,middle,0,,0.7,0.5,0.9,own,", head=",".join(COLUMNS))
    assert measure_options(path=path) == ()
    assert fence_efficacy(path=path).middles[0].value == 0.7


def test_efficacy_may_go_with_length_and_ends(own):
    (speed,) = measure_options(
        path=own(
            "speed,me,middle,0,500,0.1,0,0.2,x,,,",
            "speed,me,middle,500,,0.3,0.1,0.5,x,,,",
            "speed,me,end,0,50,0.5,0,1,x,,,",
        )
    )
    assert speed.efficacy.least_cells(50.0) == (0, 10)
    assert speed.efficacy.end_rows(50.0) == (0,)


@pytest.mark.parametrize("price", [0.0, 0.5])
def test_a_measure_may_cost_nothing_or_less_than_one(own, price):
    (found,) = measure_options(path=own(f"sign,me,middle,0,,0.2,0,0.4,x,,,{price}"))
    assert found.cost(700.0) == price


@pytest.mark.parametrize(
    ("row", "what"),
    [
        ("sing,me,middle,0,,0.2,0,0.4,x,,,", "line 2: measure 'sing' is not known; write fence, sign"),
        ("sign,me,middle,0,,0.2,0,0.4,x,,cheap,", "cost_per_m 'cheap' is not a price"),
        ("sign,me,middle,0,,0.2,0,0.4,x,,,-5", "cost_per_place '-5' is not a price"),
        ("sign,me,middle,0,,0.5,0.6,0.9,x,,,", "0 <= low <= value <= high <= 1"),
        ("sign,me,end,0,50,0.5,0,1,x,,,", "no row of part middle"),
    ],
)
def test_a_row_that_cannot_be_is_refused_by_line(own, row, what):
    with pytest.raises(UnfitFileError, match=what):
        measure_options(path=own(row))


def test_a_table_that_is_missing_or_no_text_is_named(tmp_path):
    with pytest.raises(UsageError, match=r"gone\.csv does not exist"):
        measure_options(path=tmp_path / "gone.csv")
    (tmp_path / "latin.csv").write_bytes(HEAD.encode() + b"\nsign,me,middle,0,,0.2,0,0.4,caf\xe9,,,\n")
    with pytest.raises(UnfitFileError, match="not text in UTF-8"):
        measure_options(path=tmp_path / "latin.csv")
