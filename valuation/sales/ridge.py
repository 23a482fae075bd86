"""Ridge regression that starts from what is already thought, with honest bands for small numbers.

The coefficients start at `start` and move away from it only as far as the observations carry them. Two things hold
them back: `held`, the weight of imaginary observations and of stated doubts, and one penalty for the columns in
`pulled`, chosen by leaving out each observation in turn. Leaving one out costs nothing here: the residual without it
is the residual with it over one minus its leverage.

The band is conformal: of n residuals found by leaving one out, the k-th smallest is the half width that the next
observation keeps to with chance k/(n + 1). Residuals are first divided, and the band multiplied, by how much farther
an observation at that place strays because the coefficients are not known exactly.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from scipy.optimize import lsq_linear

PENALTIES = tuple(float(penalty) for penalty in np.geomspace(0.01, 100, 13))
"""Penalties tried."""


@dataclass(frozen=True, eq=False)
class Ridge:
    """A fitted ridge regression of n observations on p columns.

    Attributes
    ----------
    coefficients : ndarray, shape (p,)
    spread_of_coefficients : ndarray, shape (p, p)
        Their covariance over the variance of one observation; zero for a coefficient held at its bound.
    penalty : float
        The penalty chosen.
    leverage : ndarray, shape (n,)
        Share of each fitted value that hangs on its own observation [-].
    left_out : ndarray, shape (n,)
        Residual of each observation from the fit without it.
    """

    coefficients: np.ndarray
    spread_of_coefficients: np.ndarray
    penalty: float
    leverage: np.ndarray
    left_out: np.ndarray

    @property
    def stretch_left_out(self) -> np.ndarray:
        """Stretch of each observation's place in the fit without it, shape (n,)."""
        return 1 / np.sqrt(1 - self.leverage)

    def stretch(self, columns: np.ndarray) -> np.ndarray:
        """Return how much wider the band is at these places than where the coefficients are known exactly [-].

        Parameters
        ----------
        columns : ndarray, shape (m, p)

        Returns
        -------
        ndarray, shape (m,)
            At least 1.
        """
        return np.sqrt(1 + np.einsum("ij,jk,ik->i", columns, self.spread_of_coefficients, columns))


def conformal_rank(n: int, level: str | Fraction) -> int:
    """Return k such that the k-th smallest of n residuals covers the next one with chance at least `level`.

    Parameters
    ----------
    n : int
        Number of residuals [-].
    level : str or Fraction
        Chance to be kept, as text such as ``"0.8"``: a binary fraction would round the rank up by mistake.

    Returns
    -------
    int
        From 1; greater than n where n residuals can't carry the level.

    References
    ----------
    .. [1] Lei, G'Sell, Rinaldo, Tibshirani and Wasserman, "Distribution-Free Predictive Inference for Regression",
       Journal of the American Statistical Association 113, 2018, section 2.

    Examples
    --------
    >>> conformal_rank(19, "0.9"), conformal_rank(8, "0.9")
    (18, 9)
    """
    return math.ceil(Fraction(level) * (n + 1))


def half_width(residuals: np.ndarray, level: str | Fraction) -> float:
    """Return the half width that keeps `level`; infinite where there are too few residuals.

    Examples
    --------
    >>> half_width(np.array([-3.0, 1.0, 2.0, -4.0]), "0.6")
    3.0
    """
    rank = conformal_rank(len(residuals), level)
    return float(np.sort(np.abs(residuals))[rank - 1]) if rank <= len(residuals) else math.inf


def fit_ridge(
    columns: np.ndarray,
    target: np.ndarray,
    *,
    start: np.ndarray,
    held: np.ndarray,
    pulled: np.ndarray,
    least: np.ndarray,
) -> Ridge:
    """Fit the coefficients.

    Parameters
    ----------
    columns : ndarray, shape (n, p)
        The observations' columns; an intercept is a column of ones.
    target : ndarray, shape (n,)
    start : ndarray, shape (p,)
        What is thought of the coefficients before any observation.
    held : ndarray, shape (p, p)
        How firmly: inverse covariance over the variance of one observation.
    pulled : ndarray, shape (p,)
        1 where the penalty pulls a coefficient back to its start, 0 where it doesn't.
    least : ndarray, shape (p,)
        Least value of each coefficient; minus infinity where there is none.

    Returns
    -------
    Ridge
        With the penalty that is best when each observation is left out in turn.

    References
    ----------
    .. [1] Hastie, Tibshirani and Friedman, "The Elements of Statistical Learning", 2nd edition, 2009,
       equations 3.44 (ridge) and 7.64 (leave-one-out).
    """
    gram = columns.T @ columns + held
    ahead = target - columns @ start
    moment = columns.T @ ahead
    losses = [_loss_left_out(columns, ahead, gram + np.diag(penalty * pulled)) for penalty in PENALTIES]
    penalty = PENALTIES[int(np.argmin(losses))]
    gram = gram + np.diag(penalty * pulled)

    root = np.linalg.cholesky(gram)
    solved = lsq_linear(root.T, np.linalg.solve(root, moment), bounds=(least - start, np.inf), method="bvls")
    free = solved.active_mask == 0
    spread = np.zeros_like(gram)
    spread[np.ix_(free, free)] = np.linalg.inv(gram[np.ix_(free, free)])
    leverage = np.einsum("ij,jk,ik->i", columns, spread, columns)
    return Ridge(
        coefficients=np.maximum(start + solved.x, least),
        spread_of_coefficients=spread,
        penalty=penalty,
        leverage=leverage,
        left_out=(ahead - columns @ solved.x) / (1 - leverage),
    )


def _loss_left_out(columns: np.ndarray, ahead: np.ndarray, gram: np.ndarray) -> float:
    weights = np.linalg.solve(gram, columns.T)
    leverage = np.einsum("ij,ji->i", columns, weights)
    return float(np.mean(((ahead - columns @ (weights @ ahead)) / (1 - leverage)) ** 2))
