"""What a client has to choose from: every way told by the same figures, also those that the verdict passes over.

Of two ways to let a piano go, with another in its place or without, the verdict takes the better; a client is shown
both. All ways stand on the draws of the decision, so their figures can be held against each other.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.core.decide import Decision, Study, expected_prices, is_within
from valuation.core.expect import Expectations
from valuation.core.options import KEEP, PARTIAL, REBUILD, RETIRE, Action
from valuation.core.outcomes import Outcome, draw_outcome, tenths
from valuation.core.visit import Range

ANOTHER, LET_GO = "another", "let_go"
WAYS = (KEEP, PARTIAL, REBUILD, ANOTHER, LET_GO)
"""In the order in which they are told: the one without work first, whatever the verdict."""

LOOKS_AHEAD = (5.0, 15.0)
"""After so many years it is asked which pianos still play well, the same for all ways [years]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Prospect:
    """One way, by the figures that are told of every way. Money with tax, in the shop's currency.

    Attributes
    ----------
    way : str
        One of `WAYS`.
    price : Range
        What is paid, less what the old piano brings in where it goes; negative is money received.
    expected_price : float
        Its exact mean.
    proceeds : Range or None
        Where the old piano goes: what it brings in, less selling and carting away.
    value_after, years : Range
        What is owned afterwards is worth; years of good service [years].
    expected_value : float
    plays : float
        How well the piano plays once the work is done: 1 is as well as it can, 0 not at all.
    parts_played : tuple of (str, float)
        Part, and how well the piano would play if that part alone stood in the way, the worst first.
    still_good : tuple of float
        Share of draws that are still in good service after each of `LOOKS_AHEAD` [-].
    surprise : float
        Chance that teardown demands more than is planned [-].
    best : float
        Share of draws in which this way comes out best for the client; adds to 1 over the ways within the budget.
    affordable : bool
    """

    way: str
    price: Range
    expected_price: float
    proceeds: Range | None
    value_after: Range
    expected_value: float
    years: Range
    plays: float
    parts_played: tuple[tuple[str, float], ...]
    still_good: tuple[float, ...]
    surprise: float
    best: float
    affordable: bool


def prospects(study: Study, decision: Decision) -> dict[str, Prospect]:
    """Return every way that is open, in the order of `WAYS`; a class of work without any plan is left out."""
    expected, way = decision.expected, decision.ways
    actions = {option: action for option, action in decision.actions.items() if option != RETIRE}
    outcomes = {option: decision.outcomes[option] for option in actions}
    keep_all = study.shop.keep_all
    actions[ANOTHER] = Action(RETIRE, keep_all, way.exchange, exchange=True)
    actions[LET_GO] = Action(RETIRE, keep_all, way.sell)
    for name in (ANOTHER, LET_GO):
        outcomes[name] = draw_outcome(expected, study.rules, actions[name], study.draws)
    named = [name for name in WAYS if name in actions]
    means = expected.means(np.array([actions[name].plan for name in named]))
    prices = expected_prices(expected, way, [actions[name] for name in named], means)
    values = expected.value().of(means)
    within = {
        name: is_within(expected.stakes.budget, actions[name], float(price))
        for name, price in zip(named, prices, strict=True)
    }
    best = _best_shares({name: outcomes[name] for name in named if within[name]})
    proceeds = _range(-outcomes[LET_GO].price)
    found = {}
    for i, name in enumerate(named):
        action, outcome = actions[name], outcomes[name]
        goes = action.option == RETIRE
        worth = float(values[i]) * (expected.stakes.finished_scale if name in (PARTIAL, REBUILD) else 1.0)
        if goes:
            worth = expected.market.replacement_price if action.exchange else 0.0
        played = () if goes else _parts_played(expected, action.plan)
        found[name] = Prospect(
            way=name,
            price=_range(outcome.price),
            expected_price=float(prices[i]),
            proceeds=proceeds if goes else None,
            value_after=_range(outcome.value),
            expected_value=worth,
            years=_range(outcome.years),
            plays=_plays(expected, action) if not goes else expected.market.replacement.plays * action.exchange,
            parts_played=played,
            still_good=tuple(float((outcome.years > years).mean()) for years in LOOKS_AHEAD),
            surprise=_surprise(expected, action.plan) if name in (PARTIAL, REBUILD) else 0.0,
            best=best.get(name, 0.0),
            affordable=within[name],
        )
    return found


def adds(study: Study, decision: Decision, way: str, operation: str) -> float | None:
    """Return what one operation more, or instead of the part's own, does to the expected price of a way, with tax.

    Parameters
    ----------
    way : str
        'rebuild' or 'partial_repair'; for any other way, what it costs by itself.
    operation : str
        A treatment of a part takes the place of the plan's; any other operation is added with all that it brings.

    Returns
    -------
    float or None
        0 where the plan has it already; None where there is no such operation for this piano.
    """
    shop, expected, price = study.shop, decision.expected, decision.ways.price
    if operation not in shop.index:
        return None
    o = shop.index[operation]
    action = decision.actions.get(way)
    plan = action.plan if action is not None and way in (PARTIAL, REBUILD) else shop.keep_all
    planned = study.rules.base | shop.demanded[plan, 0].any(axis=0)
    charged = shop.uncovered(planned)
    if charged[o]:
        return 0.0
    choice = next((c for c, made in enumerate(shop.choices) if made.operation == o), None)
    if choice is not None:
        _, forced = study.rules.within(way)
        changed = shop.complete(shop.with_choices(plan[None], np.array([choice]), forced)[0], forced)
        with_it, without = price.of(expected.means(np.array([changed[0], plan])))
        return float(with_it - without)
    more = shop.uncovered(planned | shop.brings[o])
    amounts = expected.prices.expected
    return float(amounts[more].sum() - amounts[charged].sum())


def _best_shares(outcomes: dict[str, Outcome]) -> dict[str, float]:
    nets = np.array([outcome.net for outcome in outcomes.values()])
    counts = np.bincount(nets.argmax(axis=0), minlength=len(nets)) / nets.shape[1]
    return dict(zip(outcomes, counts.tolist(), strict=True))


def _played(expected: Expectations, plan: np.ndarray) -> np.ndarray:
    """Return how well the piano plays with each part as the work leaves it, given the exposure, shape (P, 3)."""
    shop = expected.shop
    plays = shop.plays
    left = plays[np.arange(len(plan))[:, None], shop.after[plan]]
    return np.einsum("phs,ps->ph", expected.condition.given, left)


def _plays(expected: Expectations, action: Action) -> float:
    return float(_played(expected, action.plan).prod(axis=0) @ expected.condition.exposure)


def _parts_played(expected: Expectations, plan: np.ndarray) -> tuple[tuple[str, float], ...]:
    each = _played(expected, plan) @ expected.condition.exposure
    order = np.argsort(each, kind="stable")
    return tuple((expected.shop.parts[p].id, float(each[p])) for p in order)


def _surprise(expected: Expectations, plan: np.ndarray) -> float:
    """Return the chance that at least one planned part is worse than its treatment can mend."""
    as_planned = (expected.shop.kinds[plan] == 0).astype(float)
    holds = np.einsum("phs,ps->ph", expected.condition.given, as_planned).prod(axis=0)
    return float(1.0 - holds @ expected.condition.exposure)


def _range(values: np.ndarray) -> Range:
    low, likely, high = tenths(values)
    return Range(low=low, likely=likely, high=high)
