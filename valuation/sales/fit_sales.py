"""Choose the sales, and fit the price model to them."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from valuation.engine.rows import Tables
from valuation.sales.model import DAYS_OF_A_YEAR, SalesModel
from valuation.sales.price_index import PriceIndex
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings, load_sales_settings
from valuation.sales.traits import lay_out


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
        The shop's tables, whose bands are where prices start.
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
        Without a sale the table speaks alone.

    Raises
    ------
    NotInForce
        If the band row of a sale is not in force on that day.

    References
    ----------
    .. [1] Rosen, "Hedonic Prices and Implicit Markets", Journal of Political Economy 82, 1974 (price as a function of
       attributes).
    """
    settings = load_sales_settings() if settings is None else settings
    used, not_used = _choose(sales, kind, on, settings)
    sizes = [row for row in tables.sizes if row.kind == kind]
    return SalesModel(
        kind=kind,
        on=on,
        tables=tables,
        settings=settings,
        index=index or PriceIndex(),
        sales=used,
        not_used=not_used,
        layout=lay_out(sizes, tables.eras, tables.tiers, settings),
        fit=None,
    ).fitted()


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
