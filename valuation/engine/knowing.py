"""Knowing: what each plan is worth were one fault known, and so what each open check is worth, exactly.

In: a bench, plans, their payoffs. Out: expected value of sample information. The formulas, with part p's products
held open at fault f:

    net_k(h, f = s)      = what plan k is worth under cause h were severity s of f known
    worth of a check on f = sum over readings r of max_k sum_{h,s} P(h) P(s|h) P(r|s) net_k(h, f = s)  -  best now

The other parts of plan k stay as planned, and the plan held now counts among the k, so no worth is negative.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.bench import Bench
from valuation.engine.choices import Weighed, all_but_one
from valuation.engine.condition import Condition
from valuation.engine.plans import Payoff, Plan
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import CAUSES


@dataclass(frozen=True, eq=False)
class Candidate:
    """One thing that could be decided: a plan read by a payoff, as one of the ways.

    Attributes
    ----------
    plan : Plan or None
        None where the piano is parted with.
    payoff : Payoff
        For parting it reads the value alone.
    allowance : float
        Added to the net: what a scope that may not be tuned saves or loses against its plan.
    """

    option: str
    plan: Plan | None
    payoff: Payoff
    allowance: float = 0.0


@dataclass(frozen=True, eq=False)
class Known:
    """What each candidate is worth, shared out over a fault's severity. K candidates, F faults.

    Attributes
    ----------
    options : tuple of str, length K
    nets : ndarray, shape (K,)
        Expected net today.
    shares : ndarray, shape (K, F, 4)
        P(severity) times the net were it known; adds up to `nets` over the severities.
    by_cause : ndarray, shape (K, 9)
        P(cause) times the net were it known.
    """

    options: tuple[str, ...]
    nets: Floats
    shares: Floats
    by_cause: Floats


@dataclass(frozen=True, slots=True)
class Worth:
    """What one open check is worth."""

    check: str
    gain: float
    chance_to_turn: float
    swing: float


def know(bench: Bench, candidates: tuple[Candidate, ...], factor: Floats, labour_scale: float) -> Known:
    """Return what each candidate is worth, shared out over each fault's severity and over the causes.

    Parameters
    ----------
    factor : ndarray, shape (P, 4)
        What a part in each state multiplies the price by: all that parting with it reads.
    labour_scale : float
        What-if factor on labour.
    """
    condition = bench.condition
    causes, k = condition.causes, len(candidates)
    used = [_used(candidates, p) for p in range(len(bench.weighed))]
    held = [
        _hold(condition, menu, ladders, labour_scale) for menu, (ladders, _) in zip(bench.weighed, used, strict=True)
    ]
    terms = np.stack(
        [
            _terms(condition, menu, ladders, of, factor[p])
            for p, (menu, (ladders, of)) in enumerate(zip(bench.weighed, used, strict=True))
        ]
    )  # (P, K, 9, T)
    coefficients = np.stack([candidate.payoff.coefficients for candidate in candidates])[:, None, :]
    rest = all_but_one(terms) * coefficients
    # Price of each part's choice given the cause; parting has none.
    prices = np.stack([np.concatenate([h.price, np.zeros((1, 9))])[of] for h, (_, of) in zip(held, used, strict=True)])
    constants = np.array([_constant(bench, candidate) for candidate in candidates])
    whole = (rest[0] * terms[0]).sum(axis=2) + constants[:, None] - prices.sum(axis=0)  # (K, 9)
    other = constants[:, None] - (prices.sum(axis=0) - prices)  # (P, K, 9)
    shares = np.empty((k, len(condition.network.faults), 4))
    for p, (menu, (ladders, of)) in enumerate(zip(bench.weighed, used, strict=True)):
        first, after = condition.network.first[p], condition.network.first[p + 1]
        weight = causes[:, None] * condition.faults_given[first:after]  # (G, 9, 4)
        worth = _worth_by_column(menu, ladders, of, held[p], rest[p], factor[p], labour_scale)  # (K, 9, C)
        spread = held[p].rest[:, :, None, :] * (weight[:, :, :, None] * held[p].columns[:, None])  # (G, 9, 4, C)
        by_state = np.tensordot(worth, spread, axes=([1, 2], [1, 3]))  # (K, G, 4)
        small = np.einsum("nghs,ghs->ngs", held[p].small, weight)
        small = np.concatenate([small, np.zeros((1, *small.shape[1:]))])[of]
        shares[:, first:after] = by_state - small + np.tensordot(other[p], weight, axes=([1], [1]))
    by_cause = causes * whole
    return Known(
        options=tuple(candidate.option for candidate in candidates),
        nets=by_cause.sum(axis=1),
        shares=shares,
        by_cause=by_cause,
    )


@dataclass(frozen=True, eq=False)
class _Held:
    """The ladders of one part that candidates use, with each fault held open in turn. N ladders, C columns.

    Attributes
    ----------
    rungs : tuple of tuple of int
        Rungs of each ladder.
    columns : ndarray, shape (G, 4, C)
        Eight a rung (four states under m_k, four under m_{k-1}), rung after rung; last four for parting.
    rest : ndarray, shape (G, 9, C)
        Product of all other faults.
    price : ndarray, shape (N, 9)
        Expected price with tax, given the cause.
    small : ndarray, shape (N, G, 9, 4)
        Expected price of small repairs with tax, were each fault known.
    """

    rungs: tuple[tuple[int, ...], ...]
    columns: Floats
    rest: Floats
    price: Floats
    small: Floats


def _used(candidates: tuple[Candidate, ...], p: int) -> tuple[list[int], Ints]:
    """Return the distinct choices that candidates make for a part, and which each makes; the last is parting."""
    ladders = sorted({c.plan.choices[p] for c in candidates if c.plan is not None})
    of = [len(ladders) if c.plan is None else ladders.index(c.plan.choices[p]) for c in candidates]
    return ladders, np.array(of, dtype=np.intp)


def _terms(condition: Condition, menu: Weighed, ladders: list[int], of: Ints, factor: Floats) -> Floats:
    as_found = np.ones((1, *menu.terms.shape[1:]))
    as_found[0, :, 0] = condition.states_given[menu.menu.part] @ factor
    return np.concatenate([menu.terms[ladders], as_found])[of]


def _constant(bench: Bench, candidate: Candidate) -> float:
    constant = candidate.payoff.constant + candidate.allowance
    if candidate.plan is None:
        return constant
    return constant - float(bench.opening_price[candidate.plan.opening])


def _hold(condition: Condition, menu: Weighed, ladders: list[int], labour_scale: float) -> _Held:
    network, part = condition.network, menu.menu.part
    first, after = network.first[part], network.first[part + 1]
    given = condition.faults_given[first:after]
    rungs = tuple(tuple(range(menu.menu.first[n], menu.menu.first[n + 1])) for n in ladders)
    flat = [r for of_ladder in rungs for r in of_ladder]
    of_rung = [i for i, of_ladder in enumerate(rungs) for _ in of_ladder]
    at = menu.menu.column_of[flat][:, [0, 1, 2, 3, 7, 8, 9, 10]].ravel()
    columns = np.concatenate([menu.menu.columns[:, :, at], network.makes_at_most[first:after]], axis=2)
    rest = all_but_one(np.matmul(given, columns))
    amount = labour_scale * menu.rung_labour[flat] + menu.rung_other[flat]
    price, small = np.zeros((len(ladders), 9)), np.zeros((len(ladders), *given.shape))
    np.add.at(price, of_rung, menu.states[flat].sum(axis=2) * amount[:, None])
    at_small = {int(r): i for i, r in enumerate(menu.menu.small_rungs)}
    with_small = [(i, r) for i, r in zip(of_rung, flat, strict=True) if r in at_small]
    if with_small:
        of, which = [i for i, _ in with_small], [r for _, r in with_small]
        rows = [at_small[r] for r in which]
        cost = (labour_scale * menu.repair_labour[rows] + menu.repair_other[rows]).transpose(1, 2, 0)  # (G, 4, R)
        masks = np.concatenate([menu.menu.mask[:, :, which], menu.menu.before[:, :, which]], axis=2)
        costs = masks * np.concatenate([cost, cost], axis=2)
        mass, carried = np.matmul(given, masks), np.matmul(given, costs)  # (G, 9, 2R)
        others, others_cost, whole = _all_but_one_carrying(mass, carried)
        sign = np.concatenate([np.ones(len(which)), -np.ones(len(which))])
        known = sign * (costs[:, None] * others[:, :, None] + masks[:, None] * others_cost[:, :, None])  # (G, 9, 4, 2R)
        np.add.at(price, [*of, *of], (sign * whole).T)
        np.add.at(small, [*of, *of], known.transpose(3, 0, 1, 2))
    return _Held(rungs=rungs, columns=columns, rest=rest, price=price, small=small)


def _worth_by_column(
    menu: Weighed, ladders: list[int], of: Ints, held: _Held, payoff: Floats, factor: Floats, labour_scale: float
) -> Floats:
    """Return what each cumulative column is worth to each candidate, given the cause, shape (K, 9, C).

    Columns say 'at most in this state', so each carries the step from its state's worth to the next one's.
    """
    k, count = len(of), held.columns.shape[2]
    worth = np.zeros((k, 9, count))
    start = 0
    for i, _ in enumerate(ladders):
        mine = np.flatnonzero(of == i)
        for r in held.rungs[i]:
            price = labour_scale * menu.rung_labour[r] + menu.rung_other[r]
            step = _steps(payoff[mine] @ menu.weights[r].T - price)
            worth[mine, :, start : start + 4] = step
            worth[mine, :, start + 4 : start + 8] = -step
            start += 8
    parting = np.flatnonzero(of == len(ladders))
    worth[parting, :, start:] = _steps(payoff[parting, :, :1] * factor)
    return worth


def _steps(by_state: Floats) -> Floats:
    """Return each state's worth less that of the next, along the last axis."""
    steps = by_state.copy()
    steps[..., :-1] -= by_state[..., 1:]
    return steps


