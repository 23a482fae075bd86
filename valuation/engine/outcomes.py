"""Outcomes: what may come of each way: the spread about the exact expectations, drawn on shared base numbers.

In: a bench, the decision, prices, market, stakes. Out: an `Outcome` for each way. All stand on the same draws: the
same cause, the same true states, the same market, the same job, so that a difference between two is drawn as such.

Parts are drawn, never faults: given the cause, a part comes out as one of few pairs (rung, state left). The sum of
many operations' own scatter is drawn as one lognormal with the same mean and variance (Fenton and Wilkinson).

References
----------
Fenton, "The sum of log-normal probability distributions in scatter transmission systems", IRE Transactions on
Communications Systems 8 (1960), 57-67.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from valuation.engine.arrays import Floats
from valuation.engine.bench import Bench
from valuation.engine.catalogue import Catalogue
from valuation.engine.choices import Weighed
from valuation.engine.decision import RETIRE, Decision, Scope
from valuation.engine.draws import BaseNumbers, base_numbers
from valuation.engine.market import Market
from valuation.engine.money import Price, Prices
from valuation.engine.outlook import LN2, median_years
from valuation.engine.payoffs import playing_payoff
from valuation.engine.rows.condition import PartRow
from valuation.engine.rows.words import STATES
from valuation.engine.stakes import Stakes, capital_recovery
from valuation.engine.study import Answer, Study

# Dimensions of the base numbers, in order of weight; the parts follow.
CAUSE, JOB, MARKET, OWN, REPLACEMENT, LIFE, EFFORT, MATERIAL = range(8)
FIRST_PART = 8
FAILED = STATES.index("failed")
_STILL_PLAYS = 0.6
"""A piano that still plays this well with a part failed has not come to the end of its good years [-]."""
_NEGLIGIBLE = 1e-4
"""What is rarer is hardly drawn once [-]."""
_YEARS = 10.0
"""Wear is counted over so many years; only keeps the numbers in range [years]."""

Draws = NDArray[np.float32]


@dataclass(frozen=True, eq=False)
class Outcome:
    """One way on the draws, n of each. Money in the shop's currency, with tax.

    Attributes
    ----------
    price, value, net, per_year : ndarray, shape (n,)
        What is paid; what the piano (or the replacement) is worth afterwards; net worth to the client; cost of a year.
    years : ndarray, shape (n,)
        Years until the first part gives out with which the piano ends, or hardly plays [years].
    """

    price: Draws
    value: Draws
    net: Draws
    years: Draws
    per_year: Draws


@dataclass(frozen=True, eq=False)
class Noise:
    """What all ways share: the blocks of the causes, and the normals.

    Attributes
    ----------
    sizes : ndarray of int, shape (9,)
        How many draws are each joint cause's.
    kept : dict
        What each choice for a part came out as, drawn once for all ways that make it.
    """

    base: BaseNumbers
    sizes: NDArray[np.intp]
    job: Draws
    market: Draws
    own: Draws
    replacement: Draws
    effort: Draws
    material: Draws
    wear: Draws
    kept: dict[tuple[Weighed, int, float], tuple[_Atoms, NDArray[np.uint8] | None]] = field(default_factory=dict)


def tenths(values: Draws) -> tuple[float, float, float]:
    """Return the 10, 50 and 90 % points of draws, exactly."""
    n, ordered = len(values), np.sort(values)
    low, middle, high = ordered[[n // 10, n // 2, n - 1 - n // 10]].tolist()
    return low, middle, high


def draw_noise(causes: Floats, draws: int, seed: int) -> Noise:
    """Return what all ways of one piano share."""
    base = base_numbers(draws, seed)
    ends = np.rint(np.cumsum(causes) * draws).astype(np.intp)
    ends[-1] = draws
    return Noise(
        base=base,
        sizes=np.diff(ends, prepend=0),
        job=base.normals(JOB),
        market=base.normals(MARKET),
        own=base.normals(OWN),
        replacement=base.normals(REPLACEMENT),
        effort=base.normals(EFFORT),
        material=base.normals(MATERIAL),
        wear=base.exponentials(LIFE),
    )


@lru_cache(maxsize=4)
def noise_of(study: Study) -> Noise:
    """Return what all ways of a study share, whatever the figures; made once and kept."""
    return draw_noise(study.condition.causes, study.draws, study.seed)


def outcomes_of(study: Study, answer: Answer) -> dict[str, Outcome]:
    """Return each way of an answer on the draws of its study."""
    figures = answer.figures
    return draw_outcomes(
        study.catalogue, answer.bench, study.prices, study.market, figures.stakes,
        answer.decision, answer.recourse, noise_of(study),
        figures.hours_scale * figures.rate_scale, figures.finished_scale,
    )  # fmt: skip


def draw_outcomes(
    catalogue: Catalogue,
    bench: Bench,
    prices: Prices,
    market: Market,
    stakes: Stakes,
    decision: Decision,
    recourse: float,
    noise: Noise,
    labour_scale: float = 1.0,
    finished_scale: float = 1.0,
) -> dict[str, Outcome]:
    """Return each way on the draws.

    Parameters
    ----------
    recourse : float
        What a year is worth once the piano has given out.
    labour_scale, finished_scale : float
        What-if factors on labour and on the value after the work.
    """
    found = draw_scopes(
        catalogue, bench, prices, market, stakes, decision.best, recourse, noise, labour_scale, finished_scale
    )  # fmt: skip
    found[RETIRE] = draw_parting(bench, market, stakes, decision, noise)
    return found


def offered_outcomes(study: Study, answer: Answer) -> dict[str, Outcome]:
    """Return by name the offered scopes that are not the best of their way, on the same draws."""
    figures, decision = answer.figures, answer.decision
    best = [scope.name for scope in decision.best.values()]
    return draw_scopes(
        study.catalogue, answer.bench, study.prices, study.market, figures.stakes,
        {scope.name: scope for scope in decision.scopes if scope.offered and scope.name not in best},
        answer.recourse, noise_of(study),
        figures.hours_scale * figures.rate_scale, figures.finished_scale,
    )  # fmt: skip


def draw_scopes(
    catalogue: Catalogue,
    bench: Bench,
    prices: Prices,
    market: Market,
    stakes: Stakes,
    scopes: Mapping[str, Scope],
    recourse: float,
    noise: Noise,
    labour_scale: float,
    finished_scale: float,
) -> dict[str, Outcome]:
    """Return scopes on the draws, by the names that they are given; arguments as for `draw_outcomes`."""
    luck = _luck(market, noise)
    return {
        name: _draw_scope(
            catalogue, bench, prices, market, stakes, scope, recourse, noise, luck, labour_scale, finished_scale
        )
        for name, scope in scopes.items()
    }  # fmt: skip


def _luck(market: Market, noise: Noise) -> Draws:
    """Return what the market and the instrument itself make of a likely price."""
    return np.exp(np.float32(market.market_spread) * noise.market + np.float32(market.own_spread) * noise.own)


def _draw_scope(
    catalogue: Catalogue,
    bench: Bench,
    prices: Prices,
    market: Market,
    stakes: Stakes,
    scope: Scope,
    recourse: float,
    noise: Noise,
    luck: Draws,
    labour_scale: float,
    finished_scale: float,
) -> Outcome:
    n = noise.base.n
    fixed = [prices.with_tax[name] for name in sorted(scope.operations)]
    # Labour, the rest, logarithms of value and of playing, hazard, and whether it has ended: one row each.
    total = np.zeros((6, n), dtype=np.float32)
    total[0] = sum(price.labour for price in fixed)
    total[1] = sum(price.material + price.outside for price in fixed)
    for p, (menu, choice) in enumerate(zip(bench.weighed, scope.plan.choices, strict=True)):
        key = (menu, choice, stakes.wear_shape)
        if key not in noise.kept:
            made = _atoms(catalogue, bench, menu, choice, stakes)
            noise.kept[key] = made, _draw_atoms(noise, p, made.chance)
        atoms, drawn = noise.kept[key]
        total += atoms.brings[:, :1] if drawn is None else np.take(atoms.brings, drawn, axis=1)
    labour, other, log_value, log_play, hazard, ended = total
    gone = ended > 0
    own, material = _own_spread(_charges(bench, prices, scope, fixed))
    job = np.float32(prices.job_spread)
    effort = np.exp(job * noise.job + np.float32(own) * noise.effort - np.float32((job**2 + own**2) / 2))
    price = np.float32(labour_scale) * labour * effort + other * np.exp(
        np.float32(material) * noise.material - np.float32(material**2 / 2)
    )
    value = np.float32(market.sound * finished_scale) * np.exp(log_value) * luck
    with np.errstate(divide="ignore"):
        years = np.float32(_YEARS) * (noise.wear / hazard) ** np.float32(1 / stakes.wear_shape)
    years[gone] = 0.0
    net = np.float32(stakes.kept_at_end) * value - price + np.float32(stakes.to_have)
    seen = np.minimum(years, np.float32(stakes.horizon))
    lived = _discounted(seen, stakes.discount)
    played = lived * np.exp(log_play)
    exact = playing_payoff(stakes).of(scope.terms, bench.condition.causes)
    mean = float(played.mean())
    if mean > 0:
        # What wears on without ending service is not drawn in time: the mean is held to the exact one.
        played *= np.float32(exact / mean)
    whole = float(stakes.year_weights.sum())
    if scope.tuned:
        net += np.float32(stakes.playing_year + stakes.to_hear / whole) * played
        net += np.float32(recourse) * (np.float32(whole) - lived)
        force = np.float32(math.log1p(stakes.discount))
        net -= np.float32(market.replacement.haul_away) * np.exp(-force * seen) * (years < stakes.horizon)
    net += np.float32(scope.with_heart - float(net.mean(dtype=np.float64)))
    return Outcome(
        price=price,
        value=value,
        net=net.astype(np.float32),
        years=years,
        per_year=_per_year(price - np.float32(stakes.kept_at_end) * value, lived),
    )


@dataclass(frozen=True, eq=False)
class _Atoms:
    """What a part may come out as: the chance of each pair given the cause, and what it brings.

    Attributes
    ----------
    chance : ndarray, shape (9, A)
    brings : ndarray, shape (6, A)
        Labour, the rest of the price, logarithms of value and of playing, hazard, 1 where it has ended.
    """

    chance: Floats
    brings: Draws


def _atoms(catalogue: Catalogue, bench: Bench, menu: Weighed, choice: int, stakes: Stakes) -> _Atoms:
    part = bench.condition.network.parts[menu.menu.part]
    plays = [part.play_sound, part.play_serviceable, part.play_worn, part.play_failed]
    rungs = range(menu.menu.first[choice], menu.menu.first[choice + 1])
    # In the order of the state left, so that the same number means the same luck in every plan.
    chance = menu.states[rungs].transpose(1, 2, 0).reshape(9, -1)
    keep = np.flatnonzero(bench.condition.causes @ chance > _NEGLIGIBLE)
    state, rung = np.divmod(keep, len(rungs))
    chance = np.maximum(chance[:, keep], 0.0)
    chance /= chance.sum(axis=1, keepdims=True)
    # Small repairs are spread evenly over the draws: their sum is what matters, and it is small.
    at = rung + rungs.start
    rest_labour = menu.labour[choice] - menu.chance[rungs] @ menu.rung_labour[rungs]
    rest_other = menu.other[choice] - menu.chance[rungs] @ menu.rung_other[rungs]
    hazards = np.array(
        [_hazards(catalogue, part, r.operation, stakes.wear_shape) for r in menu.menu.ladders[choice].rungs]
    )
    brings = np.empty((6, len(at)), dtype=np.float32)
    brings[0] = menu.rung_labour[at] + rest_labour
    brings[1] = menu.rung_other[at] + rest_other
    brings[2] = np.log(np.maximum(menu.weights[menu.kind[at], state, 0], 1e-12))
    brings[3] = np.log(np.maximum(np.array(plays)[state], 1e-6))
    brings[4] = hazards[rung, state]
    brings[5] = (state == FAILED) & part.ends_service
    return _Atoms(chance=chance, brings=brings)


@lru_cache(maxsize=1024)
def _hazards(catalogue: Catalogue, part: PartRow, operation: str, shape: float) -> tuple[float, ...]:
    """Return by state left how fast a part that matters to playing wears out, after a remedy."""
    lasts = catalogue.operations[operation].lasts_years if operation else None
    if not part.ends_service and part.play_failed >= _STILL_PLAYS:
        return (0.0,) * 4
    years = [median_years(part, state, lasts) for state in range(4)]
    return tuple(LN2 * (_YEARS / year) ** shape if year > 0 else 0.0 for year in years)


def _draw_atoms(noise: Noise, part: int, chance: Floats) -> NDArray[np.uint8] | None:
    """Draw one of a part's pairs in each draw, given the cause; None where there is only one."""
    if chance.shape[1] == 1:
        return None
    n = noise.base.n
    rank = noise.base.ranks(FIRST_PART + part)
    beyond = np.floor(np.cumsum(chance[:, :-1], axis=1) * n + 0.5).astype(np.uint32)
    drawn = np.zeros(n, dtype=np.uint8)
    for least in beyond.T:
        drawn += (rank >= least.repeat(noise.sizes)).view(np.uint8)
    return drawn


