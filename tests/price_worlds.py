"""Invented markets beside a table of price bands that is right, or wrong in a way that is known.

A piano's log price is the table's own, give or take what the market does: a level, a trend by the year, a shape by
state, tier, size and year that nobody wrote into the table, and what a single sale strays. All figures are invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

import numpy as np

from valuation.engine.market import band_for
from valuation.engine.rows import STATES, Tables
from valuation.facts.visit import Piano
from valuation.sales.sale import Sale

DAY = date(2026, 5, 1)
SHAPE = {"state": 0.14, "tier": 0.17, "size": 0.10, "year": 0.08}
"""How far the market's shape lies off the table's, standard deviations of the logarithm."""

LEAST = 60.0
"""Bands below are mostly rounding; pianos so cheap are not drawn [money]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class World:
    """What a market does that its table doesn't tell.

    Attributes
    ----------
    level : float
        The market over the table.
    stray : float
        Of a single sale, standard deviation of the logarithm.
    yearly : float
        Trend by the year.
    odd_share, odd_by : float
        Share of sales that are wrong by so many times, up or down.
    picks : float
        How much better than usual the pianos are that the shop sells, in states.
    failed_stray : float
        Stray of pianos sold as failed over that of others.
    """

    level: float = 1.0
    stray: float = 0.30
    yearly: float = 0.0
    odd_share: float = 0.0
    odd_by: float = 3.0
    picks: float = 0.0
    failed_stray: float = 1.0


WORLDS = {
    "table right": World(),
    "table at 0.45": World(level=1 / 0.45),
    "table at 2.3, shop sells good ones": World(level=1 / 2.3, picks=1.0),
    "12 % odd sales": World(odd_share=0.12),
    "+7 % a year": World(yearly=0.07),
}


@dataclass(frozen=True, slots=True)
class Piece:
    """One piano of a market, with the likely price that the table knows and the one that the market pays."""

    piano: Piano
    state: str
    table: float
    truth: float


@dataclass(frozen=True, eq=False)
class Drawn:
    """A market drawn: sales that the shop saw, and pianos to be priced with what each fetches."""

    sales: tuple[Sale, ...]
    asked: tuple[Piece, ...]
    fetched: np.ndarray


def draw_world(world: World, tables: Tables, kind: str, n: int, seed: int, asked: int = 30) -> Drawn:
    """Draw n sales and some pianos to be priced."""
    rng = np.random.default_rng([seed, n])
    shape = {
        "state": dict(zip(STATES, SHAPE["state"] * rng.standard_normal(4), strict=True)),
        "tier": {row.id: SHAPE["tier"] * rng.standard_normal() for row in tables.tiers},
        "size": SHAPE["size"] * rng.standard_normal(),
        "year": SHAPE["year"] * rng.standard_normal(),
    }
    sales, pieces = [], []
    for number in range(n):
        piece = _draw(rng, tables, kind, world, shape, world.picks)
        before = int(rng.integers(6 * 365))
        log = math.log(piece.truth) - world.yearly * before / 365.25 + _stray(rng, world, piece.state)
        if rng.random() < world.odd_share:
            log += math.log(world.odd_by) * rng.choice((-1, 1))
        sales.append(_sale(piece, f"w{number}", DAY - timedelta(days=before), math.exp(log)))
    pieces = [_draw(rng, tables, kind, world, shape, 0.0) for _ in range(asked)]
    fetched = [math.log(piece.truth) + _stray(rng, world, piece.state) for piece in pieces]
    return Drawn(tuple(sales), tuple(pieces), np.array(fetched))


def _draw(rng, tables: Tables, kind: str, world: World, shape: dict, better: float) -> Piece:
    low, high = {"upright": (930, 1400), "grand": (1500, 2700)}[kind]
    while True:
        size = float(rng.integers(low, high))
        tier = str(rng.choice([row.id for row in tables.tiers], p=(0.15, 0.40, 0.25, 0.15, 0.05)))
        piano = Piano(kind=kind, size_mm=size, year=int(rng.integers(1870, 2015)), tier=tier)
        state = STATES[int(np.clip(round(rng.normal(1.4 - better, 0.9)), 0, 3))]
        table = getattr(_band(tables, piano), state)
        if table >= LEAST:
            break
    place = (2 * (size - low) / (high - low) - 1, 2 * (piano.year - 1870) / 145 - 1)
    off = shape["state"][state] + shape["tier"][tier] + shape["size"] * place[0] + shape["year"] * place[1]
    return Piece(piano, state, table, table * world.level * math.exp(off))


@lru_cache(maxsize=100_000)
def _band(tables: Tables, piano: Piano):
    return band_for(tables, piano, DAY)[0]


def _stray(rng, world: World, state: str) -> float:
    return world.stray * (world.failed_stray if state == "failed" else 1.0) * rng.standard_normal()


def _sale(piece: Piece, name: str, day: date, price: float) -> Sale:
    piano = piece.piano
    return Sale(
        id=name, sold_on=day, price=price, currency="EUR", kind=piano.kind, size_mm=piano.size_mm,
        year_built=piano.year, tier=piano.tier, state=piece.state, restored="no", sale_kind="private",
        price_kind="achieved", source="invented",
    )  # fmt: skip


def pinball(off: np.ndarray, reach: np.ndarray) -> np.ndarray:
    """Return 100 times the mean loss of the 10, 50 and 90 % points, of prices so far above the likely one."""
    losses = []
    for share, side in ((0.1, -1), (0.5, 0), (0.9, 1)):
        beyond = off - side * reach
        losses.append(np.maximum(share * beyond, (share - 1) * beyond))
    return 100 * np.mean(losses, axis=0)
