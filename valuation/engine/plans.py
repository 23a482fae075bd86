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

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints, Singles
from valuation.engine.bench import Bench
from valuation.engine.catalogue import POLICIES

Rest = ParamSpec("Rest")
R = TypeVar("R")

ROUNDS = 6
"""A climb that still moves after so many rounds over all parts is broken off; two to four is usual."""

_AT_ONCE = 128
"""So many searches climb together: what they hold stays in the processor's own memory."""

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
    exact : list of ndarray, length P
        Terms of those choices, as far as they can differ.
    terms : list of ndarray, length P
        The same term by term, in single precision: that will do to choose by, and the net is read exactly at the end.
    """

    rows: Ints
    some: list[Ints]
    bars: list[Floats]
    exact: list[Floats]
    terms: list[Singles]


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
    weighted = [np.ascontiguousarray((each * weight[: each.shape[1]]).T) for each in ground.terms]
    barred = [
        (bar - price[some]).astype(np.float32)
        for bar, price, some in zip(ground.bars, bench.price, ground.some, strict=True)
    ]
    chosen = _climb(
        ground.terms, weighted, barred, np.concatenate([_mended(weighted, barred), _let_be(barred)], axis=1)
    )
    k = len(rows)
    apart = np.flatnonzero((chosen[:, :k] != chosen[:, k:]).any(axis=0))
    of, chosen = np.concatenate([np.arange(k), apart]), chosen[:, [*range(k), *(k + apart)]]
    means = means_of(bench, k + len(apart), (each[c] for each, c in zip(ground.exact, chosen, strict=True)))
    chosen = np.stack([some[c] for some, c in zip(ground.some, chosen, strict=True)])
    price = bench.opening_price[rows[of, 1]] + sum(each[c] for each, c in zip(bench.price, chosen, strict=True))
    net = payoff.constant + means @ payoff.coefficients - price
    best = np.arange(k)
    best[apart] = np.where(net[k:] > net[apart] + 1e-9, np.arange(k, len(of)), apart)
    found: dict[str, list[Plan]] = {aim.name: [] for aim in aims}
    for i in best[np.argsort(-net[best], kind="stable")].tolist():
        name, opening = aims[rows[of[i], 0]].name, int(rows[of[i], 1])
        found[name].append(Plan(name, opening, tuple(chosen[:, i].tolist()), float(net[i]), float(price[i])))
    return {name: tuple(plans) for name, plans in found.items()}


def _ground(bench: Bench, aims: tuple[Aim, ...]) -> _Ground:
    rows, masks = _rows(bench, aims)
    some = [np.flatnonzero(mask.any(axis=0)) for mask in masks]
    exact = [menu.terms(each) for menu, each in zip(bench.weighed, some, strict=True)]
    return _Ground(
        rows=rows,
        some=some,
        bars=[np.where(mask[:, each], 0.0, -np.inf) for mask, each in zip(masks, some, strict=True)],
        exact=exact,
        terms=[each.astype(np.float32).transpose(0, 2, 1).reshape(len(each), -1) for each in exact],
    )


def _rows(bench: Bench, aims: tuple[Aim, ...]) -> tuple[Ints, list[Bools]]:
    """Return (aim, opening) of every search that has a choice for each part, and the choices open to it, part by part.

    A scope's content is held by a choice that leaves no more undone than can be had anywhere in its class.
    """
    starts = _starts(bench)
    rows, masks = [], []
    for a, aim in enumerate(aims):
        within, allowed, most = _in_class(bench, aim)
        if aim.holds >= 0:
            counts = [len(menu.undone) for menu in bench.weighed]
            allowed &= _undone(bench, aim) <= np.repeat(most, counts)
        whole = np.logical_or.reduceat(allowed, starts, axis=1).all(axis=1)
        rows += [(a, o) for o in within[whole].tolist()]
        masks.append(allowed[whole])
    return np.array(rows, dtype=np.intp).reshape(-1, 2), np.split(np.concatenate(masks), starts[1:], axis=1)


def _in_class(bench: Bench, aim: Aim) -> tuple[Ints, Bools, Floats]:
    """Return the openings that renew as many systems as an aim says, and the choices as far as it goes in each of them.

    All parts' choices are laid side by side. Last, by part, the most that a choice may leave undone.
    """
    systems = np.array([len(opening.systems) for opening in bench.access.openings])
    within = np.flatnonzero((aim.least <= systems) & (systems <= aim.most))
    policies = np.concatenate([menu.menu.policy for menu in bench.weighed])
    allowed = np.concatenate(bench.allowed, axis=1)[within] & (policies <= aim.policy)
    best = np.minimum.reduceat(np.where(allowed.any(axis=0), _undone(bench, aim), np.inf), _starts(bench))
    return within, allowed, np.where(np.isfinite(best), best, 0.0) + CONTENT_WITHIN


def _starts(bench: Bench) -> Ints:
    """Return where the choices of each part begin, laid side by side."""
    return np.cumsum([0, *(len(menu.undone) for menu in bench.weighed[:-1])])


def _undone(bench: Bench, aim: Aim) -> Floats:
    """Return the chance that a choice leaves something beyond an aim's threshold, all parts' side by side."""
    return np.concatenate([menu.undone[:, aim.holds] for menu in bench.weighed])


def holds_content(bench: Bench, aim: Aim, plan: Plan) -> bool:
    """Tell whether a plan, found for whatever aim, leaves no more undone than one of this aim may."""
    left = [menu.undone[n, aim.holds] for menu, n in zip(bench.weighed, plan.choices, strict=True)]
    return bool((left <= _in_class(bench, aim)[2]).all())


def _mended(weighted: list[Singles], barred: list[Singles]) -> Ints:
    """Return where searches begin from a piano that is put right: each part as if all others were sound."""
    return np.stack([(each.sum(axis=0) + bar).argmax(axis=1) for each, bar in zip(weighted, barred, strict=True)])


def _let_be(barred: list[Singles]) -> Ints:
    """Return where searches begin from a piano that is let be: with what costs least."""
    return np.stack([bar.argmax(axis=1) for bar in barred])


def _climb(terms: list[Singles], weighted: list[Singles], barred: list[Singles], chosen: Ints) -> Ints:
    """Return the choices (P, 2K) that K searches come to from two starts each, those of the first before the second's.

    A start that has come to the choices of the other is followed no further.

    Parameters
    ----------
    terms : list of ndarray, length P
        See `_Ground`.
    weighted : list of ndarray, length P
        What each choice's terms come to in money.
    barred : list of ndarray, length P
        What each choice costs in each search: minus its price, or minus infinity.
    chosen : ndarray of int, shape (P, 2K)
        The starts; climbs in place.
    """
    k = chosen.shape[1] // 2
    moving, met = np.arange(2 * k), np.zeros(k, dtype=bool)
    for _ in range(ROUNDS):
        before = chosen[:, moving]
        for some in np.array_split(moving, len(moving) // _AT_ONCE + 1):
            chosen[:, some] = _once_over(terms, weighted, [bar[some % k] for bar in barred], chosen[:, some])
        now = chosen[:, moving]
        met |= (chosen[:, :k] == chosen[:, k:]).all(axis=0)
        still = (now != before).any(axis=0) & ~((moving >= k) & met[moving % k])
        moving = moving[still]
        if not len(moving):
            break
    chosen[:, k:][:, met] = chosen[:, :k][:, met]
    return chosen


def _once_over(terms: list[Singles], weighted: list[Singles], barred: list[Singles], held: Ints) -> Ints:
    """Return the choices (P, M) of M searches after each part was given its best choice, all others held."""
    rows = np.arange(held.shape[1])
    taken = [each[c] for each, c in zip(terms, held, strict=True)]
    ahead = np.ones((len(rows), max(each.shape[1] for each in terms)), dtype=np.float32)
    product, behind = ahead.copy(), []
    for each in reversed(taken):
        behind.append(product[:, : each.shape[1]].copy())
        product[:, : each.shape[1]] *= each
    chosen = held.copy()
    for p, (each, bar) in enumerate(zip(weighted, barred, strict=True)):
        others = behind.pop()
        others *= ahead[:, : len(each)]
        offer = others @ each
        offer += bar
        best = offer.argmax(axis=1)
        # A tie stays as it is, or the climb could go round.
        (better,) = (offer[rows, best] > offer[rows, held[p]] + _TIE).nonzero()
        chosen[p, better] = best[better]
        taken[p][better] = terms[p][best[better]]
        ahead[:, : len(each)] *= taken[p]
    return chosen


def product_of_terms(bench: Bench, k: int, each: Iterable[Floats]) -> Floats:
    """Return the terms of K plans, given the cause, shape (K, 9, T), from those of each part's choice (K, 9, moved)."""
    width = bench.weighed[0].width
    playing, service = np.ones((k, 9, (width + 1) // 2)), np.ones((k, 9, width // 2))
    for terms in each:
        playing *= terms[:, :, : playing.shape[2]]
        if terms.shape[2] == width:
            service *= terms[:, :, playing.shape[2] :]
    return np.concatenate([playing, service], axis=2)


def means_of(bench: Bench, k: int, each: Iterable[Floats]) -> Floats:
    """Return the expected terms of K plans, shape (K, T)."""
    return np.tensordot(bench.condition.causes, product_of_terms(bench, k, each), axes=(0, 1))


def terms_of(bench: Bench, plan: Plan) -> Floats:
    """Return the terms of one plan, given the cause, shape (9, T)."""

    def product() -> Floats:
        each = (menu.terms([n]) for menu, n in zip(bench.weighed, plan.choices, strict=True))
        return product_of_terms(bench, 1, each).reshape(9, -1)

    return bench.once(("terms", plan.choices), product, by_moments=True)


@kept
def undone(bench: Bench, plan: Plan, policy: str) -> float:
    """Return the chance that a plan leaves something past a threshold: 'stops', 'broken' or 'worn' [-]."""
    which = POLICIES.index(policy) - 1
    left = np.array([menu.undone[n, which] for menu, n in zip(bench.weighed, plan.choices, strict=True)])
    return float(1.0 - np.prod(1.0 - left))
