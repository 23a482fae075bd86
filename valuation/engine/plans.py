"""Plans: the best choice for every part in every opening, for each scope, at once.

In: weighed menus, openings, what is at stake. Out: for each scope the best plan in each opening that can hold it.
Inside an opening the price adds up over parts and only value, playing and service multiply:

    net = constant + sum over cause h, term t:  P(h) * coefficient_t * product over parts of term[part's choice, h, t]
          - price of the opening - sum over parts of the price of its choice

so that, all other parts held, each part's best choice is one product of matrices. It climbs part by part, all
openings and scopes together, until nothing changes; once from a piano that is put right and once from one that is
let be, since where much is bad no single cure pays that would pay beside the others.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints, Singles
from valuation.engine.bench import Bench
from valuation.engine.catalogue import POLICIES
from valuation.engine.choices import Weighed

Rest = ParamSpec("Rest")
R = TypeVar("R")

ROUNDS = 6
"""A climb that still moves after so many rounds over all parts is broken off; two to four is usual."""

_TIE = 1e-2
"""A choice must be better by so much to be changed: below it lies rounding in single precision [money]."""

CONTENT_WITHIN = 0.25
"""A scope's content is held where what is left undone is no more likely than at best, plus this [-]."""


@dataclass(frozen=True, eq=False)
class Payoff:
    """How net worth is read from the terms: value, playing at the moments, service at the moments. Money today."""

    coefficients: Floats
    constant: float

    def of(self, terms: Floats, causes: Floats) -> float:
        """Read the terms of one plan, shape (9, T)."""
        return self.constant + float(causes @ terms @ self.coefficients)


@dataclass(frozen=True, eq=False)
class Aim:
    """What a search looks for: a scope's contents, or only its number of systems.

    Attributes
    ----------
    name : str
    holds : int
        Threshold that nothing may be left beyond: position among stops, broken, worn; -1 for none.
    policy : int
        How far it goes at most: position among the policies.
    least, most : int
        Systems it renews.
    """

    name: str
    holds: int
    policy: int
    least: int
    most: int


@dataclass(frozen=True, eq=False)
class Plan:
    """One plan: an opening and a choice for each part.

    Attributes
    ----------
    aim : str
    opening : int
        Position among the openings.
    choices : tuple of int, length P
        Position of each part's ladder in its menu.
    net, price : float
        Expected net worth by the payoff searched with, and expected price with tax.
    """

    aim: str
    opening: int
    choices: tuple[int, ...]
    net: float
    price: float


def kept(work: Callable[Concatenate[Bench, Plan, Rest], R]) -> Callable[Concatenate[Bench, Plan, Rest], R]:
    """Decorate what is told of a plan from its choices alone: worked out once, whatever the prices and moments."""

    @wraps(work)
    def told(bench: Bench, plan: Plan, /, *rest: Rest.args, **named: Rest.kwargs) -> R:
        key = (work, plan.choices, rest, *named.items())
        return bench.once(key, lambda: work(bench, plan, *rest, **named))

    return told


@dataclass(frozen=True, eq=False)
class _Ground:
    """What all searches on a bench share, whatever the prices and payoff. K searches, of an aim in an opening each.

    Attributes
    ----------
    rows : ndarray of int, shape (K, 2)
        Aim and opening.
    some : list of ndarray of int, length P
        Only what some search may choose.
    bars : list of ndarray, length P
        0 where a search may choose so, else minus infinity.
    terms : list of ndarray, length P
        Of those choices, term by term; single precision will do to choose by, the net is read exactly at the end.
    reach : list of int
        So many terms can differ: value and playing stand first, and service is moved only by parts that end it.
    """

    rows: Ints
    some: list[Ints]
    bars: list[Floats]
    terms: list[Singles]
    reach: list[int]


