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

from valuation.engine.arrays import Floats, Ints, all_but_one, all_but_one_of, side_by_side
from valuation.engine.bench import Bench
from valuation.engine.choices import STATE_COLUMNS, Weighed
from valuation.engine.condition import Condition
from valuation.engine.plans import Payoff, Plan
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import CAUSES

_ROUNDING = 1e-6
"""A check worth less is worth nothing: that is rounding in nets of many thousands [money]."""


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
    causes = condition.causes
    used = [_used(candidates, p) for p in range(len(bench.weighed))]
    weight = causes[:, None] * condition.faults_given  # (F, 9, 4)
    held = _hold(bench, [ladders for ladders, _ in used], weight, labour_scale)
    terms = np.stack(
        [
            _terms(condition, menu, ladders, of, factor[p])
            for p, (menu, (ladders, of)) in enumerate(zip(bench.weighed, used, strict=True))
        ]
    )  # (P, K, 9, T)
    coefficients = np.stack([candidate.payoff.coefficients for candidate in candidates])[:, None, :]
    rest = all_but_one(terms) * coefficients
    prices = np.stack([h.price[of] for h, (_, of) in zip(held, used, strict=True)])  # (P, K, 9)
    constants = np.array([_constant(bench, candidate) for candidate in candidates])
    whole = (rest[0] * terms[0]).sum(axis=2) + constants[:, None] - prices.sum(axis=0)  # (K, 9)
    other = constants[:, None] - (prices.sum(axis=0) - prices)  # (P, K, 9)
    shares = np.matmul(other[condition.network.part_of], weight).transpose(1, 0, 2).copy()  # (K, F, 4)
    for p, (menu, (_, of)) in enumerate(zip(bench.weighed, used, strict=True)):
        faults = slice(condition.network.first[p], condition.network.first[p + 1])
        worth = _worth_by_column(menu, of, held[p], rest[p], factor[p], labour_scale)  # (K, 9, C)
        spread = held[p].rest[:, :, None, :] * (weight[faults, :, :, None] * held[p].columns[:, None])  # (G, 9, 4, C)
        shares[:, faults] += np.tensordot(worth, spread, axes=([1, 2], [1, 3])) - held[p].small[of]
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
    rungs, ladder_of : ndarray of int, shape (R,)
        Rungs of those ladders, and which ladder each is of.
    columns : ndarray, shape (G, 4, C)
        Distinct columns of the rungs; the last four are for parting.
    columns_of : ndarray, shape (4R, C - 4)
        1 where a column is that of a rung and state under m_k, -1 where it is so under m_{k-1}.
    rest : ndarray, shape (G, 9, C)
        Product of all other faults.
    price : ndarray, shape (N + 1, 9)
        Expected price with tax, given the cause; parting, the last, has none.
    small : ndarray, shape (N + 1, G, 4)
        Expected price of small repairs with tax, shared out over each fault's severity.
    """

    rungs: Ints
    ladder_of: Ints
    columns: Floats
    columns_of: Floats
    rest: Floats
    price: Floats
    small: Floats


def _used(candidates: tuple[Candidate, ...], p: int) -> tuple[list[int], Ints]:
    """Return the distinct choices that candidates make for a part, and which each makes; the last is parting."""
    ladders = sorted({c.plan.choices[p] for c in candidates if c.plan is not None})
    of = [len(ladders) if c.plan is None else ladders.index(c.plan.choices[p]) for c in candidates]
    return ladders, np.array(of, dtype=np.intp)


def _terms(condition: Condition, menu: Weighed, ladders: list[int], of: Ints, factor: Floats) -> Floats:
    terms = np.ones((len(ladders) + 1, 9, menu.width))
    terms[:-1, :, : menu.moved] = menu.terms(ladders)
    terms[-1, :, 0] = condition.states_given[menu.menu.part] @ factor  # parting
    return terms[of]


def _constant(bench: Bench, candidate: Candidate) -> float:
    constant = candidate.payoff.constant + candidate.allowance
    if candidate.plan is None:
        return constant
    return constant - float(bench.opening_price[candidate.plan.opening])


def _hold(bench: Bench, used: list[list[int]], weight: Floats, labour_scale: float) -> list[_Held]:
    """Return the ladders of each part that candidates use."""
    network = bench.condition.network
    given = np.split(bench.condition.faults_given, network.first[1:-1])
    chosen = [_rungs_of(menu, ladders) for menu, ladders in zip(bench.weighed, used, strict=True)]
    columns = [
        _columns(menu, rungs, network.makes_at_most[network.first[p] : network.first[p + 1]])
        for p, (menu, (rungs, _)) in enumerate(zip(bench.weighed, chosen, strict=True))
    ]
    rest = all_but_one_of([np.matmul(g, each) for g, (each, _) in zip(given, columns, strict=True)])
    masks, costs = zip(
        *(_repair_columns(menu, rungs, labour_scale) for menu, (rungs, _) in zip(bench.weighed, chosen, strict=True)),
        strict=True,
    )
    mass = [np.matmul(g, each) for g, each in zip(given, masks, strict=True)]
    carried = [np.matmul(g, each) for g, each in zip(given, costs, strict=True)]
    others, others_cost, whole = _all_but_one_carrying(side_by_side(mass, 1.0), side_by_side(carried, 0.0))
    start, held = 0, []
    for p, (menu, ladders, (rungs, ladder_of)) in enumerate(zip(bench.weighed, used, chosen, strict=True)):
        faults = slice(network.first[p], network.first[p + 1])
        at = slice(start, start := start + masks[p].shape[2])
        by_severity = weight[faults].transpose(0, 2, 1)
        known = costs[p] * np.matmul(by_severity, others[: len(mass[p]), :, at])
        known += masks[p] * np.matmul(by_severity, others_cost[: len(mass[p]), :, at])  # (G, 4, 2R)
        own = np.zeros((len(rungs), len(ladders) + 1))  # of which ladder each rung is
        own[np.arange(len(rungs)), ladder_of] = 1.0
        amount = labour_scale * menu.rung_labour[rungs] + menu.rung_other[rungs]
        expected = menu.states[rungs].sum(axis=2) * amount[:, None]
        expected += (whole[:, at][:, : len(rungs)] - whole[:, at][:, len(rungs) :]).T
        held.append(
            _Held(
                rungs=rungs,
                ladder_of=ladder_of,
                columns=columns[p][0],
                columns_of=columns[p][1],
                rest=rest[p],
                price=own.T @ expected,
                small=((known[:, :, : len(rungs)] - known[:, :, len(rungs) :]) @ own).transpose(2, 0, 1),
            )
        )
    return held


def _rungs_of(menu: Weighed, ladders: list[int]) -> tuple[Ints, Ints]:
    """Return the rungs of some ladders, and which of these each is of."""
    rungs = [np.arange(menu.menu.first[n], menu.menu.first[n + 1]) for n in ladders]
    none = np.zeros(0, dtype=np.intp)  # where no plan is within the budget, parting alone is left
    return np.concatenate([none, *rungs]), np.repeat(np.arange(len(ladders)), [len(of_ladder) for of_ladder in rungs])


def _columns(menu: Weighed, rungs: Ints, parting: Floats) -> tuple[Floats, Floats]:
    """Return the distinct columns of some rungs with those of parting, and of which rung and state each is."""
    distinct, place = np.unique(menu.menu.column_of[rungs][:, STATE_COLUMNS], return_inverse=True)
    place = place.reshape(-1, 2, 4)
    states = np.arange(4 * len(rungs))
    columns_of = np.zeros((len(states), len(distinct)))
    columns_of[states, place[:, 0].ravel()] = 1.0
    columns_of[states, place[:, 1].ravel()] -= 1.0
    return np.concatenate([menu.menu.columns[:, :, distinct], parting], axis=2), columns_of


def _repair_columns(menu: Weighed, rungs: Ints, labour_scale: float) -> tuple[Floats, Floats]:
    """Return the columns m_k, then m_{k-1}, of some rungs, and with the prices of small repairs in them, (G, 4, 2R)."""
    masks = np.concatenate([menu.menu.mask[:, :, rungs], menu.menu.before[:, :, rungs]], axis=2)
    cost = np.zeros((len(rungs), *masks.shape[:2]))
    (repaired,) = np.isin(rungs, menu.menu.small_rungs).nonzero()
    rows = np.searchsorted(menu.menu.small_rungs, rungs[repaired])
    cost[repaired] = labour_scale * menu.repair_labour[rows] + menu.repair_other[rows]
    costs = masks.reshape(*masks.shape[:2], 2, -1) * cost.transpose(1, 2, 0)[:, :, None]
    return masks, costs.reshape(masks.shape)


def _worth_by_column(
    menu: Weighed, of: Ints, held: _Held, payoff: Floats, factor: Floats, labour_scale: float
) -> Floats:
    """Return what each cumulative column is worth to each candidate, given the cause, shape (K, 9, C).

    Columns say 'at most in this state', so each carries the step from its state's worth to the next one's.
    """
    k, _, width = payoff.shape
    price = labour_scale * menu.rung_labour[held.rungs] + menu.rung_other[held.rungs]
    weights = menu.weights[menu.kind[held.rungs]].reshape(-1, width)  # (4R, T)
    step = _steps((payoff.reshape(-1, width) @ weights.T).reshape(k, 9, -1, 4) - price[:, None])
    step *= (of[:, None] == held.ladder_of)[:, None, :, None]  # a candidate's own ladder alone
    parting = np.where(of == len(held.price) - 1, 1.0, 0.0)[:, None, None] * _steps(payoff[:, :, :1] * factor)
    return np.concatenate([step.reshape(k, 9, -1) @ held.columns_of, parting], axis=2)


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
    rival = np.array([option != known.options[best] for option in known.options])
    after, chance = np.zeros((len(checks), len(known.nets), 4)), np.zeros((len(checks), 4))
    by_fault = [i for i, check in enumerate(checks) if check.reads not in CAUSES]
    faults = [network.index[checks[i].reads] for i in by_fault]
    sure = np.array([network.sureness[checks[i].id] for i in by_fault]).reshape(-1, 4, 4)
    after[by_fault] = np.matmul(known.shares[:, faults].transpose(1, 0, 2), sure)  # by reading
    chance[by_fault] = np.matmul(condition.severities[faults][:, None], sure)[:, 0]
    for i, check in enumerate(checks):
        if check.reads in CAUSES:
            after[i] = known.by_cause @ network.sureness[check.id]
            chance[i] = condition.causes @ network.sureness[check.id]
    most = after.max(axis=1)
    gain = most.sum(axis=1) - known.nets[best]
    gain[gain < _ROUNDING] = 0.0
    turns = (chance * rival[after.argmax(axis=1)]).sum(axis=1)
    swing = np.zeros(len(checks))
    if rival.any():
        lead = after[:, best] - after[:, rival].max(axis=1)
        swing = np.abs(lead - chance * lead.sum(axis=1, keepdims=True)).sum(axis=1)
    return [
        Worth(check=check.id, gain=g, chance_to_turn=t, swing=w)
        for check, g, t, w in zip(checks, gain.tolist(), turns.tolist(), swing.tolist(), strict=True)
    ]


def worth_of_faults(known: Known, faults: Ints) -> Floats:
    """Return what knowing each of some faults for certain would be worth, in money, shape like `faults`."""
    best = known.nets.max()
    return np.asarray(np.maximum(known.shares[:, faults].max(axis=0).sum(axis=1) - best, 0.0), dtype=np.float64)
