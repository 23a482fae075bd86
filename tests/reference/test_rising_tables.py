"""The nearest rising table against a closed form and against a general optimiser."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize
from sklearn.isotonic import IsotonicRegression

from valuation.learn.rising import MARGIN, nearest_rising, rise


@pytest.mark.parametrize("seed", range(12))
def test_with_two_rows_it_is_the_published_closed_form(seed):
    # Dykstra, Kochar and Robertson, J. Am. Stat. Assoc. 90 (1995) 1034: of the two samples together, the share of the
    # second in each column, made to rise by isotonic regression with the column's counts as weights.
    rng = np.random.default_rng(seed)
    counts = rng.integers(1, 40, (2, int(rng.integers(2, 7)))).astype(float)
    together = counts.sum(axis=0)
    second = IsotonicRegression().fit_transform(np.arange(len(together)), counts[1] / together, sample_weight=together)
    expected = np.array([together * (1 - second), together * second]) / counts.sum(axis=1, keepdims=True)
    assert nearest_rising(counts, margin=0.0) == pytest.approx(expected, abs=1e-5)


@pytest.mark.parametrize("rows", [3, 4])
def test_no_other_rising_table_makes_the_counts_likelier(rows):
    rng = np.random.default_rng(rows)
    for _ in range(12):
        counts = 0.2 + rng.gamma(0.6, 12, (rows, 4))
        found = nearest_rising(counts)
        assert rise(found).min() >= MARGIN - 1e-9

        def loss(x, counts=counts):
            return -(counts * np.log(x.reshape(rows, 4))).sum()

        other = minimize(
            loss,
            found.ravel(),
            method="SLSQP",
            bounds=[(1e-7, 1)] * (4 * rows),
            constraints=[
                {"type": "eq", "fun": lambda x: x.reshape(rows, 4).sum(axis=1) - 1},
                {"type": "ineq", "fun": lambda x: rise(np.maximum(x.reshape(rows, 4), 1e-9)).ravel() - MARGIN},
            ],
            options={"ftol": 1e-12, "maxiter": 500},
        )
        # Only where that is a table at all may it be held against ours; it starts from ours, so it is never far.
        if other.success and rise(other.x.reshape(rows, 4)).min() >= MARGIN - 1e-9:
            assert loss(found.ravel()) <= other.fun + 1e-6
