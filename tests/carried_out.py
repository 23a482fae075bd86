"""Work carried out on pianos whose truth is known: what a plan then comes to, drawn operation by operation.

The years after it are lived through day by day: each part serves its own drawn life, and nothing is averaged.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from every_vector import Treated, Twin

from valuation.engine.decision import Scope
from valuation.engine.money import Price
from valuation.engine.rows.condition import PartRow
from valuation.engine.rows.words import STATES
from valuation.engine.study import Answer, Study


@dataclass(frozen=True, eq=False)
class Done:
    """What a scope came to, in n pianos or draws: price with tax, value afterwards, and net worth, heart apart."""

    price: np.ndarray
    value: np.ndarray
    net: np.ndarray


class Carried:
    """One scope of one answer, ready to be carried out on any true severities, F of them."""

    def __init__(self, study: Study, answer: Answer, scope: Scope) -> None:
        self.study, self.scope, self.answer, self.bench = study, scope, answer, answer.bench
        self.twins = [Twin(study, menu) for menu in answer.bench.weighed]
        self.treated: list[Treated] = [twin.treat(n) for twin, n in zip(self.twins, scope.plan.choices, strict=True)]

    def draw(self, severities: np.ndarray, rng: np.random.Generator) -> Done:
        """Carry it out on pianos with these severities, shape (n, F): the job and the market as luck has it."""
        n, prices, market = len(severities), self.study.prices, self.study.market
        job = _lognormal(prices.job_spread, rng.standard_normal(n))
        shared = [prices.operations[name].taxed(prices.tax) for name in sorted(self.scope.operations)]
        spent = sum((_drawn(price, job, rng) for price in shared), np.zeros(n))
        log_value = np.zeros(n)
        lived = _Lived(self.study, self.answer, n)
        network = self.study.condition.network
        for menu, choice, treated in zip(self.bench.weighed, self.scope.plan.choices, self.treated, strict=True):
            p = menu.menu.part
            own = severities[:, network.first[p] : network.first[p + 1]]
            at = own @ 4 ** np.arange(own.shape[1])[::-1]  # its place among all vectors
            rung, state = treated.rung[at], treated.state[at]
            ladder = menu.menu.ladders[choice]
            whole_labour, whole_other = np.zeros(n), np.zeros(n)
            for k, step in enumerate(ladder.rungs):
                here = rung == k
                for name in (step.operation, *sorted(step.further)) if step.operation else ():
                    price = prices.operations[name].taxed(prices.tax)
                    spent += here * _drawn(price, job, rng)
                    whole_labour += here * price.labour
                    whole_other += here * (price.material + price.outside)
                lost = self.study.catalogue.operations[step.operation].loss_of_value if step.operation else 0.0
                log_value += here * np.log(1 - lost)
            lasts = [self._lasts(step.operation) for step in ladder.rungs]
            lived.part(network.parts[p], state, np.array(lasts)[rung], rng)
            # What is left are small repairs, each spread as one piece of work.
            small = Price(0.0, 0.0, 1.0, 0.0, 0.0, _SMALL_SPREAD, 0.0)
            spent += (treated.labour[at] - whole_labour) * _drawn(small, job, rng) + treated.other[at] - whole_other
            log_value += np.log(np.maximum(market.factor[p][state], 1e-12))
        luck = np.exp(market.market_spread * rng.standard_normal(n) + market.own_spread * rng.standard_normal(n))
        price, value = spent, market.sound * np.exp(log_value) * luck
        return Done(price=price, value=value, net=lived.worth(value) - price)

    def _lasts(self, operation: str) -> float:
        return (self.study.catalogue.operations[operation].lasts_years or 0.0) if operation else 0.0


class _Lived:
    """The years after the work, in steps of a fortieth of a year, for n pianos at once."""

    def __init__(self, study: Study, answer: Answer, n: int) -> None:
        self.study, self.answer, self.stakes = study, answer, answer.figures.stakes
        steps = round(40 * self.stakes.horizon)
        self.times = (np.arange(steps) + 0.5) * self.stakes.horizon / steps
        self.plays, self.dies = np.ones((n, steps)), np.full(n, np.inf)

    def part(self, row: PartRow, state: np.ndarray, lasts: np.ndarray, rng: np.random.Generator) -> None:
        """Let a part live: it plays as its state does, then as one that has failed; some take the piano with them."""
        n = len(state)
        years = np.array([row.years_sound, row.years_serviceable, row.years_worn, 0.0])[state]
        years = np.where(state <= STATES.index("serviceable"), np.maximum(years, lasts), years)
        end = years * (rng.exponential(size=n) / np.log(2)) ** (1 / self.stakes.wear_shape)
        plays = np.array([row.play_sound, row.play_serviceable, row.play_worn, row.play_failed])[state]
        after = 0.0 if row.ends_service else row.play_failed
        self.plays *= np.where(self.times < end[:, None], plays[:, None], after)
        if row.ends_service:
            self.dies = np.minimum(self.dies, end)

    def worth(self, value: np.ndarray) -> np.ndarray:
        """Return what is left of the value, the playing, and what comes after the piano has given out."""
        stakes, horizon = self.stakes, self.stakes.horizon
        worth_now = (1 + stakes.discount) ** -self.times * horizon / len(self.times)
        gone = self.times >= self.dies[:, None]
        years = (stakes.playing_year * self.plays + self.answer.recourse * gone) @ worth_now
        haul = self.study.market.replacement.haul_away * (1 + stakes.discount) ** -self.dies * (self.dies < horizon)
        return value * stakes.kept_at_end + years - haul


_SMALL_SPREAD = 0.2
"""How small repairs run over or under beside the job as a whole, standard deviation of the logarithm."""


def _lognormal(spread: float, normal: np.ndarray) -> np.ndarray:
    return np.exp(spread * normal - spread**2 / 2)


def _drawn(price: Price, job: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return what one operation came to, before tax."""
    own, other = rng.standard_normal((2, len(job)))
    labour = price.labour * job * _lognormal(price.own_spread, own)
    return labour + (price.material + price.outside) * _lognormal(price.other_spread, other)


def severities_of(study: Study, n: int, rng: np.random.Generator) -> np.ndarray:
    """Draw true severities from the posterior, shape (n, F): the cause first, then each fault by itself."""
    condition = study.condition
    cause = rng.choice(9, n, p=condition.causes)
    marks = np.cumsum(condition.faults_given[:, cause], axis=2)  # (F, n, 4)
    lot = rng.random(marks.shape[:2])[:, :, None] * marks[:, :, -1:]
    return (lot > marks[:, :, :-1]).sum(axis=2).T
