"""Value: what the piano fetches as it stands and after the work, and what the honest alternative costs.

The band table gives four likely prices for pianos of one sort: with every part failed, worn, serviceable and
sound. Between them each part pulls by its share of the worth: the value of a piano is the geometric mean of the
prices, each weighed by the shares of the parts in that state. With all parts worn, or all serviceable, it is the
table's own price. A failed part may pull harder than its share: one cracked plate sells a piano as failed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Floats
from valuation.engine.money import Z90, in_force, log_spread
from valuation.engine.rows.condition import PartRow
from valuation.engine.rows.market import BandRow, ReplacementRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import STATES
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano, Range


@dataclass(frozen=True, eq=False)
class Market:
    """What the market says of one piano. P parts. Money in the shop's currency.

    Attributes
    ----------
    band : BandRow
        The row of the band table for this piano.
    rows : tuple of str
        Where the prices come from: that row, or the shop's own sales.
    by_state : tuple of float, length 4
        Likely (median) price with every part sound, serviceable, worn, failed.
    basis : str
        What they rest on: 'band table', 'blend' or 'sales'.
    sales_used : int
        Sales behind them.
    factor : ndarray, shape (P, 4)
        What a part in each state multiplies the price by.
    own_spread, market_spread : float
        Spread of this instrument, and of the whole market, standard deviation of the logarithm.
    size_factor : float
        What a like piano of this size fetches over one of the usual size: the replacement is of the same size.
    assumed : tuple of str
        What had to be assumed because it isn't known: 'size', 'tier', 'year'.
    """

    band: BandRow
    rows: tuple[str, ...]
    by_state: tuple[float, ...]
    basis: str
    sales_used: int
    factor: Floats
    own_spread: float
    market_spread: float
    replacement: ReplacementRow
    replacement_spread: float
    size_factor: float
    assumed: tuple[str, ...]

    @property
    def sound(self) -> float:
        """Likely price with every part sound."""
        return self.by_state[0]

    @property
    def mean_over_median(self) -> float:
        """Expected price over likely price."""
        return math.exp((self.own_spread**2 + self.market_spread**2) / 2)

    @property
    def replacement_price(self) -> float:
        """Expected price of the replacement."""
        return self.size_factor * self.replacement.price_likely * math.exp(self.replacement_spread**2 / 2)

    @property
    def replacement_range(self) -> Range:
        """Price of the replacement; 8 in 10 lie between low and high."""
        likely, spread = self.size_factor * self.replacement.price_likely, math.exp(Z90 * self.replacement_spread)
        return Range(low=likely / spread, likely=likely, high=likely * spread)


def look_up(
    tables: Tables,
    piano: Piano,
    parts: tuple[PartRow, ...],
    on: date,
    finished: Range | None = None,
    sold: PricesByState | None = None,
) -> Market:
    """Return what the market says of a piano on a day.

    Parameters
    ----------
    parts : tuple of PartRow, length P
        The parts this piano has.
    on : date
        Day of the value.
    finished : Range or None
        Price with every part sound, where it is known better than by table and sales.
    sold : PricesByState or None
        Prices from the shop's own sales, instead of those of the band table.

    Raises
    ------
    NotInForce
        If no row is in force on that day.
    """
    band, assumed = band_for(tables, piano, on)
    replacement = in_force(
        [row for row in tables.replacements if (row.kind, row.tier) == (piano.kind, band.tier)],
        on,
        f"replacement for {piano.kind}, {band.tier}",
    )
    features = {row.id: row for row in tables.features}
    scale = math.prod(features[name].value_factor for name in sorted(piano.features))
    by_state = sold.prices if sold else [getattr(band, state) for state in STATES]
    prices = scale * np.array(by_state)
    own_spread = math.log(sold.spread if sold else band.spread) / Z90
    if finished is not None:
        prices = np.append(finished.likely, np.minimum(prices[1:], finished.likely))
        own_spread = log_spread(finished.low, finished.likely, finished.high)
    share = np.array([row.value_weight for row in parts])
    pull = np.array([[0.0, row.value_weight, row.value_weight, row.value_failed] for row in parts]) / share.sum()
    return Market(
        band=band,
        rows=sold.rows if sold else (f"bands:{band.kind}/{band.size}/{band.tier}/{band.era}",),
        by_state=tuple(prices.tolist()),
        basis=sold.basis if sold else "band table",
        sales_used=sold.sales_used if sold else 0,
        factor=(prices / prices[0]) ** pull,
        own_spread=own_spread,
        market_spread=tables.settings.market_spread,
        replacement=replacement,
        replacement_spread=log_spread(replacement.price_low, replacement.price_likely, replacement.price_high),
        size_factor=_size_factor(tables, band, on),
        assumed=assumed,
    )


def _size_factor(tables: Tables, band: BandRow, on: date) -> float:
    """Return what a serviceable piano of this size fetches over one of the usual size, all else the same."""
    usual = next(row.id for row in tables.sizes if row.kind == band.kind and row.usual)
    rows = _bands(tables).get((band.kind, usual, band.tier, band.era), [])
    return band.serviceable / in_force(rows, on, f"price band for {band.kind}, {usual}, {band.tier}").serviceable


def band_for(tables: Tables, piano: Piano, on: date) -> tuple[BandRow, tuple[str, ...]]:
    """Return the band row for a piano on a day, and what had to be assumed: 'size', 'tier', 'year'.

    Raises
    ------
    NotInForce
        If no row is in force on that day.
    """
    sizes = [row for row in tables.sizes if row.kind == piano.kind]
    if piano.size_mm is None:
        size = next(row for row in sizes if row.usual)
    else:
        # The classes follow one another without gap; what is beyond them belongs to the first or the last.
        size = next((row for row in sizes if piano.size_mm < row.to_mm), sizes[-1])
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    year = piano.year if piano.year is not None else tables.settings.usual_year
    era = next(row for row in tables.eras if row.from_year <= year <= row.to_year)
    band = in_force(
        _bands(tables).get((piano.kind, size.id, tier, era.id), []),
        on,
        f"price band for {piano.kind}, {size.id}, {tier}, {era.id}",
    )
    unknown = {"size": piano.size_mm is None, "tier": not piano.tier, "year": piano.year is None}
    return band, tuple(name for name, is_unknown in unknown.items() if is_unknown)


@lru_cache(maxsize=8)
def _bands(tables: Tables) -> dict[tuple[str, str, str, str], list[BandRow]]:
    """Return the band rows by kind, size, tier and era: there are hundreds, and a batch asks for thousands."""
    found: dict[tuple[str, str, str, str], list[BandRow]] = {}
    for row in tables.bands:
        found.setdefault((row.kind, row.size, row.tier, row.era), []).append(row)
    return found
