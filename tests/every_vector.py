"""A twin of the engine's ladders that goes through every way the faults of a part may stand, without any product.

Each vector of severities is treated as the workshop would: begin at the first rung; each fault says up to which rung it
asks for more; the highest that is asked for is done; what its remedies leave is looked up in the rows of the cures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.engine.choices import Weighed
from valuation.engine.ladders import Ladder
from valuation.engine.openings import Opening
from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.words import SEVERITIES, STATES
from valuation.engine.study import Study

STOPS, BROKEN, WORN = range(3)
NEVER = 4


@dataclass(frozen=True, eq=False)
class Treated:
    """What one ladder does in each vector, V of them.

    Attributes
    ----------
    rung : ndarray of int, shape (V,)
        Rung that is done.
    state : ndarray of int, shape (V,)
        State of the part that it leaves.
    undone : ndarray of bool, shape (3, V)
        Something at a stop, broken, or worn is left.
    labour, other : ndarray, shape (V,)
        What it costs.
    needed : ndarray of bool, shape (V,)
        The fixed remedy, if there is one, is needed.
    """

    rung: np.ndarray
    state: np.ndarray
    undone: np.ndarray
    labour: np.ndarray
    other: np.ndarray
    needed: np.ndarray


def every_vector(count: int) -> np.ndarray:
    """Return all vectors of so many severities, shape (count, 4 ** count)."""
    return np.stack(np.meshgrid(*[np.arange(4)] * count, indexing="ij")).reshape(count, -1)


def chances(study: Study, part: int, vectors: np.ndarray) -> np.ndarray:
    """Return the chance of each vector given the cause, shape (9, V)."""
    first = study.condition.network.first[part]
    found = np.ones((9, vectors.shape[1]))
    for g, severities in enumerate(vectors):
        found *= study.condition.faults_given[first + g][:, severities]
    return found


def thresholds(row: FaultRow) -> tuple[int, int, int]:
    """Return from which severity a fault is a stop, broken, worn."""
    words = [word for word in (row.stop_tune, row.stop_play) if word]
    stop = min((SEVERITIES.index(word) for word in words), default=NEVER)
    broken = min(stop, SEVERITIES.index(row.put_right_from))
    bad = [s for s in (1, 2, 3) if makes_of(row)[s] >= STATES.index("worn")]
    return stop, broken, min([broken, *bad])


def makes_of(row: FaultRow) -> list[int]:
    """Return the state that each severity makes of the part."""
    return [0, *(STATES.index(getattr(row, f"makes_{severity}")) for severity in SEVERITIES[1:])]


class Twin:
    """The ladders of one part of one study, reckoned vector by vector from the rows of the tables."""

    def __init__(self, study: Study, menu: Weighed) -> None:
        network, self.study, self.menu = study.condition.network, study, menu
        self.faults = network.faults[network.first[menu.menu.part] : network.first[menu.menu.part + 1]]
        self.first = network.first[menu.menu.part]
        self.cures = {(row.operation, row.fault): row for row in study.tables.cures}
        self.rows = study.catalogue.operations
        self.places = {(row.operation, row.fault): i for i, row in enumerate(study.catalogue.cures)}
        self.vectors = every_vector(len(self.faults))
        self.chances = chances(study, menu.menu.part, self.vectors)
        part = network.parts[menu.menu.part].id
        self.small = [
            row.id
            for row in self.rows.values()
            if row.part == part and row.level == "small" and not self._barred(row.id)
        ]

    def _barred(self, operation: str) -> bool:
        condition, index = self.study.condition, self.study.condition.network.index
        for row in self.study.tables.forbidden:
            if row.operation != operation:
                continue
            if row.feature and row.feature in self.study.visit.piano.features:
                return True
            if row.fault in index:
                since = SEVERITIES.index(row.since)
                if condition.severities[index[row.fault], since:].sum() >= self.study.tables.settings.forbidden_from:
                    return True
        return False

    def leaves(self, operation: str, fault: str, severity: int) -> int:
        """Return what an operation leaves of a fault; never more than there was."""
        row = self.cures.get((operation, fault))
        word = (None, row.slight, row.marked, row.severe)[severity] if row else None
        return min(severity, SEVERITIES.index(word)) if word else severity

    def opening_of(self, ladder: Ladder) -> Opening:
        """Return an opening in which the ladder is offered."""
        at = int(np.flatnonzero(self.menu.menu.context_of == ladder.context)[0])
        return self.study.catalogue.access.openings[at]

    def treat(self, n: int) -> Treated:
        """Return what ladder `n` does in each vector."""
        ladder = self.menu.menu.ladders[n]
        opening = self.opening_of(ladder)
        policy = {"nothing": None, "stops": STOPS, "broken": BROKEN, "worn": WORN}[ladder.policy]
        wants = [NEVER if policy is None else thresholds(row)[policy] for row in self.faults]
        tables = [self._rung(opening, rung.operation, rung.further, wants) for rung in ladder.rungs]
        left = np.array([table[0] for table in tables])  # (K, G, 4)
        asks = np.zeros((len(self.faults), 4), dtype=int)
        for g, row in enumerate(self.faults):
            for s in range(4):
                asks[g, s] = self._asked(ladder, left[:, g, s].tolist(), wants[g], row.id, s)
        each = np.arange(len(self.faults))[:, None]
        rung = asks[each, self.vectors].max(axis=0)
        remains = left[rung, each, self.vectors]  # (G, V)
        makes = np.array([makes_of(row) for row in self.faults])
        limits = np.array([thresholds(row) for row in self.faults])
        labour, other = (
            np.array([table[i][each, self.vectors].sum(axis=0) for table in tables])[rung, np.arange(len(rung))]
            for i in (1, 2)
        )
        whole = [(rung_.operation, *sorted(rung_.further)) if rung_.operation else () for rung_ in ladder.rungs]
        labour = labour + np.array([self.study.prices.labour(names) for names in whole])[rung]
        other = other + np.array([self.study.prices.other(names) for names in whole])[rung]
        return Treated(
            rung=rung,
            state=makes[each, remains].max(axis=0),
            undone=np.array([(remains >= limits[:, i, None]).any(axis=0) for i in range(3)]),
            labour=labour,
            other=other,
            needed=self._needed(ladder, wants),
        )

    def _rung(
        self, opening: Opening, operation: str, further: frozenset[str], wants: list[int]
    ) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return what a rung leaves of each fault at each severity, and what its small repairs cost there."""
        access, prices = self.study.catalogue.access, self.study.prices
        settings = self.study.tables.settings
        usual = (*settings.keep_operations, settings.raise_operation)
        brought = [*opening.operations, *further, *([operation] if operation else []), *usual]
        shape = (len(self.faults), 4)
        left, labour, other = np.zeros(shape, dtype=int), np.zeros(shape), np.zeros(shape)
        for g, row in enumerate(self.faults):
            seen = access.reaches(opening, row.seen_at)
            for s in range(4):
                left[g, s] = min([s, *(self.leaves(name, row.id, s) for name in brought)])
                if not seen or left[g, s] < max(wants[g], 1):
                    continue
                small = self._small(opening, row, int(left[g, s]), wants[g])
                if small:
                    left[g, s], place = small
                    count = self.study.extent.pieces[self.first + g, s]
                    labour[g, s] = prices.setup_labour[place] + count * prices.piece_labour[place]
                    other[g, s] = prices.setup_other[place] + count * prices.piece_other[place]
        return left, labour, other

    def _small(self, opening: Opening, fault: FaultRow, severity: int, want: int) -> tuple[int, int] | None:
        """Return the small repair of a fault as (what it leaves, its place): the quickest that does, else the best."""
        extent = (0.0, fault.extent_slight, fault.extent_marked, fault.extent_severe)[severity]
        offers = []
        for name in self.small:
            row = self.cures.get((name, fault.id))
            if row is None or not self.study.catalogue.access.admits(opening, self.rows[name]):
                continue
            left = self.leaves(name, fault.id, severity)
            if left < severity:
                hours = self.rows[name].hours_likely + row.piece_likely * extent
                offers.append((left >= want, left if left >= want else 0, hours, left, self.places[name, fault.id]))
        return min(offers)[3:] if offers else None

    def _asked(self, ladder: Ladder, left: list[int], want: int, fault: str, severity: int) -> int:
        """Return the first rung at which a fault is content."""
        for k in range(len(left) - 1):
            more = left[k] >= want and min(left[k + 1 :]) < left[k]
            if not more and not self._forbids(ladder.rungs[k].operation, fault, severity):
                return k
        return len(left) - 1

    def _forbids(self, operation: str, fault: str, severity: int) -> bool:
        return any(
            row.operation == operation and row.fault == fault and severity >= SEVERITIES.index(row.since)
            for row in self.study.tables.forbidden
        )

    def _needed(self, ladder: Ladder, wants: list[int]) -> np.ndarray:
        """Return where the fixed remedy is needed: small repairs leave a fault that it would bring further down."""
        if not ladder.fixed or ladder.forced:
            return np.ones(self.vectors.shape[1], dtype=bool)
        needed = np.zeros(self.vectors.shape[1], dtype=bool)
        for g, row in enumerate(self.faults):
            for s in range(1, 4):
                by_small = min([s, *(self.leaves(name, row.id, s) for name in self.small)])
                if by_small >= wants[g] and self.leaves(ladder.fixed, row.id, s) < by_small:
                    needed |= self.vectors[g] == s
        return needed
