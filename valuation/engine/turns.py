"""Turns: for each figure, where the verdict turns, with plans made anew.

In: a study, its answer. Out: `Flip`s. Plans are searched for today and at the far end of a figure. Among those found
so far, at many points between, the nearest turn is looked for and closed in on by halving; then plans are searched for
on both sides of it. What is found so joins the plans, as cutting planes do, until a look and a search agree:

    plans found so far -> nearest turn among them -> a search on both sides -> agreed, or more plans found so far

Where they go on disagreeing, as they may along the horizon, every point is searched at.

References
----------
Kelley, "The cutting-plane method for solving convex programs", Journal of the SIAM 8 (1960), 703-712.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from itertools import takewhile

import numpy as np

from valuation.engine.appraised_advice import Flip
from valuation.engine.bench import Bench
from valuation.engine.decision import REBUILD, RETIRE, Decision
from valuation.engine.knowing import Known
from valuation.engine.payoffs import moments_of
from valuation.engine.plans import Payoff
from valuation.engine.pool import Pool
from valuation.engine.reasons import expected_value
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.study import Answer, Figures, Found, Study, bench_at, decide_at, what_if

WITHIN = 0.005
"""A turn is closed in on to this share of the figure [-]."""

POINTS = 24
"""At so many points on each side the plans found are asked: a way that is best only between two of them is missed."""

SCALES = (0.1, 5.0)
"""How far factors are turned [-]."""

ROUNDS = 4
"""After so many rounds in which a look and a search disagreed, plans are searched for at every point."""

YEAR_POINTS = 8
"""The same for the horizon, along which a plan must be read anew at every point."""

YEARS = (3.0, 40.0)
"""How far the horizon is turned [years]."""

_LIKELY_ENOUGH = 0.01
_START = 0.005


@dataclass(frozen=True, slots=True)
class _Driver:
    """One figure: its name, today's value, how far to look, at how many points, and the figures at a value of it."""

    name: str
    today: float
    ends: tuple[float, float]
    points: int
    at: Callable[[float], Figures]
    shown: Callable[[float], float]


BUDGETS = 20
"""So many plans of one way, each cheaper than the one before, are tried for where the budget turns the verdict."""


def flips(study: Study, answer: Answer, known: Known) -> tuple[Flip, ...]:
    """Return where the verdict turns along each figure, or that it doesn't."""
    if answer.figures is not study.figures:  # turned by hand: each figure is turned further from there
        study = replace(study, figures=answer.figures)
    asked = _Asked(study, answer)
    return (
        *(_turn(asked, driver) for driver in _drivers(study, answer)),
        _budget(asked, answer),
        *_faults(study, answer, known),
    )


class _Asked:
    """A study, the plans found so far, and what each search found: that settles what the plans found so far say."""

    def __init__(self, study: Study, answer: Answer) -> None:
        self.study, self.verdict, self.pool = study, answer.decision.verdict, Pool()
        self._searched: dict[object, Found] = {}
        self._told: dict[object, Decision] = {}
        self._keep(answer)

    def searched(self, figures: Figures) -> Decision:
        """Return the decision with plans made anew."""
        if not self.is_searched(figures):
            self._keep(decide_at(self.study, figures))
        return self.among_found(figures)

    def among_found(self, figures: Figures) -> Decision:
        """Return the decision among the plans found so far, or among those of a search where there was one."""
        stakes = figures.stakes
        found = self._searched.get(_searched_by(figures))

        def among(payoff: Payoff) -> tuple[Bench, Found]:
            bench = bench_at(self.study, figures)
            return bench, found or self.pool.best(bench, payoff, moments_of(stakes), stakes.budget)

        key = _searched_by(figures), stakes, 0 if found is not None else len(self.pool.plans)
        if key not in self._told:
            self._told[key] = decide_at(self.study, figures, among).decision
        return self._told[key]

    def is_searched(self, figures: Figures) -> bool:
        """Tell whether plans were made anew at figures that a search doesn't tell apart from these."""
        return _searched_by(figures) in self._searched

    def _keep(self, answer: Answer) -> None:
        self._searched[_searched_by(answer.figures)] = answer.found
        self.pool.join(answer.found, answer.figures.stakes.budget)


def _searched_by(figures: Figures) -> object:
    """Return what a search goes by: hours by what they cost; heart and budget only choose among what it finds."""
    stakes = replace(figures.stakes, to_have=0.0, to_hear=0.0, budget=None)
    return figures.hours_scale * figures.rate_scale, figures.finished_scale, stakes


