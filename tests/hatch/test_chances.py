"""Chances day by day against counting by hand and against drawing."""

from datetime import date

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roadwatch.hatch.chances import HatchDraws, day_chances

NEW_YEAR = date(2025, 1, 1)
AUGUST = date(2025, 8, 1)  # day 212 of the year, counted from 0
AUGUST_DAY = 212


def draws(*days, weights=None):
    n = len(days)
    return HatchDraws(NEW_YEAR, np.array(days, dtype=float), np.full(n, 1 / n) if weights is None else weights)


def total(chances):
    return chances.by_day.sum() + chances.before + chances.after + chances.never


def test_hatching_falls_on_the_day_that_was_drawn():
    found = day_chances(draws(212.3, 213.9), first_day=AUGUST, n_days=3, event="hatching")
    assert found.by_day.tolist() == [0.5, 0.5, 0.0]


def test_hatchlings_come_up_1_to_30_days_after_hatching_each_day_as_likely():
    found = day_chances(draws(212.5), first_day=AUGUST, n_days=40)
    assert found.by_day[0] == 0
    np.testing.assert_allclose(found.by_day[1:31], 1 / 30)  # by hand: 30 days share it
    assert found.by_day[31:].sum() == 0


def test_what_lies_outside_the_span_is_counted_beside_it():
    found = day_chances(draws(200.0, 212.0, 250.0, np.inf), first_day=AUGUST, n_days=5, event="hatching")
    assert (found.before, found.after, found.never) == pytest.approx((0.25, 0.25, 0.25))
    assert found.by_day.tolist() == pytest.approx([0.25, 0, 0, 0, 0])


def test_hatchlings_that_would_come_up_after_31_december_do_not_this_year():
    found = day_chances(draws(354.0), first_day=date(2025, 12, 1), n_days=60)
    # by hand: hatched 21 December (day 354), up 22 December to 20 January; days 355 to 364 are 10 of 30
    assert found.never == pytest.approx(20 / 30)
    assert found.by_day.sum() == pytest.approx(10 / 30)


def test_a_visit_that_saw_nothing_moves_the_chance_to_later_days():
    shut = date(2025, 8, 16)  # 15 days after hatching: 15 of 30 days remain
    found = day_chances(draws(212.0), first_day=AUGUST, n_days=40, shut_on=shut)
    assert found.by_day[:16].sum() == 0
    np.testing.assert_allclose(found.by_day[16:31], 1 / 15)


def test_a_visit_that_saw_nothing_makes_never_more_likely():
    seen = date(2025, 8, 26)
    found = day_chances(draws(212.0, np.inf), first_day=AUGUST, n_days=40, shut_on=seen)
    # by hand: 5 of 30 days remain of the first half; 1/2 against 1/2 * 5/30
    assert found.never == pytest.approx(0.5 / (0.5 + 0.5 * 5 / 30))


def test_a_visit_after_all_that_can_be_leaves_no_chance():
    found = day_chances(draws(212.0), first_day=AUGUST, n_days=60, shut_on=date(2025, 9, 20))
    assert total(found) == 0


@given(
    days=st.lists(st.floats(150, 400) | st.just(np.inf), min_size=1, max_size=8),
    begin=st.integers(-40, 420),
    n_days=st.integers(1, 90),
    event=st.sampled_from(["emergence", "hatching"]),
)
def test_chances_add_to_one_wherever_the_span_lies(days, begin, n_days, event):
    first = date.fromordinal(NEW_YEAR.toordinal() + begin)
    found = day_chances(draws(*days), first_day=first, n_days=n_days, event=event)
    assert total(found) == pytest.approx(1)
    assert found.by_day.min() >= 0


def test_chances_agree_with_drawing_the_days():
    rng = np.random.default_rng(20250715)
    hatched = rng.normal(AUGUST_DAY + 20, 9, 300)
    found = day_chances(draws(*hatched), first_day=AUGUST, n_days=60, shut_on=date(2025, 8, 10))
    up = np.floor(rng.choice(hatched, 200_000)) + rng.integers(1, 31, 200_000)
    up = up[up > AUGUST_DAY + 9]
    share = np.bincount((up - AUGUST_DAY).astype(int), minlength=90)[:60] / len(up)
    limit = 5 * np.sqrt(found.by_day.max() / len(up))  # 5 standard errors of a share
    assert np.abs(share - found.by_day).max() < limit


def test_weights_of_draws_count():
    found = day_chances(draws(212.0, 213.0, weights=np.array([0.9, 0.1])), first_day=AUGUST, n_days=2, event="hatching")
    np.testing.assert_allclose(found.by_day, [0.9, 0.1])