def _charges(bench: Bench, prices: Prices, scope: Scope, shared: list[Price]) -> list[tuple[float, Price]]:
    """Return everything that a plan may charge, each with its chance; small repairs as one, spread like the job."""
    found = [(1.0, price) for price in shared]
    for menu, n in zip(bench.weighed, scope.plan.choices, strict=True):
        rungs = range(menu.menu.first[n], menu.menu.first[n + 1])
        for r, rung in zip(rungs, menu.menu.ladders[n].rungs, strict=True):
            if rung.operation:
                chance = float(menu.chance[r])
                found += [(chance, prices.with_tax[name]) for name in (rung.operation, *sorted(rung.further))]
        labour = float(menu.labour[n] - menu.chance[rungs] @ menu.rung_labour[rungs])
        found.append((1.0, Price(0.0, 0.0, labour, 0.0, 0.0, prices.job_spread, 0.0)))
    return found


def _own_spread(charges: list[tuple[float, Price]]) -> tuple[float, float]:
    """Return the spread of the sum of many lognormals about its mean: that of labour, and of the rest."""
    result = []
    for amounts in (
        [(chance, price.labour, price.own_spread) for chance, price in charges],
        [(chance, price.material + price.outside, price.other_spread) for chance, price in charges],
    ):
        total = sum(chance * amount for chance, amount, _ in amounts)
        variance = sum(chance * amount**2 * math.expm1(spread**2) for chance, amount, spread in amounts)
        result.append(math.sqrt(math.log1p(variance / total**2)) if total > 0 else 0.0)
    return result[0], result[1]


