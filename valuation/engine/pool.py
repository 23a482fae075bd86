"""Pool: plans found so far, read again at other figures without another search.

In: what searches found, a bench, a payoff. Out: the best plans of the pool for each aim. Net and price are linear once
a plan is given: a plan's terms are read with the new payoff, its labour and other amounts with the new prices.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.bench import Bench
from valuation.engine.outlook import Moments
from valuation.engine.plans import Payoff, Plan, means_of

_READ = 6
"""So many plans of an aim are offered to choose among, the best first."""


@dataclass(eq=False)
class Pool:
    """Plans of every aim, each once. It grows with each search, and is always one piano's.

    Attributes
    ----------
    of_aim : dict of str to list of int
        Positions of each aim's plans.
    """

    plans: list[Plan] = field(default_factory=list)
    of_aim: dict[str, list[int]] = field(default_factory=dict)
    _known: set[tuple[str, int, tuple[int, ...]]] = field(default_factory=set)
    _read: dict[Moments, Floats] = field(default_factory=dict)

    def join(self, found: dict[str, tuple[Plan, ...]], budget: float | None = None) -> None:
        """Take in the best that a search found, and of each aim the best that a budget allows."""
        for aim, plans in found.items():
            own = self.of_aim.setdefault(aim, [])
            within = [plan for plan in plans[_READ:] if budget is not None and plan.price <= budget][:1]
            for plan in (*plans[:_READ], *within):
                key = (aim, plan.opening, plan.choices)
                if key not in self._known:
                    self._known.add(key)
                    own.append(len(self.plans))
                    self.plans.append(plan)

    def best(self, bench: Bench, payoff: Payoff, moments: Moments, budget: float | None) -> dict[str, tuple[Plan, ...]]:
        """Return the best plans of each aim, the best first; the last is the best that a budget allows, if any is.

        Parameters
        ----------
        moments : Moments
            At which the bench looks at playing.
        budget : float, optional
            Most that may be spent.
        """
        read = self._of(bench, moments)
        price = read[:, -2] * bench.scale + read[:, -1]
        net = payoff.constant + read[:, :-2] @ payoff.coefficients - price
        found = {}
        for aim, of in self.of_aim.items():
            own = np.array(of, dtype=np.intp)
            ranked = own[np.argsort(-net[own], kind="stable")]
            taken = ranked[:_READ].tolist()
            if budget is not None:
                taken += ranked[_READ:][price[ranked[_READ:]] <= budget][:1].tolist()
            found[aim] = tuple(
                Plan(aim, self.plans[i].opening, self.plans[i].choices, float(net[i]), float(price[i])) for i in taken
            )
        return found

    def _of(self, bench: Bench, moments: Moments) -> Floats:
        """Return each plan's expected terms, then its labour and other amounts with tax; only new ones are read."""
        read = self._read.get(moments, np.zeros((0, bench.weighed[0].width + 2)))
        if len(read) < len(self.plans):
            read = np.concatenate([read, _reading(bench, self.plans[len(read) :])])
            self._read[moments] = read
        return read


def _reading(bench: Bench, plans: list[Plan]) -> Floats:
    openings = np.array([plan.opening for plan in plans])
    choices: Ints = np.array([plan.choices for plan in plans]).T
    labour, other = bench.opening_labour[openings], bench.opening_other[openings]
    for menu, chosen in zip(bench.weighed, choices, strict=True):
        labour = labour + menu.labour[chosen]
        other = other + menu.other[chosen]
    means = means_of(
        bench, len(plans), (menu.terms(chosen) for menu, chosen in zip(bench.weighed, choices, strict=True))
    )
    return np.concatenate([means, labour[:, None], other[:, None]], axis=1)
