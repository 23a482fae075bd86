"""Frontier: what each sum spent can bring: the plans that no other beats in both price and result, and today's ways.

In: a study. Out: the Pareto frontier of all plans found, over every scope and opening, by their exact price and
result.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from valuation.engine.decision import PARTIAL, REBUILD, RETIRE
from valuation.engine.payoffs import heart_payoff
from valuation.engine.plans import Plan, terms_of
from valuation.engine.study import Answer, Study, decide_at

_KEPT = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One way to spend money, by exact expectations. Money with tax.

    Attributes
    ----------
    price : float
        What is spent.
    result : float
        What the client has of it before the price: value kept, playing, what it means to them.
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
    """The frontier of the plans of work, cheapest first; and today's ways, each where it lies."""

    frontier: tuple[Spot, ...]
    today: tuple[Spot, ...]


@lru_cache(maxsize=_KEPT)
def cost_and_result(study: Study) -> CostAndResult:
    """Return the frontier of a study, and its ways; made once and kept."""
    answer = decide_at(study)
    return CostAndResult(frontier=_frontier(study, answer), today=_today(study, answer))


def _frontier(study: Study, answer: Answer) -> tuple[Spot, ...]:
    spots = {
        (plan.opening, plan.choices): _spot(study, answer, plan) for plans in answer.found.values() for plan in plans
    }
    worth = float("-inf")
    kept = []
    for spot in sorted(spots.values(), key=lambda spot: (spot.price, -spot.result)):
        if spot.result > worth:
            worth = spot.result
            kept.append(spot)
    return tuple(kept)


def _spot(study: Study, answer: Answer, plan: Plan) -> Spot:
    heart = heart_payoff(answer.figures.stakes).of(terms_of(answer.bench, plan), study.condition.causes)
    systems = study.catalogue.access.openings[plan.opening].systems
    most = max((row.systems_most for row in study.tables.scopes if row.verdict == PARTIAL), default=0)
    return Spot(
        option=REBUILD if len(systems) > most else PARTIAL,
        price=plan.price,
        result=plan.net + plan.price + heart,
        net=plan.net + heart,
        treatments=_treatments(study, answer, plan),
    )


def _treatments(study: Study, answer: Answer, plan: Plan) -> dict[str, str]:
    """Return part to fixed larger remedy."""
    return {
        study.condition.network.parts[menu.menu.part].id: menu.menu.ladders[n].fixed
        for menu, n in zip(answer.bench.weighed, plan.choices, strict=True)
        if menu.menu.ladders[n].fixed
    }


def _today(study: Study, answer: Answer) -> tuple[Spot, ...]:
    decision = answer.decision
    found = []
    for option, net in decision.nets.items():
        scope = decision.best.get(option)
        bought = study.market.replacement_price if decision.parting.exchange else 0.0
        price = scope.price if scope else bought - decision.parting.sale
        treatments = _treatments(study, answer, scope.plan) if scope and option != RETIRE else {}
        found.append(Spot(option=option, price=price, result=net + price, net=net, treatments=treatments))
    return tuple(found)
