"""Turns: for each figure, where the verdict turns, with plans made anew.

In: a study, its answer. Out: `Flip`s. Between today and the far end of a figure the verdict is asked at a few
points, then the turn is closed in on by halving, the plans worked out anew at each step: a plan that would be best
there is never missed.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from valuation.engine.appraised_advice import Flip
from valuation.engine.decision import REBUILD, RETIRE
from valuation.engine.knowing import Known
from valuation.engine.reasons import expected_value
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.study import Answer, Figures, Study, decide_at, what_if

WITHIN = 0.005
"""A turn is closed in on to this share of the figure [-]."""

_LIKELY_ENOUGH = 0.01


@dataclass(frozen=True, slots=True)
class _Driver:
    """One figure: its name, today's value, how far to look, and the figures at a value of it."""

    name: str
    today: float
    points: tuple[float, ...]
    at: Callable[[float], Figures]
    shown: Callable[[float], float]


BUDGETS = 20
"""So many plans of one way, each cheaper than the one before, are tried for where the budget turns the verdict."""


def flips(study: Study, answer: Answer, known: Known) -> tuple[Flip, ...]:
    """Return where the verdict turns along each figure, or that it doesn't."""
    return (
        *(_turn(study, answer, driver) for driver in _drivers(study, answer)),
        _budget(study, answer),
        *_faults(study, answer, known),
    )


def _drivers(study: Study, answer: Answer) -> list[_Driver]:
    stakes, decision = answer.figures.stakes, answer.decision
    found: list[_Driver] = []
    works = [option for option in decision.best if option in (decision.verdict, REBUILD)] or list(decision.best)
    finished = expected_value(study, answer, decision.best[works[0]]) / answer.figures.finished_scale
    scales = (0.1, 0.3, 0.55, 0.8, 1.25, 1.8, 3.0, 5.0)

    def same(x: float) -> float:
        return x

    def value(x: float) -> float:
        return finished * x

    rate = max((price.rate for price in study.prices.operations.values()), default=0.0)

    def hourly(x: float) -> float:
        return rate * x

    found.append(
        _Driver(
            "finished_value", answer.figures.finished_scale, scales, lambda x: what_if(study, finished_scale=x), value
        )
    )
    found.append(_Driver("hours", answer.figures.hours_scale, scales, lambda x: what_if(study, hours_scale=x), same))
    found.append(
        _Driver("hourly_rate", answer.figures.rate_scale, scales, lambda x: what_if(study, rate_scale=x), hourly)
    )
    reach = 3 * study.market.sound + 20_000
    hearts = tuple(sorted({0.0, *(reach * share for share in (0.05, 0.15, 0.4, 1.0))}))
    found.append(_Driver("to_hear", stakes.to_hear, hearts, lambda x: what_if(study, to_hear=x), same))
    found.append(
        _Driver("horizon", stakes.horizon, (3.0, 6.0, 10.0, 20.0, 40.0), lambda x: what_if(study, horizon=x), same)
    )
    return found


def _turn(study: Study, answer: Answer, driver: _Driver) -> Flip:
    verdict = answer.decision.verdict
    below = _search(study, verdict, driver, [x for x in reversed(driver.points) if x < driver.today])
    above = _search(study, verdict, driver, [x for x in driver.points if x > driver.today])
    return Flip(
        driver=driver.name,
        today=driver.shown(driver.today),
        below=driver.shown(below[0]) if below else None,
        above=driver.shown(above[0]) if above else None,
        then_below=below[1] if below else "",
        then_above=above[1] if above else "",
    )


def _search(study: Study, verdict: str, driver: _Driver, points: list[float]) -> tuple[float, str] | None:
    """Return the nearest turn along points that lead away from today, and the way that is best beyond it."""
    near = driver.today
    for far in points:
        then = decide_at(study, driver.at(far)).decision.verdict
        if then == verdict:
            near = far
            continue
        while abs(far - near) > WITHIN * max(abs(far), abs(near)):
            middle = (near + far) / 2
            found = decide_at(study, driver.at(middle)).decision.verdict
            if found == verdict:
                near = middle
            else:
                far, then = middle, found
        return far, then
    return None


def _budget(study: Study, answer: Answer) -> Flip:
    """The most that could be spent below which another way is best: from the ways' own prices."""
    decision = answer.decision
    today = answer.figures.stakes.budget
    if decision.verdict == RETIRE:
        return Flip(driver="budget", today=today)
    limit = decision.best[decision.verdict].price
    for _ in range(BUDGETS):
        then = decide_at(study, what_if(study, budget=limit * (1 - 1e-9))).decision
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
