"""Knowing: what each plan is worth were one fault known, and so what each open check is worth, exactly.

In: a bench, plans, their payoffs. Out: expected value of sample information. The formulas, with part p's products held open
at fault f:

    net_k(h, f = s)      = what plan k is worth under cause h were severity s of f known
    worth of a check on f = sum over readings r of max_k sum_{h,s} P(h) P(s|h) P(r|s) net_k(h, f = s)  -  best now

The other parts of plan k stay as planned, and the plan held now counts among the k, so no worth is negative.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.choices import Weighed, all_but_one
from valuation.engine.condition import Condition
from valuation.engine.plans import Bench, Payoff, Plan
from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import CAUSES


@dataclass(frozen=True, eq=False)
class Candidate:
    """One thing that could be decided: a plan read by a payoff, as one of the ways.

    Attributes
    ----------
    option : str
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


def know(
    bench: Bench, candidates: tuple[Candidate, ...], factor: Floats, labour_scale: float, tax: float
) -> Known:
    """Return what each candidate is worth, shared out over each fault's severity and over the causes.

    Parameters
    ----------
    bench : Bench
    candidates : tuple of Candidate
    factor : ndarray, shape (P, 4)
        What a part in each state multiplies the price by: all that parting with it reads.
    labour_scale, tax : float
        What-if factor on labour, and 1 plus the tax.
    """
    condition = bench.condition
    k, causes = len(candidates), condition.causes
    chosen = _terms(bench, candidates, factor)  # (P, K, 9, T)
    rest = all_but_one(chosen)
    coefficients = np.stack([candidate.payoff.coefficients for candidate in candidates])
    constants = np.array([_constant(bench, candidate) for candidate in candidates])
    prices = np.stack([_prices_given(bench, candidate, labour_scale, tax) for candidate in candidates])  # (K, P, 9)
    whole = prices.sum(axis=1)
    shares = np.empty((k, len(condition.network.faults), 4))
    by_cause = np.empty((k, 9))
    for i, candidate in enumerate(candidates):
        worth = np.einsum("ht,t->h", chosen[:, i].prod(axis=0), coefficients[i]) + constants[i] - whole[i]
        by_cause[i] = causes * worth
        for p, menu in enumerate(bench.weighed):
            faults = slice(condition.network.first[p], condition.network.first[p + 1])
            other = whole[i] - prices[i, p]
            known = _held(
                condition, menu, candidate, p, rest[p, i] * coefficients[i], factor, labour_scale, tax
            )  # (G, 4, 9)
            net = known + (constants[i] - other)
            shares[i, faults] = np.einsum("h,ghs,gsh->gs", causes, condition.faults_given[faults], net)
    return Known(
        options=tuple(candidate.option for candidate in candidates),
        nets=by_cause.sum(axis=1),
        shares=shares,
        by_cause=by_cause,
    )


def _constant(bench: Bench, candidate: Candidate) -> float:
    constant = candidate.payoff.constant + candidate.allowance
    if candidate.plan is None:
        return constant
    return constant - float(bench.opening_price[candidate.plan.opening])


def _terms(bench: Bench, candidates: tuple[Candidate, ...], factor: Floats) -> Floats:
    rows = []
    for p, menu in enumerate(bench.weighed):
        as_found = np.ones(menu.terms.shape[1:])
        as_found[:, 0] = bench.condition.states_given[p] @ factor[p]
        rows.append([as_found if c.plan is None else menu.terms[c.plan.choices[p]] for c in candidates])
    return np.array(rows)


def _prices_given(bench: Bench, candidate: Candidate, labour_scale: float, tax: float) -> Floats:
    """Return the expected price of each part's choice, given the cause, shape (P, 9)."""
    if candidate.plan is None:
        return np.zeros((len(bench.weighed), 9))
    result = []
    for menu, n in zip(bench.weighed, candidate.plan.choices, strict=True):
        rungs = slice(menu.menu.first[n], menu.menu.first[n + 1])
        amount = labour_scale * menu.rung_labour[rungs] + menu.rung_other[rungs]
        given = menu.states[rungs].sum(axis=2).T @ amount
        result.append(tax * (given + _small_given(bench.condition, menu, n, labour_scale)))
    return np.array(result)


def _small_price(menu: Weighed, rung: int, labour_scale: float) -> Floats:
    """Return what small repairs of a rung cost by fault and severity, before tax, shape (G, 4)."""
    at = int(np.searchsorted(menu.menu.small_rungs, rung))
    if at == len(menu.menu.small_rungs) or menu.menu.small_rungs[at] != rung:
        return np.zeros(menu.menu.small.shape[1:])
    return np.asarray(labour_scale * menu.repair_labour[at] + menu.repair_other[at], dtype=np.float64)


