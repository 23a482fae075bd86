"""What is thought of the coefficients before any sale: from the band table as imaginary sales, and from the settings.

Each band row stands for one typical instrument in each of the four states, at the row's likely prices; all of them
together weigh as much as a few sales. What the table doesn't tell (restored, kind of sale, a price asked, time beside
the index) starts from the settings, each figure as firm as its stated spread.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from itertools import product
from statistics import median

import numpy as np
from scipy.optimize import lsq_linear

from valuation.engine.money import Z90, in_force
from valuation.engine.rows import STATES, Tables
from valuation.sales.settings import SalesSettings
from valuation.sales.traits import FROM_THE_TABLE, NEVER_NEGATIVE, Layout, Traits, lay_out

_ALMOST_NOTHING = 1e-6
"""Penalty that picks one of several ways of writing the same table."""

_SETTING_OF = {
    "restored, no to part": "restored_part",
    "restored, part to full": "restored_full",
    "sold by a dealer": "dealer",
    "sold at auction": "auction",
    "a price asked": "asked",
    "sold ten years before": "ten_years",
}


@dataclass(frozen=True, eq=False)
class Before:
    """What is thought of p coefficients before any sale.

    Attributes
    ----------
    layout : Layout
    start : ndarray, shape (p,)
        The coefficients.
    held : ndarray, shape (p, p)
        How firmly they are held: inverse covariance over the variance of one sale.
    pulled : ndarray, shape (p,)
        1 for the coefficients that the table tells.
    least : ndarray, shape (p,)
        Least values.
    origins : tuple of str, length p
        Where each comes from.
    """

    layout: Layout
    start: np.ndarray
    held: np.ndarray
    pulled: np.ndarray
    least: np.ndarray
    origins: tuple[str, ...]


def think_before(tables: Tables, kind: str, on: date, settings: SalesSettings) -> Before:
    """Return what is thought of one kind of piano on a day before any sale.

    Raises
    ------
    NotInForce
        If a band row is not in force on that day.
    """
    sizes = [row for row in tables.sizes if row.kind == kind]
    layout = lay_out(sizes, tables.eras, tables.tiers)
    bands = defaultdict(list)
    for row in tables.bands:
        bands[row.kind, row.size, row.tier, row.era].append(row)
    rows, traits = [], []
    places = product(zip(sizes, layout.sizes, strict=True), zip(tables.eras, layout.years, strict=True), layout.tiers)
    for (size, size_mm), (era, year), tier in places:
        key = (kind, size.id, tier, era.id)
        row = in_force(bands[key], on, f"price band for {', '.join(key)}")
        rows.append(row)
        traits += (Traits(size_mm=size_mm, year=year, tier=tier, state=state) for state in STATES)
    columns = layout.columns(traits)
    prices = np.log([getattr(row, state) for row in rows for state in STATES])

    attributes = [attribute for attribute, _ in layout.names]
    least = np.where(np.isin(attributes, NEVER_NEGATIVE), 0.0, -np.inf)
    start = _fit_table(columns, prices, least)
    held = columns.T @ columns * (settings.table_counts_as / len(columns))
    variance = (math.log(median(row.spread for row in rows)) / Z90) ** 2
    origins = []
    for index, (_, name) in enumerate(layout.names):
        if name in _SETTING_OF:
            start[index], doubt = settings.thought(_SETTING_OF[name])
            held[index, index] += variance / doubt**2
            origins.append(f"sales settings: {_SETTING_OF[name]}")
        else:
            origins.append(f"bands.csv, all rows of {kind}s")
    return Before(
        layout=layout,
        start=start,
        held=held,
        pulled=np.isin(attributes, FROM_THE_TABLE).astype(float),
        least=least,
        origins=tuple(origins),
    )


def _fit_table(columns: np.ndarray, prices: np.ndarray, least: np.ndarray) -> np.ndarray:
    """Return the coefficients that come nearest to the table, with those that are bounded within their bounds."""
    free = columns.shape[1]
    augmented = np.vstack([columns, math.sqrt(_ALMOST_NOTHING * len(columns)) * np.eye(free)])
    solved = lsq_linear(augmented, np.append(prices, np.zeros(free)), bounds=(least, np.inf), method="bvls")
    return np.maximum(solved.x, least)
