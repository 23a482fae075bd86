"""The best plan of a search by trying all of them: part by part, dropping only what can be proved to lose.

Partial plans are carried on whole. One is dropped where even the best that the parts to come could add leaves it below
a plan already known; a choice is dropped where another is better by the payoff whatever the other parts do.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.bench import Bench
from valuation.engine.choices import Weighed
from valuation.engine.plans import Aim, Payoff, Plan, _rows


@dataclass(frozen=True, eq=False)
class Search:
    """One search: the choices open to each part in one opening for one aim.

    Attributes
    ----------
    choices : tuple of ndarray of int, length P
        Positions of the ladders.
    """

    aim: str
    opening: int
    choices: tuple[np.ndarray, ...]


def searches(bench: Bench, aims: tuple[Aim, ...]) -> Iterator[Search]:
    """Yield every search of the aims."""
    rows, masks = _rows(bench, aims)
    for i, (aim, opening) in enumerate(rows.tolist()):
        yield Search(aims[aim].name, opening, tuple(np.flatnonzero(mask[i]) for mask in masks))


def cut(search: Search, plan: Plan, most: int, rng: np.random.Generator) -> Search:
    """Return the search with each part's choices cut to so many, the plan's own among them."""
    kept = []
    for choices, own in zip(search.choices, plan.choices, strict=True):
        others = choices[choices != own]
        kept.append(np.append(rng.permutation(others)[: most - 1], own))
    return Search(search.aim, search.opening, tuple(kept))


def all_terms(menu: Weighed, ladders: Ints | list[int]) -> Floats:
    """Return the terms of some ladders, those that they leave alone among them."""
    terms = np.ones((len(ladders), 9, menu.width))
    terms[:, :, : menu.moved] = menu.terms(ladders)
    return terms


def net_of(bench: Bench, payoff: Payoff, opening: int, choices: tuple[int, ...]) -> float:
    """Return the net worth of one plan, product by product."""
    total = payoff.constant - float(bench.opening_price[opening])
    terms = np.ones((9, bench.weighed[0].width))
    for menu, price, n in zip(bench.weighed, bench.price, choices, strict=True):
        terms = terms * all_terms(menu, [n])[0]
        total -= float(price[n])
    return total + float(bench.condition.causes @ (terms @ payoff.coefficients))


class Book:
    """Terms and prices of one search, its choices sorted by what is at stake in each part."""

    def __init__(self, bench: Bench, payoff: Payoff, search: Search) -> None:
        weight = bench.condition.causes[:, None] * payoff.coefficients
        used = np.abs(payoff.coefficients) > 0
        self.weight = weight[:, used].ravel()
        self.terms = [
            all_terms(menu, choices)[:, :, used].reshape(len(choices), -1)
            for menu, choices in zip(bench.weighed, search.choices, strict=True)
        ]
        self.prices = [price[choices] for price, choices in zip(bench.price, search.choices, strict=True)]
        self.constant = payoff.constant - float(bench.opening_price[search.opening])

    def prune(self) -> None:
        """Drop choices that another beats whatever the other parts do, until none is left to drop."""
        changed = True
        while changed:
            changed = False
            for p in range(len(self.terms)):
                keep = self._undominated(p)
                if not keep.all():
                    self.terms[p], self.prices[p] = self.terms[p][keep], self.prices[p][keep]
                    changed = True

    def _undominated(self, p: int) -> np.ndarray:
        terms, prices = self.terms[p], self.prices[p]
        high = np.prod([other.max(axis=0) for q, other in enumerate(self.terms) if q != p], axis=0) * self.weight
        low = np.prod([other.min(axis=0) for q, other in enumerate(self.terms) if q != p], axis=0) * self.weight
        keep = np.ones(len(terms), dtype=bool)
        for i in range(len(terms)):
            for j in np.flatnonzero(keep):
                if j != i and keep[i]:
                    gain = terms[j] - terms[i]
                    surely = np.minimum(gain * high, gain * low).sum() - (prices[j] - prices[i])
                    keep[i] = not surely >= 0
        return keep

    def best(self, known: float, most: int) -> float | None:
        """Return the net of the best plan, at least `known`; None where too many must be carried on at once."""
        self.prune()
        order = np.argsort(
            [
                -float(np.ptp(t @ np.abs(self.weight))) - float(np.ptp(c))
                for t, c in zip(self.terms, self.prices, strict=True)
            ]
        )
        terms, prices = [self.terms[p] for p in order], [self.prices[p] for p in order]
        partial, spent = np.ones((1, len(self.weight))), np.zeros(1)
        for depth in range(len(terms)):
            partial = (partial[:, None, :] * terms[depth]).reshape(-1, len(self.weight))
            spent = (spent[:, None] + prices[depth]).ravel()
            rest = terms[depth + 1 :]
            high = np.prod([t.max(axis=0) for t in rest], axis=0) if rest else 1.0
            low = np.prod([t.min(axis=0) for t in rest], axis=0) if rest else 1.0
            cap = np.where(self.weight > 0, high, low) * self.weight
            bound = self.constant + partial @ cap - spent - sum(c.min() for c in prices[depth + 1 :])
            keep = bound > known + 1e-6
            partial, spent = partial[keep], spent[keep]
            if len(spent) > most:
                return None
            if not len(spent):
                return known
        return float(max(known, (self.constant + partial @ self.weight - spent).max()))


def best_by_changes(bench: Bench, payoff: Payoff, search: Search, plan: Plan, count: int) -> float:
    """Return the net of the best plan within so many changes of a plan."""
    book = Book(bench, payoff, search)
    own = [int(np.flatnonzero(c == n)[0]) for c, n in zip(search.choices, plan.choices, strict=True)]
    held = np.array([terms[i] for terms, i in zip(book.terms, own, strict=True)])
    paid = np.array([prices[i] for prices, i in zip(book.prices, own, strict=True)])
    best = -np.inf
    open_parts = [p for p, terms in enumerate(book.terms) if len(terms) > 1]
    for parts in combinations(open_parts, min(count, len(open_parts))):
        rest = np.delete(held, parts, axis=0).prod(axis=0) * book.weight
        gains, spent = rest[None], np.zeros(1)
        for p in parts[:-1]:
            gains = (gains[:, None, :] * book.terms[p]).reshape(-1, len(book.weight))
            spent = (spent[:, None] + book.prices[p]).ravel()
        last = parts[-1]
        nets = gains @ book.terms[last].T - spent[:, None] - book.prices[last]
        best = max(best, float(nets.max()) - float(np.delete(paid, parts).sum()))
    return book.constant + best
