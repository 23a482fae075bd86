"""Make the invented market: sales of pianos that don't exist, from a truth that is known.

    python -m data_demo.sales.make_sales

writes `sales.csv` and `price_index.csv` beside this file, the same bytes each time. Every figure here is invented; none
comes from a market. The tests draw further markets from the same truth, to see whether a band keeps what it promises.

The truth: the logarithm of a piano's value adds up from its size, year, tier, state and whether it was restored, and a
factor of its own that nobody writes down. A sale fetches that value, times the market's level on the day and what
the kind of sale does, give or take some haggling.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import numpy as np

from valuation.sales.sale import Sale
from valuation.sales.write_sales import write_sales

SEED = 1907
SALES = 180
TODAY = date(2026, 5, 1)
FIRST_DAY = date(2018, 6, 1)

OWN_SPREAD = 0.28
"""A piano's own factor, standard deviation of the logarithm."""

HAGGLING = 0.07
"""What a sale adds to that, the same."""

TIERS = {"plain": 0.0, "ordinary": 0.75, "good": 1.5, "high": 2.35, "finest": 3.4}
TIER_SHARES = (0.18, 0.38, 0.24, 0.15, 0.05)
STATES = {"failed": 0.0, "worn": 1.45, "serviceable": 3.0, "sound": 3.9}
STATE_SHARES = (0.10, 0.28, 0.40, 0.22)
STATE_LESS_BY_TIER = 0.3
"""A state is worth so much less of its logarithm for the finest tier than for the plain one, as a share."""

LEVEL = {"upright": math.log(9), "grand": math.log(36)}
SIZES = {"upright": (900, 1400, 1.2), "grand": (1450, 2750, 0.9)}
"""Least and greatest size [mm], and what the logarithm gains from one to the other."""

YEARS = ((1865, -0.35), (1897, 0.0), (1930, 0.06), (1962, -0.04), (1997, 0.42))
RESTORED = {"no": 0.0, "part": 0.04, "full": 0.14}
SALE_KINDS = {"private": 0.0, "dealer": 0.30, "auction": -0.35}
SALE_KIND_SHARES = (0.55, 0.28, 0.17)
ASKED = 0.16
FINISHES = ("", "walnut", "mahogany", "black", "oak", "rosewood")
LEVELS = (1.14, 1.11, 1.09, 1.10, 1.05, 1.03, 1.02, 1.01, 1.00)
"""The market's level on 1 June of each year from 2018 on, and no further move after the last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instrument:
    """One invented piano, with the factor of its own."""

    kind: str
    size_mm: float
    year: int
    tier: str
    state: str
    restored: str
    own_factor: float

    def likely_value(self, state: str | None = None) -> float:
        """Return the median value of pianos like it, achieved privately at level 1, in this or another state."""
        low, high, gain = SIZES[self.kind]
        tier = TIERS[self.tier] / TIERS["finest"]
        return math.exp(
            LEVEL[self.kind]
            + gain * (self.size_mm - low) / (high - low)
            + float(np.interp(self.year, *zip(*YEARS, strict=True)))
            + TIERS[self.tier]
            + STATES[state or self.state] * (1 - STATE_LESS_BY_TIER * tier)
            + RESTORED[self.restored]
        )

    def true_value(self) -> float:
        """Return its own value, as it stands."""
        return self.likely_value() * self.own_factor


def draw_instrument(rng: np.random.Generator, kind: str) -> Instrument:
    """Draw a piano."""
    low, high, _ = SIZES[kind]
    state = str(rng.choice(list(STATES), p=STATE_SHARES))
    restored = str(rng.choice(list(RESTORED), p={"sound": (0.3, 0.3, 0.4)}.get(state, (0.8, 0.15, 0.05))))
    return Instrument(
        kind=kind,
        size_mm=float(round(low + (high - low) * rng.beta(2, 2), -1)),
        year=int(rng.choice((1870, 1900, 1925, 1960, 1990), p=(0.08, 0.37, 0.25, 0.15, 0.15)) + rng.integers(-12, 13)),
        tier=str(rng.choice(list(TIERS), p=TIER_SHARES)),
        state=state,
        restored=restored,
        own_factor=math.exp(OWN_SPREAD * rng.standard_normal()),
    )


def sell(rng: np.random.Generator, piano: Instrument, name: str) -> Sale:
    """Sell a piano on some day, or offer it."""
    sold_on = FIRST_DAY + timedelta(days=int(rng.integers((TODAY - FIRST_DAY).days)))
    sale_kind = str(rng.choice(list(SALE_KINDS), p=SALE_KIND_SHARES))
    asked = sale_kind != "auction" and rng.random() < 0.3
    years = (sold_on - FIRST_DAY).days / 365.25
    factor = np.interp(years, range(len(LEVELS)), LEVELS) * math.exp(SALE_KINDS[sale_kind] + ASKED * asked)
    price = piano.true_value() * factor * math.exp(HAGGLING * rng.standard_normal())
    return Sale(
        id=name,
        sold_on=sold_on,
        price=float(max(round(price, -1 if price > 300 else 0), 1)),
        currency="EUR",
        kind=piano.kind,
        size_mm=None if rng.random() < 0.08 else piano.size_mm,
        year_built=None if rng.random() < 0.08 else piano.year,
        tier=piano.tier,
        state=piano.state,
        restored=piano.restored,
        restored_by="" if piano.restored == "no" else str(rng.choice(("", "own shop", "another shop"))),
        sale_kind=sale_kind,
        price_kind="asked" if asked else "achieved",
        finish=str(rng.choice(FINISHES)),
        source="invented",
        note="",
    )


def draw_market(seed: int, n: int, kind: str | None = None) -> list[Sale]:
    """Draw n sales, of one kind of piano or of both."""
    rng = np.random.default_rng(seed)
    sales = []
    for number in range(1, n + 1):
        piano = draw_instrument(rng, kind or str(rng.choice(("upright", "grand"), p=(0.55, 0.45))))
        sales.append(sell(rng, piano, f"demo_{number:03d}"))
    return sorted(sales, key=lambda sale: (sale.sold_on, sale.id))


def main() -> None:
    """Write the two files."""
    here = Path(__file__).resolve().parent
    write_sales(draw_market(SEED, SALES), here / "sales.csv")
    with (here / "price_index.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(("on", "upright", "grand", "source", "note"))
        for years, level in enumerate(LEVELS):
            day = min(FIRST_DAY.replace(year=FIRST_DAY.year + years), TODAY)
            writer.writerow((day, f"{level:.2f}", f"{level:.2f}", "invented", ""))


if __name__ == "__main__":
    main()
