"""The two fits against other programs and against the slow, plain way."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel
from sklearn.linear_model import Ridge

from valuation.sales import ridge as ridge_module
from valuation.sales.curve import fit_curve, pinball_left_out
from valuation.sales.ridge import fit_ridge


def draw(n: int = 40, p: int = 4, seed: int = 7) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    columns = np.column_stack([np.ones(n), rng.normal(size=(n, p - 1))])
    return columns, columns @ np.array([2.0, 1.0, -0.5, 0.2])[:p] + 0.3 * rng.normal(size=n)


def fit(columns, target, **changed):
    p = columns.shape[1]
    plain = {"start": np.zeros(p), "held": np.zeros((p, p)), "pulled": np.ones(p), "least": np.full(p, -np.inf)}
    return fit_ridge(columns, target, **{**plain, **changed})


def test_without_bounds_it_is_scikit_learns_ridge():
    columns, target = draw()
    found = fit(columns, target, pulled=np.array([0.0, 1, 1, 1]))
    theirs = Ridge(alpha=found.penalty, solver="cholesky").fit(columns[:, 1:], target)
    assert found.coefficients == pytest.approx(np.append(theirs.intercept_, theirs.coef_), abs=1e-10)


def test_imaginary_observations_count_like_real_ones_of_their_weight():
    columns, target = draw()
    imaginary, thought = draw(n=15, seed=3)
    start = np.linalg.lstsq(imaginary, thought, rcond=None)[0]
    found = fit(columns, target, start=start, held=imaginary.T @ imaginary * (6 / 15), pulled=np.zeros(4))
    theirs = Ridge(alpha=0, fit_intercept=False).fit(
        np.vstack([columns, imaginary]), np.append(target, imaginary @ start), np.repeat([1, 6 / 15], [40, 15])
    )
    assert found.coefficients == pytest.approx(theirs.coef_, abs=1e-10)


def test_leaving_one_out_is_the_fit_without_it(monkeypatch):
    columns, target = draw(n=12)
    monkeypatch.setattr(ridge_module, "PENALTIES", (0.7,))
    found = fit(columns, target)
    for row in range(12):
        rest = np.delete(np.arange(12), row)
        without = fit(columns[rest], target[rest])
        assert found.left_out[row] == pytest.approx(target[row] - columns[row] @ without.coefficients, abs=1e-10)
        assert found.stretch_left_out[row] == pytest.approx(without.stretch(columns[row : row + 1])[0], abs=1e-10)


def test_the_penalty_chosen_is_the_best_by_leaving_one_out(monkeypatch):
    columns, target = draw(n=15)
    chosen, losses = fit(columns, target).penalty, {}
    for penalty in ridge_module.PENALTIES:
        monkeypatch.setattr(ridge_module, "PENALTIES", (penalty,))
        losses[penalty] = np.mean(fit(columns, target).left_out ** 2)
    assert losses[chosen] == min(losses.values())


def test_a_bound_is_kept_and_the_rest_is_the_best_under_it(monkeypatch):
    columns, target = draw()
    monkeypatch.setattr(ridge_module, "PENALTIES", (0.5,))
    least = np.array([-np.inf, 0, 0, 0])  # the third coefficient is truly -0.5
    found = fit(columns, target, least=least)
    assert found.coefficients[2] == 0
    without = fit(np.delete(columns, 2, axis=1), target)
    assert np.delete(found.coefficients, 2) == pytest.approx(without.coefficients, abs=1e-10)
    assert found.leverage == pytest.approx(without.leverage, abs=1e-10)
    theirs = Ridge(alpha=0.5, positive=True, fit_intercept=False, tol=1e-12).fit(columns, target)
    assert found.coefficients == pytest.approx(theirs.coef_, abs=1e-5)


def test_the_curve_alone_is_scikit_learns_gaussian_process():
    columns, target = draw()
    curve = fit_curve(columns, columns, target, firmness=1e12 * np.eye(4))  # the straight part is held at nothing
    kernel = ConstantKernel(curve.strength, "fixed") * RBF(curve.reach, "fixed")
    theirs = GaussianProcessRegressor(kernel, alpha=1.0, optimizer=None).fit(columns / curve.scale, target)
    places, _ = draw(n=9, seed=8)
    mean, spread = theirs.predict(places / curve.scale, return_std=True)
    assert curve.ahead(places, places) == pytest.approx(mean, abs=1e-8)
    assert curve.stretch(places, places) == pytest.approx(np.sqrt(1 + spread**2), abs=1e-8)


def test_a_curve_that_tells_nothing_is_the_ridge(monkeypatch):
    columns, target = draw()
    monkeypatch.setattr("valuation.sales.curve.STRENGTHS", (1e-12,))
    ridge = fit(columns, target)
    curve = fit_curve(columns, columns, target, firmness=ridge.penalty * np.eye(4))
    places, _ = draw(n=9, seed=8)
    assert curve.ahead(places, places) == pytest.approx(places @ ridge.coefficients, abs=1e-6)
    assert curve.stretch(places, places) == pytest.approx(ridge.stretch(places), abs=1e-6)
    assert curve.left_out == pytest.approx(ridge.left_out, abs=1e-6)
    assert curve.stretch_left_out == pytest.approx(ridge.stretch_left_out, abs=1e-6)


def test_the_curve_left_out_is_the_curve_without_the_sale():
    columns, target = draw(n=12)
    curve = fit_curve(columns, columns, target, firmness=0.5 * np.eye(4))
    for row in range(12):
        rest = np.delete(np.arange(12), row)
        covariance = np.linalg.inv(curve.inverse)[np.ix_(rest, rest)]
        inverse = np.linalg.inv(covariance)
        without = replace(
            curve, columns=columns[rest], places=columns[rest], inverse=inverse, pull=inverse @ target[rest]
        )
        place = columns[row : row + 1]
        assert curve.left_out[row] == pytest.approx(target[row] - without.ahead(place, place)[0], abs=1e-8)
        assert curve.stretch_left_out[row] == pytest.approx(without.stretch(place, place)[0], abs=1e-8)


def test_the_pinball_loss_of_five_residuals_is_that_on_paper():
    # residuals -2 -1 0 1 2, stretch 1, rank ceil(0.8 x 6) = 5, half width 2.
    # 10 % point at -2: residuals above it by 0 1 2 3 4, each costs a tenth: mean 0.2. 90 % point the same. Middle: 0.6.
    residuals = np.array([-2.0, -1, 0, 1, 2])
    assert pinball_left_out(residuals, np.ones(5)) == pytest.approx((0.2 + 0.6 + 0.2) / 3)
