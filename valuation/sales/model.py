"""The price model: the shop's sales and its band table together, as prices by state with a band that keeps its word.

With few sales the band table speaks alone. From `least_sales` on the logarithm of the price is a ridge regression on
the sales beside the table's imaginary ones. The band's half width is (n x the sales' own + m x the table's) / (n + m).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import NormalDist

import numpy as np

from valuation.engine.market import look_up
from valuation.engine.rows import STATES, BandRow, Tables
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano
from valuation.sales.before_sales import Before
from valuation.sales.curve import Curve
from valuation.sales.price_index import PriceIndex
from valuation.sales.ridge import Ridge, half_width
from valuation.sales.sale import Sale
from valuation.sales.settings import SalesSettings
from valuation.sales.traits import Traits

DAYS_OF_A_YEAR = 365.25


@dataclass(frozen=True, slots=True, kw_only=True)
class Weight:
    """What speaks, and how loudly: 'your table counts as 6 sales, you have 23'.

    Attributes
    ----------
    table_counts_as : float
        Sales that the table counts for.
    sales : int
        Sales of this kind of piano that can be used.
    sales_wanted : int
        From so many on the sales speak too.
    table_share : float
        The table's share of the weight [-].
    basis : str
        ``band table``, ``blend`` or ``sales``.
    claims : tuple of str
        Levels that the band is held to, such as ``0.8``; none means that it is the shop's own estimate.
    """

    table_counts_as: float
    sales: int
    sales_wanted: int
    table_share: float
    basis: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Coefficient:
    """What the logarithm of the price gains by one step, and where the figure comes from."""

    name: str
    attribute: str
    log: float
    origin: str


@dataclass(frozen=True, eq=False, kw_only=True)
class SalesModel:
    """Prices of one kind of piano on one day, from sales and band table.

    Attributes
    ----------
    kind : str
    on : date
        Day to which prices are brought.
    tables : Tables
    settings : SalesSettings
    index : PriceIndex
    sales : tuple of Sale, length n
        The sales used.
    not_used : tuple of (id, reason)
        Sales that were left out, and why.
    before : Before
        What was thought of the coefficients.
    ridge : Ridge or None
        None where there are too few sales.
    curve : Curve or None
        The curved model, where a person took it; see `offer_curve`.
    """

    kind: str
    on: date
    tables: Tables
    settings: SalesSettings
    index: PriceIndex
    sales: tuple[Sale, ...]
    not_used: tuple[tuple[str, str], ...]
    before: Before
    ridge: Ridge | None
    curve: Curve | None

    @property
    def weight(self) -> Weight:
        """What speaks, and how loudly."""
        n, counts = len(self.sales), self.settings.table_counts_as
        share = counts / (counts + n) if self.ridge else 1.0
        least = {"0.8": self.settings.least_sales, "0.9": self.settings.least_sales_for_90}
        return Weight(
            table_counts_as=counts,
            sales=n,
            sales_wanted=self.settings.least_sales,
            table_share=share,
            basis="band table" if not self.ridge else "sales" if share < self.settings.silent_share else "blend",
            claims=tuple(level for level, wanted in least.items() if self.ridge and n >= wanted),
        )

    @property
    def coefficients(self) -> tuple[Coefficient, ...]:
        """The straight model's coefficients: fitted, or as thought before where there are too few sales."""
        fitted = f"fit of {len(self.sales)} sales, starting from "
        logs = self.ridge.coefficients if self.ridge else self.before.start
        return tuple(
            Coefficient(name=name, attribute=attribute, log=float(log), origin=(fitted if self.ridge else "") + origin)
            for (attribute, name), log, origin in zip(self.before.layout.names, logs, self.before.origins, strict=True)
        )

    @property
    def fit(self) -> Curve | Ridge | None:
        """The fit in use; None where there are too few sales."""
        return self.curve or self.ridge

    def prices_by_state(self, piano: Piano, *, restored: str = "no") -> PricesByState:
        """Return what a piano fetches in each state, before its features of build are counted.

        Parameters
        ----------
        piano : Piano
            Of this model's kind; what isn't known is taken as usual.
        restored : str
            What the word 'restored' would say at the sale; ``no`` leaves it to the state alone.

        Returns
        -------
        PricesByState
            With the band's mean reach over the four states as spread.

        Raises
        ------
        ValueError
            If the piano is of the other kind.
        NotInForce
            If the tables have no band for it on the day.
        """
        band = self._band(piano)
        row = f"bands.csv:{self.tables.lines['bands', self.tables.bands.index(band)]}"
        weight = self.weight
        if self.ridge is None:
            prices, spread = [getattr(band, state) for state in STATES], band.spread
        else:
            traits = [self.traits_of_piano(piano, state, restored) for state in STATES]
            prices = self._monotone(traits)
            spread = math.exp(self.reach(traits, "0.8", band.spread).mean())
        return PricesByState(
            prices=tuple(float(price) for price in prices),
            spread=float(spread),
            basis=weight.basis,
            sales_used=len(self.sales) if self.ridge else 0,
            table_weight=weight.table_share,
            rows=(row, *(f"sale {sale.id}" for sale in self.sales if self.ridge)),
        )

    def log_prices(self, traits: Sequence[Traits]) -> np.ndarray:
        """Return the logarithm of the likely price of m sales on the day.

        Parameters
        ----------
        traits : sequence of Traits, length m
            What is sold, and how.

        Returns
        -------
        ndarray, shape (m,)
            In the order of `traits`.
        """
        columns = self.before.layout.columns(traits)
        if self.curve is not None:
            return columns @ self.before.start + self.curve.ahead(columns, self.before.layout.places(traits))
        return columns @ (self.ridge.coefficients if self.ridge else self.before.start)

    def reach(self, traits: Sequence[Traits], level: str, table_spread: float) -> np.ndarray:
        """Return how far the band reaches above and below, in logarithms.

        Parameters
        ----------
        traits : sequence of Traits, length m
            What is sold, and how.
        level : str
            Chance to be kept, such as ``0.8``.
        table_spread : float
            Spread of the band row, as 8 in 10 [-].

        Returns
        -------
        ndarray, shape (m,)
            Half width of the band, in the order of `traits`.
        """
        normal = NormalDist()
        tables_own = math.log(table_spread) * normal.inv_cdf((1 + float(level)) / 2) / normal.inv_cdf(0.9)
        fit = self.fit
        if fit is None:
            return np.full(len(traits), tables_own)
        n, m = len(self.sales), self.settings.table_spread_counts_as
        sales_own = half_width(fit.left_out / fit.stretch_left_out, level)
        columns = self.before.layout.columns(traits)
        stretch = fit.stretch(columns, self.before.layout.places(traits)) if self.curve else fit.stretch(columns)
        return stretch * (n * sales_own + m * tables_own) / (n + m)

    def traits_of_piano(self, piano: Piano, state: str, restored: str = "no") -> Traits:
        """Return what the model sees of a piano in one state: achieved, in a private sale, on the day."""
        return Traits(
            size_mm=self._usual_size if piano.size_mm is None else piano.size_mm,
            year=self.tables.settings.usual_year if piano.year is None else piano.year,
            tier=piano.tier or next(row.id for row in self.tables.tiers if row.usual),
            state=state,
            restored=restored,
        )

    def traits_of_sale(self, sale: Sale) -> Traits:
        """Return what the model sees of a sale."""
        return Traits(
            size_mm=self._usual_size if sale.size_mm is None else sale.size_mm,
            year=self.tables.settings.usual_year if sale.year_built is None else sale.year_built,
            tier=sale.tier,
            state=sale.state,
            restored=sale.restored,
            sale_kind=sale.sale_kind,
            price_kind=sale.price_kind,
            years_before=(self.on - sale.sold_on).days / DAYS_OF_A_YEAR,
        )

    @staticmethod
    def assumed_of(sale: Sale) -> tuple[str, ...]:
        """Return what isn't known of a sale and is taken as usual: 'size', 'year'."""
        return tuple(name for name, known in (("size", sale.size_mm), ("year", sale.year_built)) if known is None)

    @property
    def _usual_size(self) -> float:
        sizes = [row for row in self.tables.sizes if row.kind == self.kind]
        return self.before.layout.sizes[next(index for index, row in enumerate(sizes) if row.usual)]

    def _band(self, piano: Piano) -> BandRow:
        if piano.kind != self.kind:
            raise ValueError(f"this model is of {self.kind}s, the piano is a {piano.kind}")
        return look_up(self.tables, replace(piano, features=()), self.tables.parts, self.on, None).band

    def _monotone(self, traits: list[Traits]) -> np.ndarray:
        """Return the prices of one piano by state, never lower for a better state or a higher tier.

        The straight model is so by itself. The curved one is asked for every tier and state and pulled to the mean of
        the least surface above it and the greatest below it that are.
        """
        if self.curve is None:
            return np.exp(self.log_prices(traits))
        tiers = self.before.layout.tiers
        every = [replace(one, tier=tier) for tier in tiers for one in traits]
        logs = self.log_prices(every).reshape(len(tiers), len(traits))[:, ::-1]
        above = np.maximum.accumulate(np.maximum.accumulate(logs, axis=0), axis=1)
        turned = logs[::-1, ::-1]
        below = np.minimum.accumulate(np.minimum.accumulate(turned, axis=0), axis=1)[::-1, ::-1]
        return np.exp((above + below)[tiers.index(traits[0].tier), ::-1] / 2)
