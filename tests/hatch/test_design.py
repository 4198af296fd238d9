from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import norm

from roadwatch.hatch.design import N_DRAWS, draw_design, middle_design, with_causes

NORMALS = ("heat", "base", "total", "clutch", "line", "logger")


@pytest.mark.parametrize("n_members", [1, 5, 7, 29, 30])
def test_every_past_year_has_an_equal_share_of_the_rows(n_members):
    design = draw_design(n_members, root=1)
    counts = np.bincount(design.member, minlength=n_members)
    assert set(counts) == {len(design.member) // n_members}
    assert N_DRAWS <= len(design.member) < N_DRAWS + n_members


@pytest.mark.parametrize("name", NORMALS)
def test_each_cause_is_standard_normal_slice_by_slice(name):
    # scipy's own normal cuts the line into as many equal parts as there are rows: each part holds one draw.
    z = np.sort(getattr(draw_design(30, root=1), name))
    assert (z.mean(), z.std()) == pytest.approx((0, 1), abs=1e-12)
    np.testing.assert_allclose(norm.cdf(z * norm.ppf((np.arange(480) + 0.5) / 480).std()), (np.arange(480) + 0.5) / 480)


def test_laying_is_spread_evenly_over_its_span():
    laid = np.sort(draw_design(30, root=1).laid)
    np.testing.assert_allclose(laid, (np.arange(480) + 0.5) / 480)


@pytest.mark.parametrize("root", [1, 2, 99])
def test_causes_are_untied_from_each_other(root):
    design = draw_design(30, root=root)
    table = np.corrcoef([design.laid, *(getattr(design, name) for name in NORMALS)])
    off = np.abs(table - np.eye(7))
    assert off.max() < 0.03  # plain shuffles of 480 scatter by 1 / sqrt(480) = 0.046


def test_the_root_alone_decides_the_order():
    one, again, other = (draw_design(30, root=root) for root in (1, 1, 2))
    np.testing.assert_array_equal(one.heat, again.heat)
    assert (one.heat != other.heat).any()


def test_a_cause_can_be_put_into_rows_where_nothing_varies():
    whole, still = draw_design(30, root=1), middle_design(480, member=3)
    made = with_causes(still, whole, ["parameters", "laying day"])
    np.testing.assert_array_equal(made.base, whole.base)
    np.testing.assert_array_equal(made.total, whole.total)
    np.testing.assert_array_equal(made.laid, whole.laid)
    assert set(made.member) == {3}
    assert not np.any([made.heat, made.clutch, made.line, made.logger])
