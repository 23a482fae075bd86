"""The one price model: how far sales lie above the band table, as a Gaussian process on scikit-learn.

The logarithm of a price less the table's own is a level, a trend and what the settings tell, a shape by state,
reputation, size and year built, a bend that fades with the distance between two sales for what no straight line tells,
and how far a single sale strays. How large each of them is, is learned: the likeliest given the sales and the
prior. So one sale is enough to begin, and a table found far off is let go.

Sales have heavy tails: one far off counts less, by the weights of a Student distribution. The band is held to the
sales, each left out in turn, and to what the spread alone tells while they are few.

Loaded only where something is fitted: scikit-learn takes a second to come.

References
----------
.. [1] Rasmussen and Williams, "Gaussian Processes for Machine Learning", MIT Press, 2006, sections 2.7 (a mean of its
   own), 5.4.1 (likelihood) and 5.4.2 (leaving one out).
.. [2] Lange, Little and Taylor, "Robust Statistical Modeling Using the t Distribution", Journal of the American
   Statistical Association 84, 1989 (the weights).
.. [3] Lei, G'Sell, Rinaldo, Tibshirani and Wasserman, "Distribution-Free Predictive Inference for Regression", Journal
   of the American Statistical Association 113, 2018, section 2 (the band).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist

import numpy as np
from scipy.linalg import cho_solve
from scipy.optimize import minimize
from sklearn.gaussian_process import GaussianProcessRegressor
from sklearn.gaussian_process.kernels import RBF, ConstantKernel, DotProduct, Kernel, WhiteKernel

from valuation.sales.seen import Seen

FREEDOM = 4
"""Degrees of freedom of the Student distribution."""

T_OVER_NORMAL = 1.5332062740589436 / 1.2815515655446004
"""Its 90 % point over the normal one."""

T_OF_NORMAL = 0.829
"""Its likeliest scale where sales are normal after all, over their standard deviation; found by simulation."""

SCALES_BEFORE = {"level": (0.75, 0.8), "trend": (0.6, 0.5), "shape": (1.0, 0.5), "bend": (0.12, 0.7)}
"""Size of each part before any sale, over what `Seen` states of it (of the bend: as a logarithm of the price), and
how unsure that is, as a standard deviation of its logarithm. Tried on invented markets; see `tests/price_worlds.py`."""

GROUP_COUNTS_AS = 12.0
"""As many sales as it counts for that the states stray alike [-]."""

LEARNED = 2
"""Of the figures learned, so many come out of the same residuals that the band is held to [-]."""

ROUNDS = 6
"""Weights and sizes settle within so many rounds."""

SCALES_FROM = 150
"""The sizes are learned from no more sales than this, spread evenly over all [-]."""


class Straight(DotProduct):
    """A straight line through nothing, on some of the columns."""

    def __init__(self, start: int = 0, stop: int = 1) -> None:
        super().__init__(sigma_0=0.0, sigma_0_bounds="fixed")
        self.start = start
        self.stop = stop

    def __call__(self, X, Y=None, eval_gradient=False):  # noqa: N803
        """Return the covariance of rows."""
        mine = slice(self.start, self.stop)
        return super().__call__(X[:, mine], None if Y is None else Y[:, mine], eval_gradient)

    def diag(self, X):  # noqa: N803
        """Return the variance of rows."""
        return super().diag(X[:, self.start : self.stop])


class Near(RBF):
    """What near ones share, by some of the columns."""

    def __init__(self, start: int = 0, stop: int = 1) -> None:
        super().__init__(length_scale=1.0, length_scale_bounds="fixed")
        self.start = start
        self.stop = stop

    def __call__(self, X, Y=None, eval_gradient=False):  # noqa: N803
        """Return the covariance of rows."""
        mine = slice(self.start, self.stop)
        return super().__call__(X[:, mine], None if Y is None else Y[:, mine], eval_gradient)


@dataclass(frozen=True, eq=False, kw_only=True)
class PriceFit:
    """What n sales say beyond the table. g states.

    Attributes
    ----------
    process : GaussianProcessRegressor
        Fitted to the sales, each divided by how far it may stray.
    spread : float
        Scale of a single sale's Student distribution, as the logarithm of the price.
    spread_by_group : ndarray, shape (g,)
        That of each state over it.
    scales : dict of str to float
        What was learned of the size of each part, as in `SCALES_BEFORE`.
    left_out : ndarray, shape (n,)
        How far each sale lies above what the others tell of it, as the logarithm of the price.
    spread_left_out : ndarray, shape (n,)
        How far it may be expected to lie off, standard deviation.
    leverage : ndarray, shape (n,)
        Share of each fitted price that hangs on its own sale [-].
    counts_as : float
        As many sales as it counts for that sales stray as a normal distribution does [-].
    """

    process: GaussianProcessRegressor
    spread: float
    spread_by_group: np.ndarray
    scales: dict[str, float]
    left_out: np.ndarray
    spread_left_out: np.ndarray
    leverage: np.ndarray
    counts_as: float

    def above(self, seen: Seen) -> np.ndarray:
        """Return how far prices lie above the table's own, as logarithms, shape (m,)."""
        return self.process.predict(seen.rows())

    def reach(self, seen: Seen, level: str = "0.8") -> np.ndarray:
        """Return how far the band of a level reaches above and below, as logarithms, shape (m,)."""
        _, whole = self.process.predict(seen.rows(), return_std=True)
        unsure = np.maximum(whole**2 - self.spread**2, 0.0)
        own = T_OVER_NORMAL * self.spread * seen.strays * self.spread_by_group[seen.groups]
        return held_to_sales(self.left_out / self.spread_left_out, level, self.counts_as) * np.sqrt(unsure + own**2)

    def mean_above(self, seen: Seen) -> tuple[float, float]:
        """Return how far the mean of m places lies above the table's own, and its standard deviation, as logarithms."""
        above, covariance = self.process.predict(seen.rows(), return_cov=True)
        of_one_sale = self.spread**2 / len(above)
        return float(above.mean()), math.sqrt(max(float(covariance.mean()) - of_one_sale, 0.0))

    def steps(self, count: int) -> np.ndarray:
        """Return what one unit of each of the first columns, known ones and shape, does to the log price."""
        columns = np.zeros((count, self.process.n_features_in_))
        np.fill_diagonal(columns, 1.0)
        return self.process.predict(columns)


