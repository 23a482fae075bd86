"""Fit the price model: choose the sales, let the table speak first, then the sales."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

import numpy as np

from valuation.core.rows import Tables
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
    curved: bool = False,
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
    curved : bool
        Take the curved model where it is offered.

    Returns
    -------
    SalesModel

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
        curve_gain=None,
    )
    if len(used) < settings.least_sales:
        return model
    before = model.before
    columns = before.layout.columns([model.traits_of_sale(sale) for sale in used])
    prices = np.log([sale.price * model.index.factor(kind, sale.sold_on, on) for sale in used])
    ridge = fit_ridge(columns, prices, start=before.start, held=before.held, pulled=before.pulled, least=before.least)
    if len(used) < settings.curve_from:
        return replace(model, ridge=ridge)
    firmness = before.held + np.diag(ridge.penalty * before.pulled)
    curve = fit_curve(columns, prices - columns @ before.start, firmness=firmness)
    losses = [pinball_left_out(fit.left_out, fit.stretch_left_out) for fit in (curve, ridge)]
    model = replace(model, ridge=ridge, curve_gain=1 - losses[0] / losses[1])
    return replace(model, curve=curve) if curved and model.curve_offered else model


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
