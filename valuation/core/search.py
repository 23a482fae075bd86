"""Finding the best plan of each class by the exact net: from the best where benefits add up, by steepest ascent.

The client's net multiplies over the parts (a new soundboard is worth little over a failed block), so the benefits
are straightened about two plans, the one that keeps all and the dearest; from the best plans found there single
changes are tried until none helps.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from valuation.core.expect import Expectations, Payoff
from valuation.core.options import PARTIAL, REBUILD, Rules
from valuation.core.stages import best_of_class, frontier
from valuation.core.work import Workshop, distinct

_STARTS = 4
"""The climb begins from so many of the best starts."""


@dataclass(frozen=True, eq=False)
class Found:
    """The best plan of a class, with its exact net and expected price."""

    plan: np.ndarray
    net: float
    price: float


def best_plans(expected: Expectations, work: Payoff, price: Payoff, rules: Rules) -> dict[str, Found]:
    """Return the best plan of each class by the exact net, within the budget if there is one.

    Parameters
    ----------
    expected : Expectations
    work, price : Payoff
        Net worth, and price, of a plan of work.
    rules : Rules

    Returns
    -------
    dict
        A class without any plan that is allowed is left out; where none is within the budget, the best beyond it
        stands, marked as not affordable.
    """
    shop, budget = expected.shop, expected.stakes.budget
    found = {}
    for option in (REBUILD, PARTIAL):
        starts = _starts(expected, work, price, rules, option)
        if option == PARTIAL:
            others = [_least(expected, work, rules)]
            others += [_short_of_core(shop, found[REBUILD].plan, rules)] if REBUILD in found else []
            starts = distinct(np.concatenate([starts, *others]))
        if not len(starts):
            continue
        best_first = np.argsort(-work.of(expected.means(starts)), kind="stable")[:_STARTS]
        tops, nets = ascend(expected, work, starts[best_first], rules, option)
        found[option] = _found(expected, work, price, tops[nets.argmax()])
        if budget is not None and found[option].price > budget:
            found[option] = _within_budget(expected, work, price, rules, found[option], option)
    return found


def _starts(expected: Expectations, work: Payoff, price: Payoff, rules: Rules, option: str) -> np.ndarray:
    """Return the plans of a class that a climb may begin from, shape (K, P)."""
    shop = expected.shop
    allowed, forced = rules.within(option)
    starts = []
    for about in (shop.keep_all, shop.first[1:] - 1):
        benefit = straightened(expected, work, price, about, allowed)
        plan = best_of_class(shop, benefit, expected.prices.expected, option)
        if plan is not None:
            starts.append(plan)
    return shop.complete(np.array(starts, dtype=int).reshape(-1, len(shop.parts)), forced)


def _found(expected: Expectations, work: Payoff, price: Payoff, plan: np.ndarray) -> Found:
    means = expected.means(plan[None])
    return Found(plan, float(work.of(means)[0]), float(price.of(means)[0]))


def _within_budget(
    expected: Expectations, work: Payoff, price: Payoff, rules: Rules, best: Found, option: str
) -> Found:
    """Return the best plan of the class that the budget allows: from the frontier about the best, then climbed."""
    budget = expected.stakes.budget
    plans = class_frontier(expected, work, price, best.plan, rules, option)
    plans = plans[price.of(expected.means(plans)) <= budget]
    if not len(plans):
        return best
    nets = work.of(expected.means(plans))
    best_first = plans[np.argsort(-nets, kind="stable")[:8]]
    tops, nets = ascend(expected, work, best_first, rules, option, (price, budget))
    return _found(expected, work, price, tops[nets.argmax()])


def class_frontier(
    expected: Expectations, work: Payoff, price: Payoff, about: np.ndarray, rules: Rules, option: str
) -> np.ndarray:
    """Return the plans of a class that none of it beats in both cost and benefit, straightened about one, (K, P)."""
    shop = expected.shop
    allowed, forced = rules.within(option)
    points = frontier(shop, straightened(expected, work, price, about, allowed), expected.prices.expected)
    plans = np.array([point.plan for point in points if point.option == option]).reshape(-1, len(shop.parts))
    return shop.complete(plans.astype(int), forced)


def straightened(expected, work, price, about, allowed) -> np.ndarray:
    """Return what each choice adds before costs, all other parts as in `about`, shape (C,)."""
    gross = work.coefficients + price.coefficients
    rest = expected.rest(about[None])[:, 0] * (gross[:, None] * expected.condition.exposure)
    benefit = np.einsum("cth,cth->c", expected.factor, rest[expected.shop.part_of])
    return np.where(allowed, benefit, -np.inf)


def _least(expected: Expectations, work: Payoff, rules: Rules) -> np.ndarray:
    """Return the best plan that does one thing beside what must be done: no climb leads from one such to another."""
    shop = expected.shop
    must = shop.first[:-1] + [int(rules.allowed[a:b].argmax()) for a, b in pairwise(shop.first)]
    plans = shop.complete(shop.with_choices(must[None], np.flatnonzero(rules.allowed), rules.forced)[0], rules.forced)
    plans = plans[rules.are_open(shop, plans) & ~shop.are_rebuilds(plans)]
    return plans[np.argsort(-work.of(expected.means(plans)), kind="stable")[:1]]


def _short_of_core(shop: Workshop, plan: np.ndarray, rules: Rules) -> np.ndarray:
    """Return the plans that change one part of a rebuild so that it no longer is one."""
    core = np.flatnonzero(shop.gives[plan].any(axis=1))
    choices = np.flatnonzero(np.isin(shop.part_of, core))
    changed = np.tile(plan, (len(choices), 1))
    changed[np.arange(len(choices)), shop.part_of[choices]] = choices
    changed = shop.complete(changed, rules.forced)
    return changed[rules.are_open(shop, changed) & ~shop.are_rebuilds(changed)]


def ascend(
    expected: Expectations,
    work: Payoff,
    plans: np.ndarray,
    rules: Rules,
    option: str,
    limit: tuple[Payoff, float] | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Climb from each plan, changing the one part that helps most, until none helps.

    Parameters
    ----------
    plans : ndarray of int, shape (K, P)
    option : str
        Class in which each climb stays.
    limit : (Payoff, float), optional
        A reading, such as the price, that must not pass a figure.

    Returns
    -------
    plans, nets : ndarray, shapes (K, P) and (K,)
    """
    shop = expected.shop
    allowed, forced = rules.within(option)
    forcing = np.flatnonzero((forced >= 0).any(axis=1))
    weight = (work.coefficients[:, None] * expected.condition.exposure).ravel()
    factor = expected.factor.reshape(len(shop.choices), -1)
    weighed = (factor * weight)[:, :, None]
    plans = plans.copy()
    nets = work.constant + expected.factor[plans].prod(axis=1).reshape(len(plans), -1) @ weight
    live = np.arange(len(plans))
    while len(live):
        rest = expected.rest(plans[live]).reshape(len(shop.parts), len(live), -1)[shop.part_of]
        neighbour = work.constant + np.matmul(rest, weighed)[:, :, 0].T
        together = shop.with_choices(plans[live], forcing, forced)
        # Where a choice forces others along, the whole change counts, not the one part alone.
        k, f = np.nonzero((together != plans[live][:, None]).sum(axis=2) > 1)
        means = expected.means(together[k, f])
        neighbour[k, forcing[f]] = work.of(means)
        neighbour[~_may(shop, plans[live], option, allowed)] = -np.inf
        if limit:
            reading, most = limit
            heavy = (reading.coefficients[:, None] * expected.condition.exposure).ravel()
            spent = reading.constant + np.matmul(rest, (factor * heavy)[:, :, None])[:, :, 0].T
            spent[k, forcing[f]] = reading.of(means)
            neighbour[spent > most] = -np.inf
        step = neighbour.argmax(axis=1)
        gain = neighbour[np.arange(len(live)), step]
        up = gain > nets[live] + 1e-9 * (1 + abs(nets[live]))
        live, step, gain = live[up], step[up], gain[up]
        each = np.arange(len(live))
        plans[live] = shop.with_choices(plans[live], step, forced)[each, each]
        nets[live] = gain
    return shop.complete(plans, forced), nets


def _may(shop: Workshop, plans: np.ndarray, option: str, allowed: np.ndarray) -> np.ndarray:
    """Tell which single changes stay in the class of the plans, shape (K, C)."""
    gives = shop.gives.astype(np.int8)
    givers = gives[plans].sum(axis=1)[:, None] - gives[plans[:, shop.part_of]] + gives
    is_rebuild = (givers > 0).all(axis=2)
    treated = plans != shop.keep_all
    last_treated = treated & (treated.sum(axis=1) == 1)[:, None]
    keeps_all = last_treated[:, shop.part_of] & (np.arange(len(shop.choices)) == shop.keep_all[shop.part_of])
    stays = is_rebuild if option == REBUILD else ~is_rebuild & ~keeps_all
    # A part can't be taken below what another part's choice forces on it.
    return stays & allowed & ~shop.undercuts[plans].any(axis=1)
