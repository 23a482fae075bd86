"""What the model sees of a sale beside the table's own price: level, trend, how it was sold, and a shape."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from valuation.engine.rows import STATES, EraRow, SizeRow, TierRow
from valuation.sales.sale import RESTORED
from valuation.sales.seen import Seen
from valuation.sales.settings import SalesSettings

ATTRIBUTES = ("price_kind", "sale_kind", "time", "size", "age", "tier", "state", "restored")
"""What the model knows, in the order in which the grid adjusts for it: first how it was sold, then what was sold."""

FROM_THE_TABLE = ("size", "age", "tier", "state")
"""Attributes that the band table tells of; the others start from the settings."""

SETTING_OF = {
    "restored, no to part": "restored_part",
    "restored, part to full": "restored_full",
    "sold by a dealer": "dealer",
    "sold at auction": "auction",
    "a price asked": "asked",
}
"""Columns whose figure has a prior, and the setting that says it."""

RUNGS_SHARED = 2.0
"""Two sales so many states or tiers apart still share most of what is particular to them; our own estimate [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What the model sees of one sale, or of the piano that is appraised.

    Attributes
    ----------
    size_mm : float
        Height or length [mm].
    year : float
        Year built.
    tier, state, restored, sale_kind, price_kind : str
        As in `Sale`.
    years_before : float
        How long before the day of the appraisal [years].
    """

    size_mm: float
    year: float
    tier: str
    state: str
    restored: str = "no"
    sale_kind: str = "private"
    price_kind: str = "achieved"
    years_before: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The columns of one kind of piano.

    Attributes
    ----------
    sizes, years : tuple of float
        Size [mm] and year built of the typical instrument of each class, rising.
    tiers : tuple of str
        Tiers, the lowest first.
    settings : SalesSettings
        The prior of each column.
    """

    sizes: tuple[float, ...]
    years: tuple[float, ...]
    tiers: tuple[str, ...]
    settings: SalesSettings

    @property
    def known(self) -> tuple[tuple[str, str, float], ...]:
        """Attribute, name and spread (standard deviation of the logarithm) of the level and of what is like it."""
        return (
            ("level", "level of all prices", math.log(self.settings.level_within)),
            ("time", "sold ten years before", math.log(self.settings.yearly_within) * 10),
            *(
                (attribute, name, self.settings.prior(SETTING_OF[name])[1])
                for attribute, name in (
                    ("restored", "restored, no to part"),
                    ("restored", "restored, part to full"),
                    ("sale_kind", "sold by a dealer"),
                    ("sale_kind", "sold at auction"),
                    ("price_kind", "a price asked"),
                )
            ),
        )

    @property
    def shape(self) -> tuple[tuple[str, str, float], ...]:
        """The same of each column of the shape, which is what the market does otherwise than the table."""
        settings = self.settings
        return (
            *(("state", f"state {state}, beside the table", math.log(settings.state_within)) for state in STATES),
            *(("tier", f"tier {tier}, beside the table", math.log(settings.tier_within)) for tier in self.tiers),
            ("size", "size, middle to largest, beside the table", math.log(settings.size_within)),
            ("age", "year built, middle to newest, beside the table", math.log(settings.age_within)),
        )

    def prior(self, traits: Sequence[Traits]) -> np.ndarray:
        """Return what the settings add to the logarithm of the table's own price, shape (n,)."""
        logs = [self.settings.prior(SETTING_OF[name])[0] if name in SETTING_OF else 0 for _, name, _ in self.known]
        return self._known(traits) @ np.array(logs)

    def see(self, traits: Sequence[Traits], strays: np.ndarray) -> Seen:
        """Return what the model sees of n sales, `strays` being how far each may stray over the usual, shape (n,)."""
        state = np.array([STATES.index(one.state) for one in traits], dtype=int)
        tier = np.array([self.tiers.index(one.tier) for one in traits], dtype=int)
        size = _from_middle(np.array([one.size_mm for one in traits]), self.sizes)
        year = _from_middle(np.array([one.year for one in traits]), self.years)
        shape = [state[:, None] == np.arange(len(STATES)), tier[:, None] == np.arange(len(self.tiers)), size, year]
        return Seen(
            known=self._known(traits) * [spread for *_, spread in self.known],
            shape=np.column_stack(shape) * [spread for *_, spread in self.shape],
            places=np.column_stack([state / RUNGS_SHARED, tier / RUNGS_SHARED, size, year]),
            strays=strays,
            groups=state,
        )

    def _known(self, traits: Sequence[Traits]) -> np.ndarray:
        restored = np.array([RESTORED.index(one.restored) for one in traits])
        columns: list[Any] = [
            np.ones(len(traits)),
            [one.years_before / 10 for one in traits],
            *(restored >= rung for rung in range(1, len(RESTORED))),
            [one.sale_kind == "dealer" for one in traits],
            [one.sale_kind == "auction" for one in traits],
            [one.price_kind == "asked" for one in traits],
        ]
        return np.column_stack(columns).astype(float)


def lay_out(
    sizes: Sequence[SizeRow], eras: Sequence[EraRow], tiers: Sequence[TierRow], settings: SalesSettings
) -> Layout:
    """Return the columns of one kind of piano from its classes in the shop's tables."""
    return Layout(
        sizes=typical_middles([(row.from_mm, row.to_mm) for row in sizes]),
        years=typical_middles([(row.from_year, row.to_year) for row in eras]),
        tiers=tuple(row.id for row in sorted(tiers, key=lambda row: row.rank)),
        settings=settings,
    )


def typical_middles(classes: Sequence[tuple[float, float]]) -> tuple[float, ...]:
    """Return where the typical instrument of each class stands, the classes given from low to high.

    The outermost classes reach far beyond any piano, so their typical instrument is taken to stand no farther inside
    than the neighbour's does. This is our own estimate.

    Examples
    --------
    >>> typical_middles([(0, 1010), (1010, 1105), (1105, 1230), (1230, 2000)])
    (962.5, 1057.5, 1167.5, 1292.5)
    """
    halves = [(high - low) / 2 for low, high in classes]
    middles = [low + half for (low, _), half in zip(classes, halves, strict=True)]
    if len(classes) > 1:
        middles[0] = classes[0][1] - min(halves[0], halves[1])
        middles[-1] = classes[-1][0] + min(halves[-1], halves[-2])
    return tuple(middles)


def _from_middle(values: np.ndarray, middles: tuple[float, ...]) -> np.ndarray:
    """Return where values stand between the outermost classes' typical instruments, -1 to 1, and no farther."""
    low, high = middles[0], middles[-1]
    return np.clip(2 * (values - low) / (high - low) - 1, -1, 1) if high > low else np.zeros(len(values))