def fit_prices(
    seen: Seen, above: np.ndarray, *, groups: int, spread: float, spread_counts_as: float = 5.0, counts_as: float = 20.0
) -> PriceFit:
    """Fit the model.

    Parameters
    ----------
    seen : Seen
        Of n sales, at least one.
    above : ndarray, shape (n,)
        How far each lies above the table's own price, as the logarithm.
    groups : int
        Number of states.
    spread : float
        Spread of a single sale by the table, standard deviation of the logarithm.
    spread_counts_as : float
        As many sales as that counts for [-].
    counts_as : float
        As many sales as it counts for that sales stray as a normal distribution does [-].
    """
    n = len(above)
    kernel, before, firm = _kernel(seen, spread, spread_counts_as)
    some = np.unique(np.linspace(0, n - 1, min(n, SCALES_FROM)).astype(int))
    in_group = np.bincount(seen.groups, minlength=groups)
    weights, following = np.ones(n), np.ones(groups)
    for turn in range(ROUNDS):
        by_group = following
        strays = seen.strays * by_group[seen.groups]
        scale = strays / np.sqrt(weights)
        rows, target = seen.rows(scale), above / scale
        if turn % 2 == 0:
            likeliest = GaussianProcessRegressor(kernel, optimizer=_likeliest(before, firm))
            kernel = likeliest.fit(rows[some], target[some]).kernel_
        process = GaussianProcessRegressor(kernel, optimizer=None).fit(rows, target)
        noise = math.exp(kernel.theta[-1])
        own = np.diag(cho_solve((process.L_, True), np.eye(n)))
        # the square to be expected of each residual, over that of a single sale there
        ratio = (noise * process.alpha_**2 + 1 - noise * own) / weights
        counts = (FREEDOM + 1) / (FREEDOM + ratio)
        told = np.bincount(seen.groups, counts * ratio * by_group[seen.groups] ** 2, minlength=groups)
        following = np.sqrt((told + GROUP_COUNTS_AS) / (in_group + GROUP_COUNTS_AS))
        weights = counts
    unsure = np.maximum(1 / own - noise, 0.0) * scale**2
    return PriceFit(
        process=process,
        spread=math.sqrt(noise),
        spread_by_group=by_group,
        scales=dict(zip(SCALES_BEFORE, np.exp(kernel.theta[:-1] / 2).tolist(), strict=True)),
        left_out=process.alpha_ / own * scale,
        spread_left_out=np.sqrt(unsure + T_OVER_NORMAL**2 * noise * strays**2),
        leverage=1 - noise * own,
        counts_as=counts_as,
    )


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

    Examples
    --------
    >>> conformal_rank(19, "0.9"), conformal_rank(8, "0.9")
    (18, 9)
    """
    return math.ceil(Fraction(level) * (n + 1))


def held_to_sales(scaled: np.ndarray, level: str, counts_as: float) -> float:
    """Return how many standard deviations the band reaches: the sales' own, drawn to the normal while they are few.

    Parameters
    ----------
    scaled : ndarray, shape (n,)
        Residual of each sale left out, over its standard deviation [-].
    level : str
        Chance to be kept, such as ``0.8``.
    counts_as : float
        As many sales as the normal counts for [-].

    Examples
    --------
    >>> round(held_to_sales(np.array([3.0]), "0.8", 20.0), 3)  # one sale tells nothing of the band
    1.282
    """
    n, rank = len(scaled), conformal_rank(len(scaled), level)
    normal = NormalDist().inv_cdf((1 + float(level)) / 2)
    if rank > n:
        return normal
    own = float(np.sort(np.abs(scaled))[rank - 1]) * math.sqrt(1 + LEARNED / n)
    share = n / (n + counts_as)
    return normal ** (1 - share) * max(own, 1e-3) ** share


def _kernel(seen: Seen, spread: float, spread_counts_as: float) -> tuple[Kernel, np.ndarray, np.ndarray]:
    """Return the covariance of sales, and the logarithms of its sizes before any sale with their standard deviations.

    The sizes are those of `SCALES_BEFORE`, in that order, then that of a single sale; all are squares.
    """
    known = seen.known.shape[1]
    ones = known + seen.shape.shape[1]
    last = ones + 1 + seen.places.shape[1]
    sizes = [*SCALES_BEFORE.values(), (T_OF_NORMAL * spread, 1 / math.sqrt(2 * spread_counts_as))]
    before = np.array([2 * math.log(size) for size, _ in sizes])
    firm = np.array([2 * unsure for _, unsure in sizes])

    def sized(index: int) -> ConstantKernel:
        return ConstantKernel(math.exp(before[index]), (1e-8, 1e3))

    kernel = (
        Straight(2, known)
        + sized(0) * Straight(0, 1)
        + sized(1) * Straight(1, 2)
        + sized(2) * Straight(known, ones)
        + sized(3) * (Straight(ones, ones + 1) * Near(ones + 1, last))
        + WhiteKernel(math.exp(before[4]), (1e-8, 1e3))
    )
    return kernel, before, firm


def _likeliest(before: np.ndarray, firm: np.ndarray) -> Callable:
    """Return what finds the likeliest sizes, by the sales and by the prior."""

    def search(unlikely: Callable, start: np.ndarray, bounds: np.ndarray) -> tuple[np.ndarray, float]:
        def loss(theta: np.ndarray) -> tuple[float, np.ndarray]:
            value, slope = unlikely(theta)
            away = (theta - before) / firm
            return value + away @ away / 2, slope + away / firm

        options = {"maxiter": 15, "ftol": 1e-5}
        found = minimize(loss, start, jac=True, bounds=bounds, method="L-BFGS-B", options=options)
        return found.x, found.fun

    return search