def _discounted(years: Draws, rate: float) -> Draws:
    """Return how many discounted years so many years are."""
    force = np.float32(math.log1p(rate))
    return -np.expm1(-force * years) / force if force else years


def _per_year(spent: Draws, lived: Draws) -> Draws:
    """Return what each year comes to that the piano serves, within the years looked at; all where it serves none."""
    return np.asarray(spent / np.maximum(lived, 1.0), dtype=np.float32)


def draw_parting(bench: Bench, market: Market, stakes: Stakes, decision: Decision, noise: Noise) -> Outcome:
    """Return selling or giving away on the draws, with another instrument where that is better than none."""
    condition, n = bench.condition, noise.base.n
    luck = _luck(market, noise)
    log_value = np.zeros(n, dtype=np.float32)
    for p in range(len(condition.network.parts)):
        drawn = _draw_atoms(noise, p, condition.states_given[p])
        if drawn is not None:
            log_value += np.log(np.maximum(market.factor[p], 1e-12)).astype(np.float32)[drawn]
    sold = market.sound * np.exp(log_value) * luck * (1 - stakes.selling_cost) - market.replacement.haul_away
    net, value, price = sold, np.zeros(n), -sold
    years, per_year = np.zeros(n), np.zeros(n)
    if decision.parting.exchange:
        spread = np.float32(market.replacement_spread)
        bought = market.replacement_price * np.exp(spread * noise.replacement - spread**2 / 2)
        years = np.full(n, float(market.replacement.years))
        net = net + decision.parting.another + (stakes.kept_at_end - 1) * (bought - market.replacement_price)
        value, price = bought, bought - sold
        per_year = bought * (1 - stakes.kept_at_end) * capital_recovery(stakes.discount, stakes.horizon)
    net = net + np.float32(decision.nets[RETIRE] - float(net.mean(dtype=np.float64)))
    return Outcome(
        price=np.asarray(price, dtype=np.float32),
        value=np.asarray(value, dtype=np.float32),
        net=np.asarray(net, dtype=np.float32),
        years=np.asarray(years, dtype=np.float32),
        per_year=np.asarray(per_year, dtype=np.float32),
    )
