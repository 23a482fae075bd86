"""What each sum spent can bring: the plans that no other beats in both price and result, and today's."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.core.decide import Decision, Study
from valuation.core.options import PARTIAL, REBUILD, RETIRE
from valuation.core.quote import level_words
from valuation.core.search import class_frontier
from valuation.core.work import distinct

_KEPT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One way to spend money, by exact expectations. Money with tax.

    Attributes
    ----------
    option : str
    price : float
        What is spent.
    result : float
        What the client has of it before the price: value kept, playing, premium.
    net : float
        Result less price.
    treatments : dict of str to str
        Part to operation.
    """

    option: str
    price: float
    result: float
    net: float
    treatments: dict[str, str]


@dataclass(frozen=True, slots=True)
class CostAndResult:
    """The frontier of the plans of work, cheapest first; and today's options, each where it lies."""

    frontier: tuple[Spot, ...]
    today: tuple[Spot, ...]


@lru_cache(maxsize=_KEPT)
def cost_and_result(study: Study) -> CostAndResult:
    """Return the frontier about a study's best plan of work, and its options; made once and kept.

    Plans are found where benefits are straightened about the best plan, then read by their exact price and net; what
    another plan beats in both is left out.
    """
    decision = study.decide()
    return CostAndResult(frontier=_frontier(study, decision), today=_today(decision))


def _frontier(study: Study, decision: Decision) -> tuple[Spot, ...]:
    worked = [option for option in (REBUILD, PARTIAL) if option in decision.actions]
    if not worked:
        return ()
    about = decision.actions[max(worked, key=lambda option: decision.nets[option])].plan
    expected, way, shop, rules = decision.expected, decision.ways, study.shop, study.rules
    found = [class_frontier(expected, way.work, way.price, about, rules, option) for option in worked]
    plans = distinct(np.concatenate([*found, [decision.actions[option].plan for option in worked]]))
    plans = plans[rules.are_open(shop, plans)]
    means = expected.means(plans)
    prices, nets = way.price.of(means), way.work.of(means)
    results = nets + prices
    best, spots = -np.inf, []
    for i in np.lexsort((-results, prices)):
        if results[i] > best:
            best = results[i]
            option = REBUILD if shop.are_rebuilds(plans[i : i + 1])[0] else PARTIAL
            _, treatments = level_words(expected, plans[i])
            spots.append(_spot(option, float(prices[i]), float(nets[i]), treatments))
    return tuple(spots)


def _today(decision: Decision) -> tuple[Spot, ...]:
    spots = []
    for option, action in decision.actions.items():
        treatments = {} if option == RETIRE else level_words(decision.expected, action.plan)[1]
        spots.append(_spot(option, decision.prices[option], decision.nets[option], treatments))
    return tuple(spots)


def _spot(option: str, price: float, net: float, treatments: dict[str, str]) -> Spot:
    return Spot(option=option, price=price, result=net + price, net=net, treatments=treatments)
