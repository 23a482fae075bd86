"""Fit the price model: choose the sales, let the table speak first, then the sales."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from valuation.engine.rows import Tables
from valuation.sales.before_sales import think_before
from valuation.sales.curve import fit_curve, pinball_left_out
from valuation.sales.model import DAYS_OF_A_YEAR, SalesModel
from valuation.sales.price_index import PriceIndex
from valuation.sales.ridge import fit_ridge
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings, load_sales_settings


def fit_sales(
    sales: Sequence[Sale],
    tables: Tables,
    *,
    kind: str,
    on: date,
    settings: SalesSettings | None = None,
    index: PriceIndex | None = None,
) -> SalesModel:
    """Fit the price model of one kind of piano.

    Parameters
    ----------
    sales : sequence of Sale
        Of any kind; only those of `kind`, sold by the day and not too long before, are used.
    tables : Tables
        The shop's tables, whose bands count as imaginary sales.
    kind : str
        ``upright`` or ``grand``.
    on : date
        Day to which prices are brought.
    settings : SalesSettings, optional
        The packaged ones if left out.
    index : PriceIndex, optional
        How prices moved; not at all if left out.

    Returns
    -------
    SalesModel
        With a fit from the least number of sales on; below it the table speaks.

    Raises
    ------
    NotInForce
        If a band row is not in force on that day.

    References
    ----------
    .. [1] Rosen, "Hedonic Prices and Implicit Markets", Journal of Political Economy 82, 1974 (price as a function of
       attributes).
    .. [2] Theil and Goldberger, "On Pure and Mixed Statistical Estimation in Economics", International Economic
       Review 2, 1961 (what is thought before as further observations).
    .. [3] Lei, G'Sell, Rinaldo, Tibshirani and Wasserman, "Distribution-Free Predictive Inference for Regression",
       Journal of the American Statistical Association 113, 2018 (the band).
    """
    settings = load_sales_settings() if settings is None else settings
    used, not_used = _choose(sales, kind, on, settings)
    model = SalesModel(
        kind=kind,
        on=on,
        tables=tables,
        settings=settings,
        index=index or PriceIndex(),
        sales=used,
        not_used=not_used,
        before=think_before(tables, kind, on, settings),
        ridge=None,
        curve=None,
    )
    if len(used) < settings.least_sales:
        return model
    before = model.before
    columns, prices = _seen(model)
    ridge = fit_ridge(columns, prices, start=before.start, held=before.held, pulled=before.pulled, least=before.least)
    return replace(model, ridge=ridge)


@dataclass(frozen=True, eq=False)
class CurveOffer:
    """The curved model of the same sales, and how much better it is.

    Attributes
    ----------
    gain : float
        By which share it loses less than the straight one, each sale left out in turn [-].
    model : SalesModel or None
        To be used in place of the straight one if a person wishes; None where it doesn't gain enough.
    """

    gain: float
    model: SalesModel | None


def offer_curve(model: SalesModel) -> CurveOffer | None:
    """Let the curved model challenge the straight one.

    Parameters
    ----------
    model : SalesModel
        As `fit_sales` gives it.

    Returns
    -------
    CurveOffer or None
        None where there are too few sales to ask.
    """
    if len(model.sales) < model.settings.curve_from:
        return None
    columns, prices = _seen(model)
    curve = fit_curve(
        columns,
        model.before.layout.places([model.traits_of_sale(sale) for sale in model.sales]),
        prices - columns @ model.before.start,
        firmness=model.before.held + np.diag(model.ridge.penalty * model.before.pulled),
    )
    losses = [pinball_left_out(fit.left_out, fit.stretch_left_out) for fit in (curve, model.ridge)]
    gain = 1 - losses[0] / losses[1]
    return CurveOffer(gain=gain, model=replace(model, curve=curve) if gain >= model.settings.curve_gain else None)


def _seen(model: SalesModel) -> tuple[np.ndarray, np.ndarray]:
    """Return the columns of the sales and the logarithms of their prices, brought to the day."""
    columns = model.before.layout.columns([model.traits_of_sale(sale) for sale in model.sales])
    rose = [model.index.factor(model.kind, sale.sold_on, model.on) for sale in model.sales]
    return columns, np.log([sale.price * factor for sale, factor in zip(model.sales, rose, strict=True)])


def _choose(
    sales: Sequence[Sale], kind: str, on: date, settings: SalesSettings
) -> tuple[tuple[Sale, ...], tuple[tuple[str, str], ...]]:
    used, not_used = [], []
    for sale in sales:
        if sale.kind != kind:
            continue
        if sale.sold_on > on:
            not_used.append((sale.id, "sold after the day of the value"))
        elif (on - sale.sold_on).days > settings.oldest_years * DAYS_OF_A_YEAR:
            not_used.append((sale.id, f"sold more than {settings.oldest_years:g} years before"))
        else:
            used.append(sale)
    return tuple(used), tuple(not_used)
