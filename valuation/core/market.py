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

import numpy as np

from valuation.core.cost import Z90, in_force, log_spread
from valuation.core.rows import STATES, BandRow, PartRow, ReplacementRow, Tables
from valuation.core.visit import Piano, Range


@dataclass(frozen=True, eq=False)
class Market:
    """What the market says of one piano. P parts. Money in the shop's currency.

    Attributes
    ----------
    band : BandRow
        The row the prices come from.
    sound : float
        Likely (median) price with every part sound.
    factor : ndarray, shape (P, 4)
        What a part in each state multiplies the price by.
    own_spread, market_spread : float
        Spread of this instrument, and of the whole market, standard deviation of the logarithm.
    replacement : ReplacementRow
    replacement_spread : float
    assumed : tuple of str
        What had to be assumed because it isn't known: 'size', 'tier', 'year'.
    """

    band: BandRow
    sound: float
    factor: np.ndarray
    own_spread: float
    market_spread: float
    replacement: ReplacementRow
    replacement_spread: float
    assumed: tuple[str, ...]

    @property
    def mean_over_median(self) -> float:
        """Expected price over likely price."""
        return math.exp((self.own_spread**2 + self.market_spread**2) / 2)

    @property
    def replacement_price(self) -> float:
        """Expected price of the replacement."""
        return self.replacement.price_likely * math.exp(self.replacement_spread**2 / 2)


def look_up(tables: Tables, piano: Piano, parts: tuple[PartRow, ...], on: date, finished: Range | None) -> Market:
    """Return what the tables say of a piano on a day.

    Parameters
    ----------
    tables : Tables
    piano : Piano
    parts : tuple of PartRow, length P
        The parts this piano has.
    on : date
        Day of the value.
    finished : Range or None
        Price with every part sound, where it is known better than by the band table.

    Raises
    ------
    NotInForce
        If no row is in force on that day.
    """
    assumed = []
    sizes = [row for row in tables.sizes if row.kind == piano.kind]
    if piano.size_mm is None:
        size = next(row for row in sizes if row.usual)
        assumed.append("size")
    else:
        size = next((row for row in sizes if row.from_mm <= piano.size_mm < row.to_mm), None)
        size = size or (sizes[0] if piano.size_mm < sizes[0].from_mm else sizes[-1])
    tier = piano.tier or next(row.id for row in tables.tiers if row.usual)
    if not piano.tier:
        assumed.append("tier")
    year = piano.year if piano.year is not None else tables.settings.usual_year
    if piano.year is None:
        assumed.append("year")
    era = next((row for row in tables.eras if row.from_year <= year <= row.to_year), tables.eras[0])
    band = in_force(
        [r for r in tables.bands if (r.kind, r.size, r.tier, r.era) == (piano.kind, size.id, tier, era.id)],
        on,
        f"price band for {piano.kind}, {size.id}, {tier}, {era.id}",
    )
    replacement = in_force(
        [r for r in tables.replacements if (r.kind, r.tier) == (piano.kind, tier)],
        on,
        f"replacement for {piano.kind}, {tier}",
    )
    features = {row.id: row for row in tables.features}
    scale = math.prod(features[f].value_factor for f in piano.features)
    prices = scale * np.array([getattr(band, state) for state in STATES])
    own_spread = math.log(band.spread) / Z90
    if finished is not None:
        prices = np.append(finished.likely, np.minimum(prices[1:], finished.likely))
        own_spread = log_spread(finished.low, finished.likely, finished.high)
    share = np.array([row.value_weight for row in parts])
    pull = np.array([[0.0, row.value_weight, row.value_weight, row.value_failed] for row in parts]) / share.sum()
    return Market(
        band=band,
        sound=float(prices[0]),
        factor=(prices / prices[0]) ** pull,
        own_spread=own_spread,
        market_spread=tables.settings.market_spread,
        replacement=replacement,
        replacement_spread=log_spread(replacement.price_low, replacement.price_likely, replacement.price_high),
        assumed=tuple(assumed),
    )