def _all_but_one_carrying(mass: Floats, cost: Floats) -> tuple[Floats, Floats, Floats]:
    """Return for each row the product of all others, that product with one factor in turn replaced by its cost, and
    the whole product so replaced.
    """  # noqa: D205
    n = len(mass)
    rest, carried = np.empty_like(mass), np.empty_like(mass)
    product, with_cost = np.ones_like(mass[0]), np.zeros_like(mass[0])
    for i in range(n):
        rest[i], carried[i] = product, with_cost
        with_cost = with_cost * mass[i] + product * cost[i]
        product = product * mass[i]
    whole = with_cost
    product, with_cost = np.ones_like(mass[0]), np.zeros_like(mass[0])
    for i in range(n - 1, -1, -1):
        carried[i] = carried[i] * product + rest[i] * with_cost
        rest[i] = rest[i] * product
        with_cost = with_cost * mass[i] + product * cost[i]
        product = product * mass[i]
    return rest, carried, whole


def worth_of_checks(known: Known, condition: Condition, checks: list[CheckRow]) -> list[Worth]:
    """Return what each of the checks is worth, in their order."""
    network = condition.network
    best = int(known.nets.argmax())
    is_best = np.array([option == known.options[best] for option in known.options])
    found = []
    for check in checks:
        sure = network.sureness[check.id]
        if check.reads in CAUSES:
            after = known.by_cause @ sure  # (K, readings)
            chance = condition.causes @ sure
        else:
            f = network.index[check.reads]
            after = known.shares[:, f] @ sure
            chance = condition.severities[f] @ sure
        winner = after.argmax(axis=0)
        gain = float(after.max(axis=0).sum() - known.nets[best])
        lead = after[best] - np.where(is_best[:, None], -np.inf, after).max(axis=0, initial=-np.inf)
        found.append(
            Worth(
                check=check.id,
                gain=max(gain, 0.0),
                chance_to_turn=float(chance[~is_best[winner]].sum()),
                swing=float(np.abs(lead - chance * lead.sum()).sum()) if np.isfinite(lead).all() else 0.0,
            )
        )
    return found


def worth_of_faults(known: Known, faults: Ints) -> Floats:
    """Return what knowing each of some faults for certain would be worth, in money, shape like `faults`."""
    best = known.nets.max()
    return np.asarray(np.maximum(known.shares[:, faults].max(axis=0).sum(axis=1) - best, 0.0), dtype=np.float64)