def search(bench: Bench, payoff: Payoff, aims: tuple[Aim, ...]) -> dict[str, tuple[Plan, ...]]:
    """Return for each aim its best plan in every opening that can hold it, the best first.

    Parameters
    ----------
    bench : Bench
    payoff : Payoff
    aims : tuple of Aim
    """
    ground = bench.once(("ground", aims), lambda: _ground(bench, aims), by_moments=True)
    rows = ground.rows
    if not len(rows):
        return {aim.name: () for aim in aims}
    weight = (payoff.coefficients[:, None] * bench.condition.causes).ravel().astype(np.float32)
    weighted = [
        np.ascontiguousarray((each * weight)[:, :n].T) for each, n in zip(ground.terms, ground.reach, strict=True)
    ]
    barred = [
        (bar - price[some]).astype(np.float32)
        for bar, price, some in zip(ground.bars, bench.price, ground.some, strict=True)
    ]
    ways = [_climb(bench, payoff, ground, weighted, barred, put_right=put_right) for put_right in (True, False)]
    better = ways[1][1] > ways[0][1] + 1e-9
    chosen, net, price = (np.where(better, let_be, mended) for mended, let_be in zip(*ways, strict=True))
    found: dict[str, list[Plan]] = {aim.name: [] for aim in aims}
    for i in np.argsort(-net, kind="stable").tolist():
        name = aims[rows[i, 0]].name
        found[name].append(Plan(name, int(rows[i, 1]), tuple(chosen[:, i].tolist()), float(net[i]), float(price[i])))
    return {name: tuple(plans) for name, plans in found.items()}


