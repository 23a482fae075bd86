"""The four options, as ways whose expected net worth is a reading of the exact terms.

Rebuild and partial repair are two classes of plans without overlap: a rebuild contains the core that the parts table
names (restringing, new hammers, ...) and leaves nothing that is not expected to last; a partial repair lacks some of
the core.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.core.expect import Expectations, Payoff, survival
from valuation.core.rows import GRADES, CautionRow, Tables
from valuation.core.work import Workshop

REBUILD, PARTIAL, KEEP, RETIRE = "rebuild", "partial_repair", "keep", "retire"
OPTIONS = (REBUILD, PARTIAL, KEEP, RETIRE)


@dataclass(frozen=True, eq=False)
class Rules:
    """What the stop rules in force demand.

    Attributes
    ----------
    in_force : tuple of CautionRow
        Every caution that applies to this piano, whatever is done with it.
    base : ndarray of bool, shape (O,)
        Operations that come with any work: what must come first, and what is done even if the piano is kept as it is.
    kept : ndarray of bool, shape (O,)
        Operations of 'keep as it is', less those that are blocked.
    blocked : tuple of str
        Operations not to be done.
    allowed : ndarray of bool, shape (C,)
        Choices open to a plan of work.
    forced : ndarray of int, shape (C, P)
        Choice, of those, that a choice forces on another part; -1 for none.
    lasting : ndarray of bool, shape (C,)
        Choices, of those, open to a rebuild: what is left as it is, or only mended, is expected to last.
    forced_lasting : ndarray of int, shape (C, P)
        As `forced`, within a rebuild.
    """

    in_force: tuple[CautionRow, ...]
    base: np.ndarray
    kept: np.ndarray
    blocked: tuple[str, ...]
    allowed: np.ndarray
    forced: np.ndarray
    lasting: np.ndarray
    forced_lasting: np.ndarray

    def within(self, option: str) -> tuple[np.ndarray, np.ndarray]:
        """Return the choices open to a class of plans, and what they force on other parts."""
        return (self.lasting, self.forced_lasting) if option == REBUILD else (self.allowed, self.forced)

    def are_open(self, shop: Workshop, plans: np.ndarray) -> np.ndarray:
        """Tell which plans are of work that may be done, shape (K, P) to (K,)."""
        lasting = self.lasting[plans].all(axis=1) | ~shop.are_rebuilds(plans)
        return self.allowed[plans].all(axis=1) & lasting & (plans != shop.keep_all).any(axis=1)


@dataclass(frozen=True, eq=False)
class Ways:
    """How each option is read from the terms. Net worth to the client, money today.

    Attributes
    ----------
    price : Payoff
        Expected price of a plan of work, with tax.
    work, keep, sell, exchange : Payoff
        Net worth of a plan of work, of keeping the piano as it is, of selling or disposing of it, and of doing so
        and having the replacement.
    keep_price, keep_labour : float
        Expected price of the service visit, and the labour in it.
    """

    price: Payoff
    labour: Payoff
    work: Payoff
    keep: Payoff
    sell: Payoff
    exchange: Payoff
    keep_price: float
    keep_labour: float


def ways(expected: Expectations, rules: Rules, priced: Ways | None = None) -> Ways:
    """Return how the options are read from the terms.

    Parameters
    ----------
    expected : Expectations
    rules : Rules
    priced : Ways, optional
        Ways with the same hours, rates and rules, whose prices hold.
    """
    stakes, market, prices = expected.stakes, expected.market, expected.prices
    price = priced.price if priced else expected.price(rules.base)
    value, service, heart = expected.value(), expected.service(), expected.heart()
    having = service.scaled(stakes.playing_year) + heart
    labour = prices.labour * stakes.hours_scale * stakes.rate_scale
    keep_price = float((1 + prices.tax) * (labour + prices.material + prices.outside)[rules.kept].sum())
    nothing = np.zeros_like(value.coefficients)
    replacement = market.replacement
    played = (
        replacement.plays * stakes.year_weights @ survival(stakes.times, np.array(replacement.years), stakes.wear_shape)
    )
    exchange = market.replacement_price * (stakes.kept_at_end - 1) + stakes.playing_year * float(played)
    sell = value.scaled(1 - stakes.selling_cost) + Payoff(nothing, -replacement.haul_away)
    return Ways(
        price=price,
        labour=priced.labour if priced else expected.price(rules.base, labour_only=True),
        work=value.scaled(stakes.finished_scale * stakes.kept_at_end) + having + price.scaled(-1.0),
        keep=value.scaled(stakes.kept_at_end) + having + Payoff(nothing, -keep_price),
        sell=sell,
        exchange=sell + Payoff(nothing, exchange),
        keep_price=keep_price,
        keep_labour=float((1 + prices.tax) * labour[rules.kept].sum()),
    )


@dataclass(frozen=True, eq=False)
class Action:
    """One thing that can be decided: an option, with its plan.

    Attributes
    ----------
    option : str
    plan : ndarray of int, shape (P,)
    payoff : Payoff
    exchange : bool
        For 'retire': with the replacement.
    """

    option: str
    plan: np.ndarray
    payoff: Payoff
    exchange: bool = False


def standing_rules(tables: Tables, shop: Workshop, features: tuple[str, ...], graded: dict[str, int]) -> Rules:
    """Return what the cautions demand of this piano.

    Parameters
    ----------
    tables : Tables
    shop : Workshop
    features : tuple of str
        Features of the piano.
    graded : dict of str to int
        For each check made, the grade it most likely reads, 0 good to 3 failed.
    """
    in_force = tuple(
        row
        for row in tables.cautions
        if row.always
        or (row.check in graded and graded[row.check] >= GRADES.index(row.from_grade))
        or row.feature in features
    )
    blocked = tuple(sorted({o for row in in_force for o in row.blocks}))
    first = [shop.index[o] for row in in_force for o in row.requires if o in shop.index]
    usual = [shop.index[o] for o in tables.settings.keep_operations if o in shop.index and o not in blocked]
    # What must come before any work comes before a tuning too; and nobody leaves a mended piano untuned.
    base = shop.together([*first, *usual])
    kept = base.copy()
    kept[[shop.index[o] for o in blocked if o in shop.index]] = False
    treat = {row.treat_first for row in in_force if row.treat_first}
    allowed = np.ones(len(shop.choices), dtype=bool)
    for p, part in enumerate(shop.parts):
        if part.id in treat and shop.first[p + 1] - shop.first[p] > 1:
            allowed[shop.first[p]] = False
    forced = shop.forced_within(allowed)
    return Rules(
        in_force=in_force,
        base=base,
        kept=kept,
        blocked=blocked,
        allowed=allowed,
        forced=forced,
        lasting=allowed,
        forced_lasting=forced,
    )
