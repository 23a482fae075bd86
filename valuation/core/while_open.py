"""What each further treatment would add to a plan while the piano is open, against having it done alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.core.decide import Decision, Study


@dataclass(frozen=True, slots=True, kw_only=True)
class Further:
    """One treatment that is not in the plan. Expected money, with tax.

    Attributes
    ----------
    part, level, operation, name : str
    adds : float
        What the plan's price rises by: shared steps are paid for already.
    alone : float
        What it would cost by itself, some other day.
    net : float
        What it does to the client's net worth, as part of the plan.
    rows : tuple of str
    """

    part: str
    level: str
    operation: str
    name: str
    adds: float
    alone: float
    net: float
    rows: tuple[str, ...]


def while_it_is_open(study: Study, decision: Decision, option: str) -> tuple[Further, ...]:
    """Return what each treatment beyond an option's plan would add, the greatest saving against doing it alone first.

    Parameters
    ----------
    option : str
        'rebuild' or 'partial_repair'.
    """
    shop = study.shop
    expected, way, plan = decision.expected, decision.ways, decision.actions[option].plan
    levels = np.array([choice.level for choice in shop.choices])
    allowed, forced = study.rules.within(option)
    more = np.flatnonzero(allowed & (levels > levels[plan][shop.part_of]))
    if not len(more):
        return ()
    with_it = expected.means(shop.with_choices(plan[None], more, forced)[0])
    alone = expected.means(shop.with_choices(shop.keep_all[None], more, forced)[0])
    adds = way.price.of(with_it) - decision.prices[option]
    net = way.work.of(with_it) - decision.nets[option]
    found = [
        Further(
            part=shop.parts[shop.choices[c].part].id,
            level=shop.choices[c].level.word,
            operation=shop.operations[shop.choices[c].operation].id,
            name=shop.operations[shop.choices[c].operation].name,
            adds=float(adds[i]),
            alone=float(way.price.of(alone[i])),
            net=float(net[i]),
            rows=(f"operations:{shop.operations[shop.choices[c].operation].id}",),
        )
        for i, c in enumerate(more)
    ]
    return tuple(sorted(found, key=lambda further: further.adds - further.alone))