def _drivers(study: Study, answer: Answer) -> list[_Driver]:
    stakes, decision = answer.figures.stakes, answer.decision
    found: list[_Driver] = []
    works = [option for option in decision.best if option in (decision.verdict, REBUILD)] or list(decision.best)
    finished = expected_value(study, answer, decision.best[works[0]]) / answer.figures.finished_scale

    def same(x: float) -> float:
        return x

    def value(x: float) -> float:
        return finished * x

    rate = max((price.rate for price in study.prices.operations.values()), default=0.0)

    def hourly(x: float) -> float:
        return rate * x

    turned = answer.figures
    found += [
        _Driver(
            "finished_value", turned.finished_scale, SCALES, POINTS, lambda x: what_if(study, finished_scale=x), value
        ),
        _Driver("hours", turned.hours_scale, SCALES, POINTS, lambda x: what_if(study, hours_scale=x), same),
        _Driver("hourly_rate", turned.rate_scale, SCALES, POINTS, lambda x: what_if(study, rate_scale=x), hourly),
    ]
    reach = 3 * study.market.sound + 20_000
    found.append(_Driver("to_hear", stakes.to_hear, (0.0, reach), POINTS, lambda x: what_if(study, to_hear=x), same))
    found.append(_Driver("horizon", stakes.horizon, YEARS, YEAR_POINTS, lambda x: what_if(study, horizon=x), same))
    return found


def _turn(asked: _Asked, driver: _Driver) -> Flip:
    below, above = (_nearest(asked, driver, end) for end in driver.ends)
    return Flip(
        driver=driver.name,
        today=driver.shown(driver.today),
        below=driver.shown(below[0]) if below else None,
        above=driver.shown(above[0]) if above else None,
        then_below=below[1] if below else "",
        then_above=above[1] if above else "",
    )


def _nearest(asked: _Asked, driver: _Driver, end: float) -> tuple[float, str] | None:
    """Return the turn nearest to today on the way to one end, and the way that is best beyond it; None without one."""
    points = _points(driver, end)
    if not points:
        return None

    def stays(look: Callable[[Figures], Decision], x: float) -> bool:
        return look(driver.at(x)).verdict == asked.verdict

    asked.searched(driver.at(end))
    least = _START * max(driver.today, end)
    look, rounds = asked.among_found, 0
    while True:
        stay = [*takewhile(partial(stays, look), points)]
        if len(stay) == len(points):
            return None
        near, far = [driver.today, *stay][-1], points[len(stay)]
        while abs(far - near) > WITHIN * max(abs(far), abs(near), least):
            middle = (near + far) / 2
            if stays(look, middle):
                near = middle
            else:
                far = middle
        then = asked.searched(driver.at(far)).verdict
        if then != asked.verdict and (near == driver.today or stays(asked.searched, near)):
            return far, then
        points = sorted({*points, near, far} - {driver.today}, key=lambda x: abs(x - driver.today))
        rounds += 1
        if rounds == ROUNDS:
            look = asked.searched


def _points(driver: _Driver, end: float) -> list[float]:
    """Return points from beyond today's figure to an end, in steps of equal ratio; none if it lies no further."""
    today = driver.today
    if end == today or (end < today) != (end == driver.ends[0]):
        return []
    # From nothing, or to nothing, there is no ratio: steps grow from a small share of the whole way.
    start = min(today, end) or _START * max(today, end)
    ratios = np.geomspace(start, max(today, end), driver.points + 1)
    steps = ratios[1:] if end > today else ratios[-2::-1]
    return [*steps[:-1].tolist(), end]


def _budget(asked: _Asked, answer: Answer) -> Flip:
    """The most that could be spent below which another way is best: from the ways' own prices."""
    decision = answer.decision
    today = answer.figures.stakes.budget
    if decision.verdict == RETIRE:
        return Flip(driver="budget", today=today)
    limit = decision.best[decision.verdict].price
    for _ in range(BUDGETS):
        then = asked.searched(what_if(asked.study, budget=limit * (1 - 1e-9)))
        if then.verdict != decision.verdict:
            return Flip(driver="budget", today=today, below=limit, then_below=then.verdict)
        # The same way with less in it: the turn lies where that no longer fits either.
        limit = then.best[then.verdict].price
    return Flip(driver="budget", today=today)


def _faults(study: Study, answer: Answer, known: Known) -> list[Flip]:
    """Severities of one fault that would turn the verdict, were it known to have them; the likeliest of each part."""
    condition, verdict = study.condition, answer.decision.verdict
    # A way that comes out ahead today and isn't the verdict is barred by a rule, not by its worth.
    ahead = max(net for option, net in zip(known.options, known.nets, strict=True) if option == verdict)
    open_to = [option in answer.decision.best or option == RETIRE or net < ahead
               for option, net in zip(known.options, known.nets, strict=True)]  # fmt: skip
    winner = np.where(np.array(open_to)[:, None, None], known.shares, -np.inf).argmax(axis=0)
    found: dict[str, Flip] = {}
    for f, row in enumerate(condition.network.faults):
        for s, severity in enumerate(SEVERITIES):
            chance, then = float(condition.severities[f, s]), known.options[int(winner[f, s])]
            held = found.get(row.part)
            if chance >= _LIKELY_ENOUGH and then != verdict and (held is None or chance > held.chance):
                found[row.part] = Flip(
                    driver=f"fault:{row.id}", today=None, then_above=then, name=row.name, state=severity, chance=chance
                )
    return list(found.values())
