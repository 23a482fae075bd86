"""What the model sees of a sale, as columns of steps and ramps.

A step is 0 below a rung and 1 from it on; a ramp rises from 0 to 1 between the typical instruments of two neighbouring
classes of the band table. A coefficient is thus what the logarithm of the price gains from rung to rung, which can be
read, and a price that may not fall from rung to rung needs nothing but coefficients that are not negative.

State and tier act together: what a state is worth may differ from tier to tier. Of the columns for that, one kind lets
the step between two states grow with the tier, the other lets it shrink, and both rise (or stay) with the state and
with the tier, so that non-negative coefficients still suffice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from valuation.engine.rows import STATES, EraRow, SizeRow, TierRow
from valuation.sales.sale import PRICE_KINDS, RESTORED, SALE_KINDS

UPWARD = STATES[::-1]
"""The states from failed to sound."""

ATTRIBUTES = ("price_kind", "sale_kind", "time", "size", "age", "tier", "state", "restored")
"""What the model knows, in the order in which the grid adjusts for it: first how it was sold, then what was sold."""

NEVER_NEGATIVE = ("tier", "state", "state and tier", "price_kind")
"""Attributes whose coefficients may not be negative."""

FROM_THE_TABLE = ("size", "age", "tier", "state", "state and tier")
"""Attributes that the band table tells of; the others start from the settings."""


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
    """The rungs of one kind of piano.

    Attributes
    ----------
    sizes, years : tuple of float
        Size [mm] and year built of the typical instrument of each class, rising.
    tiers : tuple of str
        Tiers, the lowest first.
    """

    sizes: tuple[float, ...]
    years: tuple[float, ...]
    tiers: tuple[str, ...]

    @property
    def names(self) -> tuple[tuple[str, str], ...]:
        """Attribute and name of each column."""
        steps = [f"{low} to {high}" for low, high in pairwise(UPWARD)]
        return (
            ("level", "level of all prices"),
            *(("size", f"size, {low:g} to {high:g} mm") for low, high in pairwise(self.sizes)),
            *(("age", f"year built, {low:.0f} to {high:.0f}") for low, high in pairwise(self.years)),
            *(("tier", f"tier, {low} to {high}") for low, high in pairwise(self.tiers)),
            *(("state", f"state, {step}") for step in steps),
            *(("state and tier", f"state, {step}, more so for higher tiers") for step in steps),
            *(("state and tier", f"state, {step}, less so for higher tiers") for step in steps),
            *(("restored", f"restored, {low} to {high}") for low, high in pairwise(RESTORED)),
            ("sale_kind", "sold by a dealer"),
            ("sale_kind", "sold at auction"),
            ("price_kind", "a price asked"),
            ("time", "sold ten years before"),
        )

    def columns(self, traits: Sequence[Traits]) -> np.ndarray:
        """Return the columns of m sales, shape (m, p)."""
        tier = np.array([self.tiers.index(one.tier) for one in traits])
        state = np.array([UPWARD.index(one.state) for one in traits])
        restored = np.array([RESTORED.index(one.restored) for one in traits])
        height = tier / max(len(self.tiers) - 1, 1)  # 0 for the lowest tier, 1 for the highest
        reached = [state >= rung for rung in range(1, len(UPWARD))]
        return np.column_stack(
            [
                np.ones(len(traits)),
                *_ramps(np.array([one.size_mm for one in traits]), self.sizes),
                *_ramps(np.array([one.year for one in traits]), self.years),
                *(tier >= rung for rung in range(1, len(self.tiers))),
                *reached,
                *(step * height for step in reached),
                *(np.maximum(step, height) for step in reached),
                *(restored >= rung for rung in range(1, len(RESTORED))),
                [one.sale_kind == "dealer" for one in traits],
                [one.sale_kind == "auction" for one in traits],
                [one.price_kind == "asked" for one in traits],
                [one.years_before / 10 for one in traits],
            ]
        ).astype(float)

    def places(self, traits: Sequence[Traits]) -> np.ndarray:
        """Return where m sales are, one direction for each attribute, shape (m, 8)."""
        return np.array(
            [
                (
                    one.size_mm,
                    one.year,
                    self.tiers.index(one.tier),
                    UPWARD.index(one.state),
                    RESTORED.index(one.restored),
                    SALE_KINDS.index(one.sale_kind),
                    PRICE_KINDS.index(one.price_kind),
                    one.years_before,
                )
                for one in traits
            ],
            dtype=float,
        )


def lay_out(sizes: Sequence[SizeRow], eras: Sequence[EraRow], tiers: Sequence[TierRow]) -> Layout:
    """Return the rungs of one kind of piano from its classes in the shop's tables."""
    return Layout(
        sizes=typical_middles([(row.from_mm, row.to_mm) for row in sizes]),
        years=typical_middles([(row.from_year, row.to_year) for row in eras]),
        tiers=tuple(row.id for row in sorted(tiers, key=lambda row: row.rank)),
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


def _ramps(values: np.ndarray, knots: tuple[float, ...]) -> list[np.ndarray]:
    return [np.clip((values - low) / (high - low), 0, 1) for low, high in pairwise(knots)]
