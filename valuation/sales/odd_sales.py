"""How each sale sits among the others: which are unlike the rest, and which decide their own fit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from valuation.sales.model import SalesModel


@dataclass(frozen=True, slots=True, kw_only=True)
class SaleCheck:
    """How one sale sits among the others.

    Attributes
    ----------
    expected : float
        Likely price by the model fitted without this sale [money].
    spreads_off : float
        How far the price lies above that, in standard deviations of the middle of all sales [-].
    leverage : float
        Share of its fitted price that hangs on itself [-].
    unlike, heavy : bool
        Whether it is unlike the others, and whether it decides its own fit.
    assumed : tuple of str
        What isn't known of it and was taken as usual: 'size', 'year'.
    """

    sale: str
    expected: float
    spreads_off: float
    leverage: float
    unlike: bool
    heavy: bool
    assumed: tuple[str, ...]


def check_fit(model: SalesModel) -> tuple[SaleCheck, ...]:
    """Return how each sale sits among the others; nothing where there is none.

    Parameters
    ----------
    model : SalesModel
        As `fit_sales` gives it.

    Returns
    -------
    tuple of SaleCheck
        In the order of `model.sales`.

    Notes
    -----
    The spread is taken from the middle of the residuals, so that an odd sale can't hide itself by widening it; where
    there are too few for that, it is the one that the model expects.

    References
    ----------
    .. [1] Huber, "Robust Statistics", Wiley, 1981, section 7.2 (leverage).
    .. [2] Hampel, "The Influence Curve and Its Role in Robust Estimation", Journal of the American Statistical
       Association 69, 1974 (median absolute deviation).
    """
    fit = model.fit
    if fit is None:
        return ()
    scaled = fit.left_out / fit.spread_left_out
    usual = max(float(np.median(np.abs(scaled))) / NormalDist().inv_cdf(0.75), 1e-12) if model.held else 1.0
    return tuple(
        SaleCheck(
            sale=sale.id,
            expected=sale.price / math.exp(float(left_out)),
            spreads_off=float(off),
            leverage=float(share),
            unlike=bool(abs(off) > model.settings.unlike_spreads),
            heavy=bool(model.held and share > model.settings.heavy_leverage),
            assumed=model.assumed_of(sale),
        )
        for sale, left_out, off, share in zip(model.sales, fit.left_out, scaled / usual, fit.leverage, strict=True)
    )