def _ground(bench: Bench, aims: tuple[Aim, ...]) -> _Ground:
    rows, masks = _rows(bench, aims)
    some = [np.flatnonzero(mask.any(axis=0)) for mask in masks]
    causes, width = len(bench.condition.causes), bench.weighed[0].terms.shape[2]
    moved = (1 + (width - 1) // 2) * causes
    return _Ground(
        rows=rows,
        some=some,
        bars=[np.where(mask, 0.0, -np.inf)[:, each] for mask, each in zip(masks, some, strict=True)],
        terms=[
            np.ascontiguousarray(menu.terms[each].transpose(0, 2, 1), dtype=np.float32).reshape(len(each), -1)
            for menu, each in zip(bench.weighed, some, strict=True)
        ],
        reach=[width * causes if part.ends_service else moved for part in bench.condition.network.parts],
    )


def _rows(bench: Bench, aims: tuple[Aim, ...]) -> tuple[Ints, list[Bools]]:
    """Return (aim, opening) of every search that has a choice for each part, and the choices open to it."""
    rows, masks = [], []
    for a, aim in enumerate(aims):
        within, allowed = _in_class(bench, aim)
        if aim.holds >= 0:
            allowed = [mask & _holds(menu, mask, aim.holds) for menu, mask in zip(bench.weighed, allowed, strict=True)]
        whole = np.all([mask.any(axis=1) for mask in allowed], axis=0)
        rows += [(a, o) for o in within[whole].tolist()]
        masks.append([mask[whole] for mask in allowed])
    joined = [np.concatenate([mask[p] for mask in masks]) for p in range(len(bench.weighed))]
    return np.array(rows, dtype=np.intp).reshape(-1, 2), joined


def _in_class(bench: Bench, aim: Aim) -> tuple[Ints, list[Bools]]:
    """Return the openings that renew as many systems as an aim says, and each part's choices as far as it goes."""
    systems = np.array([len(opening.systems) for opening in bench.access.openings])
    within = np.flatnonzero((aim.least <= systems) & (systems <= aim.most))
    pairs = zip(bench.weighed, bench.allowed, strict=True)
    return within, [mask[within] & (menu.menu.policy <= aim.policy) for menu, mask in pairs]


def holds_content(bench: Bench, aim: Aim, plan: Plan) -> bool:
    """Tell whether a plan, found for whatever aim, leaves no more undone than one of this aim may."""
    _, allowed = _in_class(bench, aim)
    return all(
        _holds(menu, mask, aim.holds)[n] for menu, mask, n in zip(bench.weighed, allowed, plan.choices, strict=True)
    )


def _holds(menu: Weighed, allowed: Bools, threshold: int) -> Bools:
    """Return which choices leave no more undone than can be had anywhere in the class."""
    undone = menu.undone[:, threshold]
    reachable = allowed.any(axis=0)
    best = undone[reachable].min() if reachable.any() else 0.0
    return np.asarray(undone <= best + CONTENT_WITHIN)


def _climb(
    bench: Bench, payoff: Payoff, ground: _Ground, weighted: list[Singles], barred: list[Singles], *, put_right: bool
) -> tuple[Ints, Floats, Floats]:
    """Return choices (P, K), net (K,) and price (K,) of the best plans found for K searches at once.

    Parameters
    ----------
    weighted : list of ndarray, length P
        What each choice's terms come to in money.
    barred : list of ndarray, length P
        What each choice costs in each search: minus its price, or minus infinity.
    put_right : bool
        To begin with each part as if all others were sound; else with what costs least.
    """
    causes, openings, terms, reach = bench.condition.causes, ground.rows[:, 1], ground.terms, ground.reach
    k = len(openings)
    rows = np.arange(k)
    alone = [each.sum(axis=0) if put_right else 0.0 for each in weighted]
    chosen = np.stack([(by_itself + bar).argmax(axis=1) for by_itself, bar in zip(alone, barred, strict=True)])
    for _ in range(ROUNDS):
        before = chosen.copy()
        after = _products_after(terms, chosen)
        ahead = np.ones((k, terms[0].shape[1]), dtype=np.float32)
        for p, (each, bar) in enumerate(zip(weighted, barred, strict=True)):
            offer = (ahead[:, : reach[p]] * after[p][:, : reach[p]]) @ each
            offer += bar
            best, held = offer.argmax(axis=1), chosen[p]
            # A tie stays as it is, or the climb could go round.
            chosen[p] = np.where(offer[rows, best] > offer[rows, held] + _TIE, best, held)
            ahead *= terms[p][chosen[p]]
        if (chosen == before).all():
            break
    chosen = np.stack([some[each] for some, each in zip(ground.some, chosen, strict=True)])
    price = bench.opening_price[openings] + sum(each[c] for each, c in zip(bench.price, chosen, strict=True))
    whole = np.ones((k, *bench.weighed[0].terms.shape[1:]))
    for menu, c in zip(bench.weighed, chosen, strict=True):
        whole *= menu.terms[c]
    return chosen, payoff.constant + np.tensordot(causes, whole, axes=(0, 1)) @ payoff.coefficients - price, price


def _products_after(terms: list[Singles], chosen: Ints) -> list[Singles]:
    """Return for each part the product of the terms of all parts behind it."""
    after = [np.ones((chosen.shape[1], terms[0].shape[1]), dtype=np.float32)]
    for p in range(len(terms) - 1, 0, -1):
        after.append(after[-1] * terms[p][chosen[p]])
    return after[::-1]


def terms_of(bench: Bench, plan: Plan) -> Floats:
    """Return the terms of one plan, given the cause, shape (9, T)."""

    def product() -> Floats:
        each = [menu.terms[n] for menu, n in zip(bench.weighed, plan.choices, strict=True)]
        return np.asarray(np.prod(each, axis=0), dtype=np.float64)

    return bench.once(("terms", plan.choices), product, by_moments=True)


@kept
def undone(bench: Bench, plan: Plan, policy: str) -> float:
    """Return the chance that a plan leaves something past a threshold: 'stops', 'broken' or 'worn' [-]."""
    which = POLICIES.index(policy) - 1
    left = np.array([menu.undone[n, which] for menu, n in zip(bench.weighed, plan.choices, strict=True)])
    return float(1.0 - np.prod(1.0 - left))
