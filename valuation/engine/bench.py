"""Bench: what a search for plans stands on: one piano's choices, what may be chosen where, and prices.

In: a catalogue, a condition, weighed menus, prices. Out: a `Bench`; `at` is the same one at other prices.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np

from valuation.engine.arrays import Bools, Floats
from valuation.engine.catalogue import Catalogue
from valuation.engine.choices import Weighed, repair_chances
from valuation.engine.condition import Condition
from valuation.engine.money import Prices
from valuation.engine.openings import Access, Opening
from valuation.engine.rows.tables import Settings
from valuation.engine.rows.words import SEVERITIES

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Bench:
    """What a search for plans stands on: one piano's choices and prices.

    Attributes
    ----------
    weighed : tuple of Weighed, length P
    pieces : ndarray, shape (F, 4)
        Pieces of each fault by severity.
    base : tuple of frozenset of str, length O
        Operations of each opening, with those that come with any work.
    opening_labour, opening_other : ndarray, shape (O,)
        Expected amounts with tax of what each opening takes and of what comes with any work.
    scale : float
        What all labour is multiplied by [-].
    opening_price : ndarray, shape (O,)
        Expected price with tax of what each opening takes and of what comes with any work.
    price : tuple of ndarray, length P
        Expected price of each choice with tax, shape (N,).
    allowed : tuple of ndarray of bool, length P
        Whether a choice may be made in an opening, shape (O, N), whatever the scope.
    let_be : frozenset of int
        Parts that the client wants left as they are, so that they do not count as left broken.
    kept, told : dict
        What was worked out on it that prices have no part in, see `once`; `told` is what hangs on the moments.
    """

    condition: Condition
    access: Access
    weighed: tuple[Weighed, ...]
    pieces: Floats
    base: tuple[frozenset[str], ...]
    opening_labour: Floats
    opening_other: Floats
    scale: float
    opening_price: Floats
    price: tuple[Floats, ...]
    allowed: tuple[Bools, ...]
    let_be: frozenset[int] = frozenset()
    kept: dict[object, Any] = field(default_factory=dict)
    told: dict[object, Any] = field(default_factory=dict)

    def once(self, key: object, work: Callable[[], T], *, by_moments: bool = False) -> T:
        """Return what prices have no part in, worked out once for all benches that differ by prices alone.

        What doesn't hang on the moments at which playing is looked at is shared by benches that differ by them too.
        """
        kept = self.told if by_moments else self.kept
        if key not in kept:
            kept[key] = work()
        found: T = kept[key]
        return found

    def at(self, scale: float) -> Bench:
        """Return the same at prices of which all labour is scaled."""
        return replace(
            self,
            scale=scale,
            opening_price=scale * self.opening_labour + self.opening_other,
            price=tuple(scale * menu.labour + menu.other for menu in self.weighed),
        )

    def repairs(self, part: int, ladder: int) -> dict[int, tuple[float, float]]:
        """Return the small repairs of a choice, see `repair_chances`; worked out once."""
        faults = slice(*self.condition.network.first[part : part + 2])
        return self.once(
            ("repairs", part, ladder),
            lambda: repair_chances(self.weighed[part], ladder, self.pieces[faults]),
        )


def bench_of(
    catalogue: Catalogue,
    condition: Condition,
    weighed: tuple[Weighed, ...],
    prices: Prices,
    settings: Settings,
    usual: frozenset[str],
    pieces: Floats,
) -> Bench:
    """Return what a search for plans stands on, at the prices of the tables.

    Parameters
    ----------
    usual : frozenset of str
        Operations that come with any work.
    pieces : ndarray, shape (F, 4)
        Pieces of each fault by severity.
    """
    access = catalogue.access
    base, labour, other = _bases(access, usual, prices)
    return Bench(
        condition=condition,
        access=access,
        weighed=weighed,
        pieces=pieces,
        base=base,
        opening_labour=labour,
        opening_other=other,
        scale=1.0,
        opening_price=labour + other,
        price=tuple(menu.labour + menu.other for menu in weighed),
        allowed=_allowed(catalogue, condition, weighed, settings),
    )


@lru_cache(maxsize=64)
def _bases(access: Access, usual: frozenset[str], prices: Prices) -> tuple[tuple[frozenset[str], ...], Floats, Floats]:
    """Return the operations of each opening, with their expected labour and other amounts with tax."""
    base = tuple(_charged(access, opening, usual) for opening in access.openings)
    return (
        base,
        np.array([prices.labour(names) for names in base]),
        np.array([prices.other(names) for names in base]),
    )


def _charged(access: Access, opening: Opening, usual: frozenset[str]) -> frozenset[str]:
    names = opening.operations | usual
    covered = {name for operation in names for name in access.operations[operation].covers}
    return frozenset(names - covered)


def _allowed(
    catalogue: Catalogue, condition: Condition, weighed: tuple[Weighed, ...], settings: Settings
) -> tuple[Bools, ...]:
    """Return which choices may be made in which opening.

    A fixed larger remedy must be likely enough to be needed, unless the opening asks for it. What another part's fault
    forbids may be done only where the opening renews that part.
    """
    openings = catalogue.access.openings
    forbidding = _forbidding_parts(catalogue, condition, settings)
    result = []
    for menu in weighed:
        here = menu.menu.context_of[:, None] == menu.menu.context
        mask = here & (menu.open & (menu.need >= settings.fixed_from))
        for n, ladder in enumerate(menu.menu.ladders) if forbidding else ():
            for part in {part for rung in ladder.rungs for part in forbidding.get(rung.operation, ())}:
                mask[:, n] &= np.array([bool(opening.forced(part)) for opening in openings])
        result.append(mask)
    return tuple(result)


def _forbidding_parts(catalogue: Catalogue, condition: Condition, settings: Settings) -> dict[str, list[str]]:
    """Return for each remedy that is forbidden so the other parts whose faults, as likely found, forbid it."""
    network = condition.network
    found: dict[str, list[str]] = {}
    for operation, rows in catalogue.forbidden.items():
        for row in rows:
            f = network.index.get(row.fault)
            if f is None or condition.at_least[f, SEVERITIES.index(row.since)] < settings.forbidden_from:
                continue
            part = network.faults[f].part
            if part != catalogue.operations[operation].part:
                found.setdefault(operation, []).append(part)
    return found
