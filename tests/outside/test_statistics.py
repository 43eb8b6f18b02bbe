"""The forecasts' statistics against certified values and against other people's libraries."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
import statsmodels.api as sm

from tracker.forecast.stats import (
    gamma_from_normal,
    kalman_predict,
    kalman_update,
    normal_below,
    normal_scores,
    weighted_least_squares,
)

# NIST Statistical Reference Datasets, linear regression, https://www.itl.nist.gov/div898/strd/lls/lls.shtml
# Norris: (y, x) and certified values as also printed in the tests of scipy and of GSL.
NORRIS = np.array([
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5), (668.5, 666.3),
    (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4), (0.1, 0.6), (778.1, 775.5),
    (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6), (557.7, 556.0), (228.3, 228.1), (998.0, 995.8),
    (888.8, 887.6), (119.6, 120.2), (0.3, 0.3), (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2),
    (998.5, 999.0), (778.9, 779.0), (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9),
    (0.2, 0.5),
])  # fmt: skip


def test_norris_agrees_with_the_certified_line():
    y, x = NORRIS.T
    fit = weighted_least_squares(np.stack([np.ones(x.size), x], axis=1), y)
    assert fit.coefficients == pytest.approx([-0.262323073774029, 1.00211681802045], rel=1e-10)
    assert fit.standard_errors == pytest.approx([0.232818234301152, 0.429796848199937e-3], rel=1e-9)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=1e-9)


def test_lines_through_the_origin_agree_with_the_certified_slopes():
    # NoInt1: x 60 to 70, y 130 to 140. NoInt2: three points. Certified values of NIST; NoInt2's from memory, and
    # by hand: 56 / 77, residual squares 0.272727 on two degrees of freedom.
    x = np.arange(60.0, 71.0)
    fit = weighted_least_squares(x[:, None], np.arange(130.0, 141.0))
    assert fit.coefficients[0] == pytest.approx(2.07438016528926, rel=1e-12)
    assert fit.standard_errors[0] == pytest.approx(0.165289256198347e-1, rel=1e-10)
    assert fit.residual_sd == pytest.approx(3.56753034006338, rel=1e-10)
    fit = weighted_least_squares(np.array([[4.0], [5.0], [6.0]]), np.array([3.0, 4.0, 4.0]))
    assert fit.coefficients[0] == pytest.approx(0.727272727272727, rel=1e-12)
    assert fit.standard_errors[0] == pytest.approx(0.420827318078432e-1, rel=1e-10)
    assert fit.residual_sd == pytest.approx(0.369274472937998, rel=1e-10)


def test_longley_the_ill_conditioned_one_agrees_with_the_certified_coefficients():
    # Data from statsmodels; certified values of NIST StRD "Longley", from memory.
    data = sm.datasets.longley.load_pandas()
    x = np.column_stack([np.ones(16), data.exog.to_numpy(dtype=float)])
    fit = weighted_least_squares(x, data.endog.to_numpy(dtype=float))
    certified = [
        (-3482258.63459582, 890420.383607373),
        (15.0618722713733, 84.9149257747669),
        (-0.358191792925910e-01, 0.334910077722432e-01),
        (-2.02022980381683, 0.488399681651699),
        (-1.03322686717359, 0.214274163161675),
        (-0.511041056535807e-01, 0.226073200069370),
        (1829.15146461355, 455.478499142212),
    ]
    assert fit.coefficients == pytest.approx([value for value, _error in certified], rel=1e-8)
    assert fit.standard_errors == pytest.approx([error for _value, error in certified], rel=1e-8)
    assert fit.residual_sd == pytest.approx(304.854073561965, rel=1e-9)


def test_weighted_fits_agree_with_statsmodels():
    rng = np.random.default_rng(3)
    x = np.column_stack([np.ones(40), rng.normal(size=(40, 2))])
    weights = rng.uniform(0.2, 5.0, 40)
    y = x @ [1.0, -2.0, 0.5] + rng.normal(size=40) / np.sqrt(weights)
    theirs = sm.WLS(y, x, weights=weights).fit()
    ours = weighted_least_squares(x, y, weights)
    assert ours.coefficients == pytest.approx(theirs.params, rel=1e-10)
    assert ours.standard_errors == pytest.approx(theirs.bse, rel=1e-10)


def test_normal_chances_agree_with_scipy_far_into_the_tails():
    z = np.linspace(-8.0, 8.0, 401)
    assert normal_below(z) == pytest.approx(scipy.stats.norm.cdf(z), rel=3e-7)


def test_even_normal_scores_are_scipys_quantiles():
    count = 512
    places = (np.arange(count) + 0.5) / count
    assert normal_scores(count) == pytest.approx(scipy.stats.norm.ppf(places), abs=1e-9)


@pytest.mark.parametrize(("shape", "tolerance"), [(3.0, 0.02), (8.0, 0.01), (40.0, 0.004)])
def test_gamma_values_made_from_normal_ones_have_scipys_quantiles(shape: float, tolerance: float):
    places = np.linspace(0.05, 0.95, 19)
    ours = gamma_from_normal(shape, scipy.stats.norm.ppf(places))
    assert ours == pytest.approx(scipy.stats.gamma.ppf(places, shape), rel=tolerance)


def test_the_kalman_filter_agrees_with_statsmodels_on_a_local_linear_trend():
    # Level and slope, both with noise, measured with noise: the cloth's length and row height.
    rng = np.random.default_rng(11)
    y = np.cumsum(rng.normal(0.3, 0.2, 30)) + rng.normal(0, 0.5, 30)
    model = sm.tsa.UnobservedComponents(y, level="local linear trend")
    model.ssm.initialize_known(np.array([0.0, 0.25]), np.diag([1.0, 0.1]))
    model.ssm.loglikelihood_burn = 0  # take every value into its sum, the first ones too
    theirs = model.filter([0.25, 0.04, 0.01])  # variances: measurement, level, slope
    mean, covariance = np.array([0.0, 0.25]), np.diag([1.0, 0.1])
    move, noise = np.array([[1.0, 1.0], [0.0, 1.0]]), np.diag([0.04, 0.01])
    total = 0.0
    for step, value in enumerate(y):
        mean, covariance, log_likelihood = kalman_update(
            mean, covariance, np.array([1.0, 0.0]), float(value), 0.25
        )
        total += log_likelihood
        assert mean == pytest.approx(theirs.filtered_state[:, step], rel=1e-8, abs=1e-10)
        assert covariance == pytest.approx(theirs.filtered_state_cov[:, :, step], rel=1e-8, abs=1e-10)
        mean, covariance = kalman_predict(mean, covariance, move, noise)
    assert total == pytest.approx(float(np.sum(theirs.llf_obs)), rel=1e-8)
