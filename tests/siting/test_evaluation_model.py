"""The ratio of ratios, against hand calculation, scipy and statsmodels."""

import numpy as np
import pandas as pd
import pytest
import statsmodels.api as sm
from scipy import stats

from roadwatch.errors import NotEnoughDataError
from roadwatch.siting.evaluation_model import (
    exact_interval,
    exact_tails,
    fit_baci,
    four_cells,
    plain_ratio,
    wald_interval,
)

WORKED = np.array([9.0, 30.0, 26.0, 28.0])
"""Impact 30 before, 9 after; control 28 before, 26 after."""
EVEN_KM = np.ones(4)


@pytest.fixture
def study():
    """study(impact after, impact before, control after, control before): lists of (deaths, km), one a year."""

    def make(*groups):
        cells = zip(((1, 1), (1, 0), (0, 1), (0, 0)), groups, strict=True)
        return pd.DataFrame(
            {"impact": impact, "after": after, "deaths": deaths, "km": km}
            for (impact, after), years in cells
            for deaths, km in years
        )

    return make


def test_the_worked_example_by_hand():
    # (9 / 30) / (26 / 28) = 0.323077; SE of the log = sqrt(1/9 + 1/30 + 1/26 + 1/28) = 0.467568;
    # exp(-1.129865 -+ 1.959964 x 0.467568) = 0.1292 and 0.8078.
    assert plain_ratio(WORKED, EVEN_KM) == pytest.approx(0.323077, abs=1e-6)
    assert wald_interval(WORKED, EVEN_KM) == (pytest.approx(0.1292, abs=1e-4), pytest.approx(0.8078, abs=1e-4))


def test_the_exact_p_of_the_worked_example_is_that_of_scipy_fisher():
    below, above = exact_tails(WORKED[None, :], EVEN_KM)
    table = [[9, 30], [26, 28]]
    assert below[0] == pytest.approx(stats.fisher_exact(table, alternative="less").pvalue, rel=1e-9)
    assert above[0] == pytest.approx(stats.fisher_exact(table, alternative="greater").pvalue, rel=1e-9)


@pytest.mark.parametrize("cells", [(9, 30, 26, 28), (0, 12, 20, 25), (3, 4, 2, 9), (1, 1, 30, 30)])
def test_the_exact_interval_is_scipys_conditional_odds_ratio(cells):
    expected = stats.contingency.odds_ratio([[cells[0], cells[1]], [cells[2], cells[3]]], kind="conditional")
    low, high = expected.confidence_interval(0.95)
    found = exact_interval(np.array(cells, dtype=float), EVEN_KM)
    assert found == (pytest.approx(low, rel=1e-4, abs=1e-9), pytest.approx(high, rel=1e-4))


def test_kilometres_divide_out_of_the_exact_interval():
    # The conditional odds ratio is the ratio of rates times (km impact after x km control before) / (the other two).
    km = np.array([2.0, 4.0, 10.0, 5.0])
    plain = exact_interval(WORKED, EVEN_KM)
    scaled = exact_interval(WORKED, km)
    factor = (2.0 * 5.0) / (4.0 * 10.0)
    assert scaled == (pytest.approx(plain[0] / factor, rel=1e-9), pytest.approx(plain[1] / factor, rel=1e-9))


def test_no_death_after_gives_a_ratio_of_0_with_an_honest_upper_end(study):
    found = fit_baci(study([(0, 5.0)], [(12, 5.0)], [(20, 9.0)], [(25, 9.0)]))
    assert found.ratio == 0.0
    assert found.low == 0.0
    assert found.high == pytest.approx(
        stats.contingency.odds_ratio([[0, 12], [20, 25]], kind="conditional").confidence_interval(0.95).high, rel=1e-4
    )


def test_no_death_before_leaves_the_upper_end_open(study):
    found = fit_baci(study([(6, 5.0)], [(0, 5.0)], [(20, 9.0)], [(25, 9.0)]))
    assert found.ratio == np.inf
    assert found.high == np.inf
    assert found.low > 0.0


def by_statsmodels(rows: pd.DataFrame, family):
    """The interaction of a log-linear model, fitted by statsmodels' formula interface."""
    model = sm.GLM.from_formula("deaths ~ impact * after", rows, family=family, offset=np.log(rows["km"])).fit(
        tol=1e-12
    )
    return float(model.params["impact:after"]), float(model.bse["impact:after"])


def test_poisson_counts_agree_with_a_poisson_model_of_statsmodels(study):
    rows = study([(7, 5.0), (8, 6.0)], [(15, 5.0), (16, 6.0)], [(20, 30.0), (22, 31.0)], [(24, 30.0), (25, 31.0)])
    found = fit_baci(rows)
    middle, error = by_statsmodels(rows, sm.families.Poisson())
    assert found.model == "Poisson"
    assert found.ratio == pytest.approx(np.exp(middle), rel=1e-6)
    assert found.low == pytest.approx(np.exp(middle - 1.959964 * error), rel=1e-5)
    assert found.p_value == pytest.approx(2 * stats.norm.sf(abs(middle) / error), rel=1e-5)


