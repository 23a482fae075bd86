"""A curved model to challenge the straight one: what the ridge misses, carried from each sale to those like it.

The ridge with its penalties is a Gaussian process whose covariance comes from the doubts about its coefficients. The
challenger adds one more covariance that fades with the distance between two sales, so that far from any sale it is
the ridge. Two figures are chosen by the likelihood, how far a sale reaches and how much it tells; leaving each sale
out in turn is exact and free, as with the ridge.

References
----------
.. [1] Rasmussen and Williams, "Gaussian Processes for Machine Learning", MIT Press, 2006, equations 2.30 (likelihood)
   and 5.12 (leave-one-out).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.sales.ridge import half_width

REACHES = (0.5, 1.0, 2.0)
"""How far a sale reaches, over the middle distance between two sales."""

STRENGTHS = (0.3, 1.0, 3.0, 10.0)
"""How much like sales agree beyond the straight model, over the variance of one sale."""


@dataclass(frozen=True, eq=False)
class Curve:
    """A curved model of n sales, chosen among a few.

    Attributes
    ----------
    columns : ndarray, shape (n, p)
        What the straight part sees of the sales.
    places : ndarray, shape (n, q)
        Where the sales are, for the distance between them.
    scale : ndarray, shape (q,)
        What distances are measured in, one for each direction.
    reach, strength : float
        The two figures chosen.
    covariance : ndarray, shape (p, p)
        Of the ridge's coefficients before the sales, over the variance of one.
    inverse : ndarray, shape (n, n)
        Of the covariance of the sales.
    pull : ndarray, shape (n,)
        What each sale adds, times its covariance with the place asked.
    left_out : ndarray, shape (n,)
        Residual of each sale from the fit without it.
    stretch_left_out : ndarray, shape (n,)
        Stretch of each sale's place in the fit without it.
    """

    columns: np.ndarray
    places: np.ndarray
    scale: np.ndarray
    reach: float
    strength: float
    covariance: np.ndarray
    inverse: np.ndarray
    pull: np.ndarray
    left_out: np.ndarray
    stretch_left_out: np.ndarray

    def ahead(self, columns: np.ndarray, places: np.ndarray) -> np.ndarray:
        """Return how far the price lies above the start, for columns (m, p) and places (m, q), shape (m,)."""
        return self._with_sales(columns, places) @ self.pull

    def stretch(self, columns: np.ndarray, places: np.ndarray) -> np.ndarray:
        """Return how much wider the band is there than one sale's own spread, shape (m,)."""
        shared = self._with_sales(columns, places)
        known = np.einsum("ij,jk,ik->i", shared, self.inverse, shared)
        prior = np.einsum("ij,jk,ik->i", columns, self.covariance, columns) + self.strength
        return np.sqrt(1 + np.maximum(prior - known, 0.0))

    def _with_sales(self, columns: np.ndarray, places: np.ndarray) -> np.ndarray:
        straight = columns @ self.covariance @ self.columns.T
        far = _squared_distances(places / self.scale, self.places / self.scale)
        return straight + self.strength * np.exp(-far / (2 * self.reach**2))


def fit_curve(columns: np.ndarray, places: np.ndarray, ahead: np.ndarray, *, firmness: np.ndarray) -> Curve:
    """Fit the curved model.

    Parameters
    ----------
    columns : ndarray, shape (n, p)
        What the straight part sees of the sales.
    places : ndarray, shape (n, q)
        Where the sales are; each direction is measured in its standard deviation.
    ahead : ndarray, shape (n,)
        How far each sale lies above what was thought before any.
    firmness : ndarray, shape (p, p)
        Inverse covariance of the coefficients before the sales, over the variance of one sale.

    Returns
    -------
    Curve
        The likeliest of a few.
    """
    n = len(columns)
    covariance = np.linalg.inv(firmness)
    spread = places.std(axis=0)
    scale = np.where(spread > 0, spread, 1.0)
    far = _squared_distances(places / scale, places / scale)
    middle = float(np.median(far[np.triu_indices(n, 1)]))
    straight = columns @ covariance @ columns.T + np.eye(n)
    best, chosen = np.inf, None
    for share in REACHES:
        reach = share * max(middle, 1e-12) ** 0.5
        like = np.exp(-far / (2 * reach**2))
        for strength in STRENGTHS:
            root = np.linalg.cholesky(straight + strength * like)
            whitened = np.linalg.solve(root, ahead)
            unlikely = n * np.log(whitened @ whitened / n) + 2 * np.log(np.diag(root)).sum()
            if unlikely < best:
                best, chosen = unlikely, (reach, strength, root)
    reach, strength, root = chosen
    inverse_root = np.linalg.inv(root)
    inverse = inverse_root.T @ inverse_root
    own = np.diag(inverse)
    pull = inverse @ ahead
    return Curve(
        columns=columns,
        places=places,
        scale=scale,
        reach=reach,
        strength=strength,
        covariance=covariance,
        inverse=inverse,
        pull=pull,
        left_out=pull / own,
        stretch_left_out=1 / np.sqrt(own),
    )


def pinball_left_out(left_out: np.ndarray, stretch: np.ndarray) -> float:
    """Return the mean pinball loss of the 10, 50 and 90 % points, each sale left out in turn.

    Parameters
    ----------
    left_out : ndarray, shape (n,)
        Residual of each sale from the fit without it.
    stretch : ndarray, shape (n,)
        Stretch of its place without it.

    References
    ----------
    .. [1] Koenker and Bassett, "Regression Quantiles", Econometrica 46, 1978.
    """
    reach = half_width(left_out / stretch, "0.8") * stretch
    losses = []
    for share, side in ((0.1, -1), (0.5, 0), (0.9, 1)):
        beyond = left_out - side * reach
        losses.append(np.maximum(share * beyond, (share - 1) * beyond).mean())
    return float(np.mean(losses))


def _squared_distances(one: np.ndarray, other: np.ndarray) -> np.ndarray:
    squares = (one**2).sum(axis=1)[:, None] + (other**2).sum(axis=1) - 2 * one @ other.T
    return np.maximum(squares, 0.0)
