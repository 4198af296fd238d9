"""Kernels against scipy's integrals and distributions (a general reference library)."""

import numpy as np
import pytest
from scipy import integrate, stats

from roadwatch.errors import UsageError
from roadwatch.hotspots.kernels import KERNELS, kernel_density


def at(distance_m, kernel, half_width_m=300.0):
    return kernel_density(np.asarray(distance_m, dtype=float), half_width_m=half_width_m, kernel=kernel)


@pytest.mark.parametrize("kernel", KERNELS)
@pytest.mark.parametrize("half_width_m", [0.5, 3.0, 300.0])
def test_a_kernel_holds_mass_one(kernel, half_width_m):
    mass, _ = integrate.quad(lambda d: float(at(d, kernel, half_width_m)), -half_width_m, half_width_m, epsabs=1e-13)
    assert mass == pytest.approx(1.0, abs=1e-10)


@pytest.mark.parametrize(("kernel", "divisor"), [("epanechnikov", np.sqrt(5.0)), ("quartic", np.sqrt(7.0))])
def test_a_kernel_has_the_standard_deviation_it_states(kernel, divisor):
    variance, _ = integrate.quad(lambda d: d**2 * float(at(d, kernel)), -300.0, 300.0)
    assert np.sqrt(variance) == pytest.approx(300.0 / divisor)


def test_epanechnikov_by_hand():
    # 3/4 (1 - (d/h)^2) / h at h = 3: 1/4 at 0, 2/9 at 1, 5/36 at 2
    assert at([0.0, 1.0, 2.0, 3.0], "epanechnikov", 3.0) == pytest.approx([1 / 4, 2 / 9, 5 / 36, 0.0])


def test_quartic_by_hand():
    # 15/16 (1 - (d/h)^2)^2 / h at h = 2: 15/32 at 0, 135/512 at 1
    assert at([0.0, 1.0, 2.0], "quartic", 2.0) == pytest.approx([15 / 32, 135 / 512, 0.0])


def test_gaussian_is_the_normal_curve_cut_at_four_standard_deviations():
    expected = stats.truncnorm(-4.0, 4.0, scale=75.0)
    distance_m = np.array([0.0, 10.0, 75.0, 150.0, 299.0])
    assert at(distance_m, "gaussian") == pytest.approx(expected.pdf(distance_m), rel=1e-12)


@pytest.mark.parametrize("kernel", KERNELS)
def test_a_kernel_ends_at_its_half_width_and_is_symmetric(kernel):
    assert at([300.0, 300.1, 1e9, -300.0], kernel).tolist() == [0.0] * 4
    distance_m = np.linspace(0.0, 299.0, 50)
    assert at(-distance_m, kernel).tolist() == at(distance_m, kernel).tolist()
    assert (np.diff(at(distance_m, kernel)) < 0.0).all()


def test_an_unknown_kernel_is_refused_with_the_known_ones():
    with pytest.raises(UsageError, match=r"kernel 'box' is not known; choose one of epanechnikov, quartic, gaussian"):
        at([0.0], "box")


@pytest.mark.parametrize("half_width_m", [0.0, -1.0, float("nan"), float("inf")])
def test_a_half_width_that_is_no_width_is_refused(half_width_m):
    with pytest.raises(UsageError, match="give a positive number of metres"):
        at([0.0], "epanechnikov", half_width_m)
