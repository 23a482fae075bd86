"""The sales comparison approach: the shop's own sales into prices, with bands that keep what they promise.

May import `valuation.engine`, `valuation.files` (how a table is read), `valuation.report` (figures and words) and
`valuation.errors`. An appraisal from the band table alone works without it and doesn't import it. Must never drop a
faulty row, a duplicate or an outlier by itself: it tells, and the person decides.
"""

from __future__ import annotations

from valuation.sales.fit_sales import fit_sales
from valuation.sales.grid import Adjustment, Comparable, Grid, compare
from valuation.sales.level import Level
from valuation.sales.model import Coefficient, SalesModel
from valuation.sales.odd_sales import SaleCheck, check_fit
from valuation.sales.one_piano import Market, look_at_market
from valuation.sales.price_index import PriceIndex, parse_price_index, read_price_index
from valuation.sales.read_sales import Duplicate, SalesRead, parse_sales, read_sales
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings, load_sales_settings
from valuation.sales.values import ValueStatement, state_values
from valuation.sales.write_sales import cells_of, to_bytes, write_sales

__all__ = [
    "Adjustment",
    "Coefficient",
    "Comparable",
    "Duplicate",
    "Grid",
    "Level",
    "Market",
    "PriceIndex",
    "Sale",
    "SaleCheck",
    "SalesModel",
    "SalesRead",
    "SalesSettings",
    "ValueStatement",
    "cells_of",
    "check_fit",
    "compare",
    "fit_sales",
    "load_sales_settings",
    "look_at_market",
    "parse_price_index",
    "parse_sales",
    "read_price_index",
    "read_sales",
    "state_values",
    "to_bytes",
    "write_sales",
]