def _small_given(condition: Condition, menu: Weighed, n: int, labour_scale: float) -> Floats:
    given = _faults_of(condition, menu)
    total = np.zeros(9)
    for r in range(menu.menu.first[n], menu.menu.first[n + 1]):
        price = _small_price(menu, r, labour_scale)
        if not price.any():
            continue
        for mask, sign in ((menu.menu.mask[:, :, r], 1.0), (menu.menu.before[:, :, r], -1.0)):
            rest = all_but_one(np.einsum("ghs,gs->gh", given, mask))
            total += sign * (rest * np.einsum("ghs,gs->gh", given, mask * price)).sum(axis=0)
    return total


def _faults_of(condition: Condition, menu: Weighed) -> Floats:
    network, p = condition.network, menu.menu.part
    return condition.faults_given[network.first[p] : network.first[p + 1]]


def _held(
    condition: Condition,
    menu: Weighed,
    candidate: Candidate,
    p: int,
    payoff: Floats,
    factor: Floats,
    labour_scale: float,
    tax: float,
) -> Floats:
    """Return what one part brings less what it costs, were each of its faults known, shape (G, 4, 9)."""
    given, network = _faults_of(condition, menu), condition.network
    if candidate.plan is None:
        makes = network.makes_at_most[network.first[p] : network.first[p + 1]]
        rest = all_but_one(np.matmul(given, makes))  # (G, 9, 4)
        return _contract(rest, makes, payoff[:, :1] * factor[p])
    n = candidate.plan.choices[p]
    rungs = range(menu.menu.first[n], menu.menu.first[n + 1])
    total = np.zeros((len(given), 4, 9))
    for r in rungs:
        by_state = payoff @ menu.weights[r].T - tax * (labour_scale * menu.rung_labour[r] + menu.rung_other[r])
        price = tax * _small_price(menu, r, labour_scale)
        for half, mask, sign in (
            (menu.menu.column_of[r, :4], menu.menu.mask[:, :, r], 1.0),
            (menu.menu.column_of[r, 7:11], menu.menu.before[:, :, r], -1.0),
        ):
            if not mask.any():
                continue
            columns = menu.menu.columns[:, :, half]
            total += sign * _contract(all_but_one(np.matmul(given, columns)), columns, by_state)
            if price.any():
                total -= sign * _price_held(given, mask, price)
    return total


def _contract(rest: Floats, columns: Floats, by_state: Floats) -> Floats:
    """Return sum over states of P(state | f = s) * worth, from cumulative columns: (G,9,4),(G,4,4),(9,4) -> (G,4,9)."""
    step = by_state - np.concatenate([by_state[:, 1:], np.zeros((len(by_state), 1))], axis=1)
    return np.asarray(np.matmul(columns, (rest * step).transpose(0, 2, 1)), dtype=np.float64)


def _price_held(given: Floats, mask: Floats, price: Floats) -> Floats:
    """Return the expected price of small repairs within a mask, were each fault known, shape (G, 4, 9)."""
    mass = np.einsum("ghs,gs->gh", given, mask)
    cost = np.einsum("ghs,gs->gh", given, mask * price)
    rest, carried = _all_but_one_carrying(mass, cost)
    own = (mask * price)[:, :, None] * rest[:, None, :]
    return np.asarray(own + mask[:, :, None] * carried[:, None, :], dtype=np.float64)


def _all_but_one_carrying(mass: Floats, cost: Floats) -> tuple[Floats, Floats]:
    """Return for each row the product of all others, and that product with one factor in turn replaced by its cost."""
    n = len(mass)
    rest, carried = np.empty_like(mass), np.empty_like(mass)
    product, with_cost = np.ones_like(mass[0]), np.zeros_like(mass[0])
    for i in range(n):
        rest[i], carried[i] = product, with_cost
        with_cost = with_cost * mass[i] + product * cost[i]
        product = product * mass[i]
    product, with_cost = np.ones_like(mass[0]), np.zeros_like(mass[0])
    for i in range(n - 1, -1, -1):
        carried[i] = carried[i] * product + rest[i] * with_cost
        rest[i] = rest[i] * product
        with_cost = with_cost * mass[i] + product * cost[i]
        product = product * mass[i]
    return rest, carried


def worth_of_checks(known: Known, condition: Condition, checks: list[CheckRow]) -> list[Worth]:
    """Return what each of the checks is worth, in their order.

    Parameters
    ----------
    known : Known
    condition : Condition
    checks : list of CheckRow
    """
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
