"""The best plan where benefits add up, exactly; and the frontier of cost against benefit.

Where each part's choice has a benefit of its own, parts meet only in the operations they share. Going through
the parts one by one, all that matters of the choices so far is which shared operations they have already brought;
once no later part can touch an operation its cost is settled and it is forgotten. Few such sets exist (some dozens), so
the best of all combinations is found by going through the parts once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.core.work import Workshop

_BROKEN, _WORKED = 1, 2
"""Bits of a set: some part lacks the core of a rebuild; some part is treated."""


@dataclass(frozen=True, eq=False)
class Stage:
    """One part's step: S moves from the sets before to the sets after.

    Attributes
    ----------
    source, choice : ndarray of int, shape (S,)
        Set before, and choice of this part; sorted by the set they lead to.
    start : ndarray of int, shape (sets after + 1,)
        The moves into set i stand at ``start[i]:start[i + 1]``.
    target : ndarray of int, shape (S,)
        Set after.
    settled : ndarray of int, shape (S,)
        What the move settles, as a row of `Stages.settled`.
    by_source : ndarray of int, shape (S,)
        The moves in order of the set before; those from set i stand at ``moves_from[i]:moves_from_end[i]``.
    """

    source: np.ndarray
    choice: np.ndarray
    start: np.ndarray
    target: np.ndarray
    settled: np.ndarray
    by_source: np.ndarray
    moves_from: np.ndarray
    moves_from_end: np.ndarray


@dataclass(frozen=True, eq=False)
class Stages:
    """The whole way through the parts.

    Attributes
    ----------
    order : ndarray of int, shape (P,)
        The parts in the order of the stages.
    stages : tuple of Stage
    private : ndarray, shape (C, O)
        Operations that only this choice's part can bring, or others cover, uncovered.
    settled : ndarray, shape (D, O)
        Each different set of operations whose cost some move settles.
    broken, worked : ndarray of bool
        What is true of each final set.
    """

    order: np.ndarray
    stages: tuple[Stage, ...]
    private: np.ndarray
    settled: np.ndarray
    broken: np.ndarray
    worked: np.ndarray


@lru_cache(maxsize=32)
def stages_for(shop: Workshop) -> Stages:
    """Return the steps for a workshop, made once and kept.

    The sets stay few if the part that shares most comes first, and then always the one that leaves fewest sets.
    """
    bits = _Bits(shop)
    order, sets, stages = [], {0: 0}, []
    left = set(range(len(shop.parts)))
    bills: dict[tuple[int, ...], int] = {}
    while left:
        p = min(sorted(left), key=lambda p: len(bits.after(sets, order, p)) if order else -bits.shared_by(p))
        left.remove(p)
        after = {}
        moves = []
        settled, gone, core_now = bits.settled_by(order, p)
        for before, i in sets.items():
            for c in range(shop.first[p], shop.first[p + 1]):
                now = bits.join(before, c, core_now)
                bill = tuple(o for o in settled if now & bits.bit[o] and not now & bits.coverers[o])
                moves.append((after.setdefault(now & ~gone, len(after)), i, c, bills.setdefault(bill, len(bills))))
        stages.append(_stage(sorted(moves), len(sets), len(after)))
        order.append(p)
        sets = after
    return Stages(
        order=np.array(order),
        stages=tuple(stages),
        private=bits.private.astype(float),
        settled=np.array([np.isin(np.arange(len(shop.operations)), bill) for bill in bills], dtype=float),
        broken=np.array([bool(s & _BROKEN) for s in sets]),
        worked=np.array([bool(s & _WORKED) for s in sets]),
    )


class _Bits:
    """Sets of shared operations as the bits of whole numbers, and when each is settled and forgotten."""

    def __init__(self, shop: Workshop) -> None:
        self.shop = shop
        n_parts, n_ops, n_core = len(shop.parts), len(shop.operations), shop.gives.shape[1]
        own = np.array(
            [shop.brings[c.operation] if c.operation >= 0 else np.zeros(n_ops, dtype=bool) for c in shop.choices]
        )
        by_part = np.array([own[shop.first[p] : shop.first[p + 1]].any(axis=0) for p in range(n_parts)])
        shared = by_part.sum(axis=0) > 1
        for o, c in zip(*np.nonzero(shop.coverers & by_part.any(axis=0) & by_part.any(axis=0)[:, None]), strict=True):
            if (by_part[:, o] | by_part[:, c]).sum() > 1:
                shared[[o, c]] = True
        self.private = shop.uncovered(own) & ~shared
        numbers = np.flatnonzero(shared)
        self.bit = {o: 1 << (2 + n_core + i) for i, o in enumerate(numbers)}
        self.coverers = {o: sum(self.bit[c] for c in np.flatnonzero(shop.coverers[o] & shared)) for o in numbers}
        # An operation's cost is known once its users and those of all that could cover it lie behind; it is
        # forgotten once it can no longer cover anything itself.
        users = {o: frozenset(np.flatnonzero(by_part[:, o])) for o in numbers}
        self._settled = {
            o: users[o].union(*(users[c] for c in np.flatnonzero(shop.coverers[o] & shared))) for o in numbers
        }
        self._gone = {
            o: self._settled[o].union(*(self._settled[c] for c in np.flatnonzero(shop.coverers[:, o] & shared)))
            for o in numbers
        }
        self._core = [(1 << (2 + q), frozenset(shop.part_of[shop.gives[:, q]])) for q in range(n_core)]
        self._of_choice = [
            sum(self.bit[o] for o in np.flatnonzero(own[c] & shared))
            | sum(self._core[q][0] for q in np.flatnonzero(shop.gives[c]))
            | (_WORKED if shop.choices[c].operation >= 0 else 0)
            for c in range(len(shop.choices))
        ]

    def shared_by(self, p: int) -> int:
        """Return how many shared operations part p can bring."""
        together = 0
        for c in range(self.shop.first[p], self.shop.first[p + 1]):
            together |= self._of_choice[c]
        return together.bit_count()

    def settled_by(self, order: list[int], p: int) -> tuple[list[int], int, list[int]]:
        """Return what part p settles: operations, bits to forget, bits of the core to look at."""
        before, after = frozenset(order), frozenset([*order, p])
        settled = [o for o, users in self._settled.items() if users <= after and not users <= before]
        gone = sum(self.bit[o] for o, users in self._gone.items() if users <= after and not users <= before)
        core = [bit for bit, givers in self._core if givers <= after and not givers <= before]
        return settled, gone | sum(core), core

    def join(self, before: int, choice: int, core_now: list[int]) -> int:
        """Return the set after a choice."""
        now = before | self._of_choice[choice]
        return now if all(now & bit for bit in core_now) else now | _BROKEN

    def after(self, sets: dict[int, int], order: list[int], p: int) -> set[int]:
        """Return the sets that there would be after part p."""
        _, gone, core_now = self.settled_by(order, p)
        choices = range(self.shop.first[p], self.shop.first[p + 1])
        return {self.join(before, c, core_now) & ~gone for before in sets for c in choices}


def _stage(moves: list[tuple[int, int, int, int]], n_before: int, n_after: int) -> Stage:
    target, source, choice, settled = np.array(moves).T
    by_source = np.argsort(source, kind="stable")
    return Stage(
        source=source,
        choice=choice,
        start=np.searchsorted(target, np.arange(n_after + 1)),
        target=target,
        settled=settled,
        by_source=by_source,
        moves_from=np.searchsorted(source[by_source], np.arange(n_before)),
        moves_from_end=np.searchsorted(source[by_source], np.arange(n_before), side="right"),
    )


def best_of_class(shop: Workshop, benefit: np.ndarray, cost: np.ndarray, option: str) -> np.ndarray | None:
    """Return the best plan of a class, exactly, where benefits add up.

    Parameters
    ----------
    shop : Workshop
    benefit : ndarray, shape (C,)
        What each choice adds; ``-inf`` forbids it.
    cost : ndarray, shape (O,)
        What each operation costs, charged once.
    option : str
        'rebuild' or 'partial_repair'.

    Returns
    -------
    ndarray of int, shape (P,), or None
        None where no plan of the class is allowed.
    """
    way = stages_for(shop)
    gain_of, settled = benefit - way.private @ cost, way.settled @ cost
    score, gains = np.zeros(1), []
    for stage in way.stages:
        gains.append(score[stage.source] + gain_of[stage.choice] - settled[stage.settled])
        score = np.maximum.reduceat(gains[-1], stage.start[:-1])
    of_class = way.worked & (way.broken == (option == "partial_repair"))
    value = np.where(of_class, score, -np.inf)
    return _best_way_to(way, gains, int(value.argmax())) if np.isfinite(value.max(initial=-np.inf)) else None


def _best_way_to(way: Stages, gains: list[np.ndarray], end: int) -> np.ndarray:
    """Return the plan that leads to a final set by the best move into each set."""
    plan = np.empty(len(gains), dtype=int)
    for p, stage, gain in zip(way.order[::-1], way.stages[::-1], gains[::-1], strict=True):
        first, stop = stage.start[end : end + 2]
        best = first + gain[first:stop].argmax()
        plan[p], end = stage.choice[best], stage.source[best]
    return plan


def _trace(way: Stages, back: list[tuple[np.ndarray, np.ndarray]], end: int) -> np.ndarray:
    """Follow the way back from its end and return the plan."""
    plan = np.empty(len(back), dtype=int)
    for stage in range(len(back) - 1, -1, -1):
        source, choice = back[stage]
        plan[way.order[stage]], end = choice[end], source[end]
    return plan


@dataclass(frozen=True, eq=False)
class Point:
    """One plan of the frontier: what it costs, what it adds, and its class ('keep' for no work at all)."""

    cost: float
    benefit: float
    option: str
    plan: np.ndarray


def frontier(shop: Workshop, benefit: np.ndarray, cost: np.ndarray) -> list[Point]:
    """Return every plan that none of its class beats in both cost and benefit, where benefits add up, cheapest first.

    Parameters
    ----------
    shop, benefit, cost
        As for `best_of_class`.
    """
    way = stages_for(shop)
    spend_of, settled = way.private @ cost, way.settled @ cost
    at = np.zeros(1, dtype=int)
    spent, gained = np.zeros(1), np.zeros(1)
    trail = []
    for stage in way.stages:
        counts = stage.moves_from_end[at] - stage.moves_from[at]
        point = np.repeat(np.arange(len(at)), counts)
        within = np.arange(len(point)) - np.repeat(np.cumsum(counts) - counts, counts)
        move = stage.by_source[stage.moves_from[at][point] + within]
        s = spent[point] + spend_of[stage.choice[move]] + settled[stage.settled[move]]
        g = gained[point] + benefit[stage.choice[move]]
        to = stage.target[move]
        keep = _undominated(to, s, g)
        trail.append((point[keep], stage.choice[move[keep]]))
        at, spent, gained = to[keep], s[keep], g[keep]
    kind = np.where(way.worked, np.where(way.broken, 1, 0), 2)[at]
    names = ("rebuild", "partial_repair", "keep")
    points = [
        Point(float(spent[end]), float(gained[end]), names[kind[end]], _trace(way, trail, int(end)))
        for end in _undominated(kind, spent, gained)
    ]
    return sorted(points, key=lambda point: (point.cost, -point.benefit))


def _undominated(group: np.ndarray, spent: np.ndarray, gained: np.ndarray) -> np.ndarray:
    """Return the points of each group that no other point of it beats, sorted by group and cost."""
    order = np.lexsort((-gained, spent, group))
    g, gain = group[order], gained[order]
    finite = np.isfinite(gain)
    order, g, gain = order[finite], g[finite], gain[finite]
    if not len(order):
        return order
    span = gain.max() - gain.min() + 1
    best = np.maximum.accumulate(gain + g * span)
    better = np.ones(len(order), dtype=bool)
    better[1:] = (gain + g * span)[1:] > best[:-1]
    return order[better]