SPREAD = (
    [(2, 5.0), (12, 5.0), (9, 6.0)],
    [(5, 5.0), (30, 5.0), (14, 6.0)],
    [(9, 30.0), (40, 30.0), (22, 31.0)],
    [(50, 30.0), (15, 30.0), (31, 31.0)],
)


def test_uneven_years_agree_with_a_negative_binomial_model_of_statsmodels(study):
    rows = study(*SPREAD)
    found = fit_baci(rows)
    family = sm.families.NegativeBinomial(alpha=found.dispersion)
    middle, error = by_statsmodels(rows, family)
    t = stats.t.ppf(0.975, df=12 - 4)
    assert found.model == "negative binomial"
    assert found.ratio == pytest.approx(np.exp(middle), rel=1e-6)
    assert (found.low, found.high) == (
        pytest.approx(np.exp(middle - t * error), rel=1e-5),
        pytest.approx(np.exp(middle + t * error), rel=1e-5),
    )


def test_the_dispersion_makes_pearsons_statistic_its_degrees_of_freedom(study):
    rows = study(*SPREAD)
    found = fit_baci(rows)
    fit = sm.GLM.from_formula(
        "deaths ~ impact * after",
        rows,
        family=sm.families.NegativeBinomial(alpha=found.dispersion),
        offset=np.log(rows["km"]),
    ).fit(tol=1e-12)
    assert fit.pearson_chi2 == pytest.approx(fit.df_resid, rel=1e-4)


def test_uneven_years_widen_the_interval(study):
    uneven = fit_baci(study(*SPREAD))
    even = wald_interval(*four_cells(study(*SPREAD)))
    assert uneven.high / uneven.low > even[1] / even[0]
    assert uneven.extra_variance > 0.0


def test_years_without_a_search_tell_nothing(study):
    groups = ([(7, 5.0)], [(15, 5.0)], [(20, 30.0)], [(24, 30.0)])
    with_blank = ([*groups[0], (0, 0.0)], *groups[1:])
    assert fit_baci(study(*with_blank)) == fit_baci(study(*groups))


@pytest.mark.parametrize(
    "groups",
    [
        ([(0, 0.0)], [(9, 5.0)], [(9, 5.0)], [(9, 5.0)]),
        ([(0, 5.0)], [(0, 5.0)], [(9, 5.0)], [(9, 5.0)]),
        ([(5, 5.0)], [(7, 5.0)], [(0, 5.0)], [(0, 5.0)]),
    ],
)
def test_a_group_without_search_or_a_side_without_deaths_is_not_enough(study, groups):
    with pytest.raises(NotEnoughDataError, match="not enough data: no search in one of the four groups"):
        fit_baci(study(*groups))


def test_doubling_all_effort_changes_nothing(study):
    rows = study(*SPREAD)
    one, other = fit_baci(rows), fit_baci(rows.assign(km=2 * rows["km"]))
    assert (one.ratio, one.low, one.high) == pytest.approx((other.ratio, other.low, other.high), rel=1e-6)


def held(rng, *, effect: float, dispersion: float, n: int) -> int:
    """How many of n simulated studies of three years before and three after have an interval that holds the truth."""
    km = np.array([[4.0], [4.0], [40.0], [40.0]]) * np.ones((4, 3))
    rate = np.array([[2.0 * effect * 0.8], [2.0], [0.8 * 0.8], [0.8]])
    group = [(1, 1), (1, 0), (0, 1), (0, 0)]
    inside = 0
    for _ in range(n):
        spread = rng.gamma(1 / dispersion, dispersion, (4, 3)) if dispersion else 1.0
        deaths = rng.poisson(rate * km * spread)
        rows = pd.DataFrame(
            {"impact": g[0], "after": g[1], "deaths": deaths[k, year], "km": km[k, year]}
            for k, g in enumerate(group)
            for year in range(3)
        )
        found = fit_baci(rows)
        inside += found.low <= effect <= found.high
    return inside


@pytest.mark.parametrize(("effect", "dispersion"), [(1.0, 0.0), (0.3, 0.0), (1.0, 0.15), (0.4, 0.15)])
def test_the_interval_holds_the_truth_in_95_of_100_studies(effect, dispersion):
    # 120 studies: no fewer than the 0.1 % quantile of a binomial count at 95 %.
    n = 120
    assert held(np.random.default_rng(11), effect=effect, dispersion=dispersion, n=n) >= stats.binom.ppf(0.001, n, 0.95)
