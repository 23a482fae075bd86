"""The price model: the band table's own prices, moved as far as the shop's sales say, with a band that keeps its word.

Without a sale the table speaks alone. From the first on, the logarithm of a price is the table's own, plus what the
settings tell of how it was sold, plus what the sales say beyond; see `valuation.sales.price_fit`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from itertools import product
from statistics import median
from typing import TYPE_CHECKING

import numpy as np

from valuation.engine.market import band_for
from valuation.engine.money import Z90
from valuation.engine.rows import STATES, BandRow, Tables
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano
from valuation.sales.level import Level
from valuation.sales.price_index import PriceIndex
from valuation.sales.sale import Sale
from valuation.sales.seen import Seen
from valuation.sales.settings import SalesSettings
from valuation.sales.traits import SETTING_OF, Layout, Traits

if TYPE_CHECKING:
    from valuation.sales.price_fit import PriceFit

DAYS_OF_A_YEAR = 365.25

LEAST_STRAY = 0.2
"""A band row that leaves hardly any room is taken to leave so much of the usual one: no sale is certain [-]."""


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
    on : date
        Day to which prices are brought.
    sales : tuple of Sale, length n
        The sales used.
    not_used : tuple of (id, reason)
        Sales that were left out, and why.
    fit : PriceFit or None
        None where there is no sale.
    """

    kind: str
    on: date
    tables: Tables
    settings: SalesSettings
    index: PriceIndex
    sales: tuple[Sale, ...]
    not_used: tuple[tuple[str, str], ...]
    layout: Layout
    fit: PriceFit | None

    @property
    def held(self) -> bool:
        """Whether there are enough sales to say that the band is held to them."""
        return len(self.sales) >= self.settings.held_from

    @property
    def table_weight(self) -> float:
        """Share of the level of prices that is the table's rather than the sales' [-]."""
        counts_as = (self.usual_spread / math.log(self.settings.level_within)) ** 2
        return counts_as / (counts_as + len(self.sales))

    @cached_property
    def usual_spread(self) -> float:
        """How far a single sale strays by the table, usually: standard deviation of the logarithm."""
        return math.log(median(row.spread for row in self.tables.bands if row.kind == self.kind)) / Z90

    @cached_property
    def level(self) -> Level | None:
        """How far the table as a whole looks off; None where there is no sale."""
        if self.fit is None:
            return None
        traits = [
            Traits(size_mm=size, year=year, tier=tier, state=state)
            for size, year, tier, state in product(self.layout.sizes, self.layout.years, self.layout.tiers, STATES)
        ]
        above, unsure = self.fit.mean_above(self.layout.see(traits, np.ones(len(traits))))
        return Level(log=above, unsure=unsure, said_from=self.settings.said_from)

    @cached_property
    def coefficients(self) -> tuple[Coefficient, ...]:
        """What settings and sales tell beside the table: fitted, or the prior where there is no sale."""
        columns = (*self.layout.known, *self.layout.shape)
        beyond = self.fit.steps(len(columns)) if self.fit else np.zeros(len(columns))
        fitted = f"fit of {len(self.sales)} sales, starting from " if self.fit else ""
        found = []
        for (attribute, name, spread), step in zip(columns, beyond, strict=True):
            setting = SETTING_OF.get(name)
            prior = self.settings.prior(setting)[0] if setting else 0.0
            start = f"sales settings: {setting}" if setting else f"bands.csv, all rows of {self.kind}s"
            found.append(
                Coefficient(name=name, attribute=attribute, log=prior + float(step) * spread, origin=fitted + start)
            )
        return tuple(found)

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
            With a spread for each state, and their geometric mean for all.

        Raises
        ------
        ValueError
            If the piano is of the other kind.
        NotInForce
            If the tables have no band for it on the day.
        """
        if piano.kind != self.kind:
            raise ValueError(f"this model is of {self.kind}s, the piano is a {piano.kind}")
        band, _ = band_for(self.tables, piano, self.on)
        if self.fit is None:
            prices = [getattr(band, state) for state in STATES]
            spreads = np.full(len(STATES), band.spread)
        else:
            traits = [self.traits_of_piano(piano, state, restored) for state in STATES]
            prices, spreads = list(self._monotone(traits)), np.exp(self.reach(traits))
        return PricesByState(
            prices=tuple(float(price) for price in prices),
            spread=math.exp(np.mean(np.log(spreads))),
            spreads=tuple(float(spread) for spread in spreads),
            basis="blend" if self.fit else "band table",
            sales_used=len(self.sales),
            table_weight=self.table_weight,
            rows=(self.place_of(band), *(f"sale {sale.id}" for sale in self.sales)),
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
        by_table = self.log_by_table(traits)
        return by_table + self.fit.above(self._see(traits)) if self.fit else by_table

    def log_by_table(self, traits: Sequence[Traits]) -> np.ndarray:
        """Return the same by the band table and the settings alone."""
        own = [math.log(getattr(self.band_of(one), one.state)) for one in traits]
        return np.array(own) + self.layout.prior(traits)

    def reach(self, traits: Sequence[Traits], level: str = "0.8") -> np.ndarray:
        """Return how far the band reaches above and below the likely price, in logarithms.

        Parameters
        ----------
        traits : sequence of Traits, length m
            What is sold, and how.
        level : str
            Chance to be kept, such as ``0.8``.

        Returns
        -------
        ndarray, shape (m,)
            Half width of the band, in the order of `traits`.

        Raises
        ------
        ValueError
            If there is no sale: the band is then that of the table's row.
        """
        if self.fit is None:
            raise ValueError("without a sale the band is that of the table's row")
        return self.fit.reach(self._see(traits), level)

    def band_of(self, traits: Traits) -> BandRow:
        """Return the band row of a sale, as of the day to which prices are brought."""
        piano = Piano(kind=self.kind, size_mm=traits.size_mm, year=int(traits.year), tier=traits.tier)
        return band_for(self.tables, piano, self.on)[0]

    def place_of(self, band: BandRow) -> str:
        """Return where a band row stands, as ``file:line``."""
        return f"bands.csv:{self.tables.lines['bands', self._rows[band]]}"

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

    @cached_property
    def _rows(self) -> dict[BandRow, int]:
        return {row: index for index, row in enumerate(self.tables.bands)}

    @property
    def _usual_size(self) -> float:
        sizes = [row for row in self.tables.sizes if row.kind == self.kind]
        return self.layout.sizes[next(index for index, row in enumerate(sizes) if row.usual)]

    def _see(self, traits: Sequence[Traits]) -> Seen:
        strays = [math.log(self.band_of(one).spread) / Z90 / self.usual_spread for one in traits]
        return self.layout.see(traits, np.maximum(strays, LEAST_STRAY))

    def fitted(self) -> SalesModel:
        """Return the model fitted to its sales; itself where there is none."""
        if not self.sales:
            return self
        # here, not above: scikit-learn takes a second to come
        from valuation.sales.price_fit import fit_prices

        traits = [self.traits_of_sale(sale) for sale in self.sales]
        rose = [self.index.factor(self.kind, sale.sold_on, self.on) for sale in self.sales]
        logs = np.log([sale.price * factor for sale, factor in zip(self.sales, rose, strict=True)])
        fit = fit_prices(
            self._see(traits),
            logs - self.log_by_table(traits),
            groups=len(STATES),
            spread=self.usual_spread,
            spread_counts_as=self.settings.spread_counts_as,
            counts_as=self.settings.normal_counts_as,
        )
        return replace(self, fit=fit)

    def _monotone(self, traits: list[Traits]) -> np.ndarray:
        """Return the prices of one piano by state, never lower for a better state or a higher tier.

        The model is asked for every tier and state and pulled to the mean of the least surface above it and the
        greatest below it that are so.
        """
        tiers = self.layout.tiers
        every = [replace(one, tier=tier) for tier in tiers for one in traits]
        logs = self.log_prices(every).reshape(len(tiers), len(traits))[:, ::-1]
        above = np.maximum.accumulate(np.maximum.accumulate(logs, axis=0), axis=1)
        turned = logs[::-1, ::-1]
        below = np.minimum.accumulate(np.minimum.accumulate(turned, axis=0), axis=1)[::-1, ::-1]
        return np.exp((above + below)[tiers.index(traits[0].tier), ::-1] / 2)
