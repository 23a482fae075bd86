"""Work: which operations a plan brings with it, each once, and in which order.

A plan gives each part one choice: keep it, or one of the table's treatments. The operations of a plan are what its
treatments need, what must follow them, and so on, each once, less what other operations of the plan cover.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache
from graphlib import TopologicalSorter

import numpy as np

from valuation.core.rows import STATES, TREATMENTS, Level, OperationRow, PartRow, Tables

FAILED = STATES.index("failed")


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be done with a part: keep it (operation -1), or treat it by an operation."""

    part: int
    operation: int
    level: Level


@dataclass(frozen=True, eq=False)
class Workshop:
    """The operations for one kind of piano, as arrays. P parts, O operations, C choices over all parts.

    Attributes
    ----------
    operations : tuple of OperationRow, length O
        In an order in which they can be done.
    brings : ndarray of bool, shape (O, O)
        ``brings[o]``: everything that comes with operation o, itself included.
    needs : ndarray of bool, shape (O, O)
        ``needs[o]``: everything that must come before operation o.
    coverers : ndarray of bool, shape (O, O)
        ``coverers[o, c]``: operation c makes operation o needless.
    choices : tuple of Choice, length C
        Part by part; the first of each part keeps it.
    first : ndarray of int, shape (P + 1,)
        ``first[p]:first[p + 1]`` are the choices of part p.
    demanded : ndarray of bool, shape (C, 4, O)
        Operations that a choice brings, by the part's true state: teardown may demand more than was planned.
    after : ndarray of int, shape (C, 4)
        State of the part after the work, by its true state before; never a worse one.
    lasts : ndarray, shape (C, 4)
        Median years of service of the part from then on, never fewer than untouched [years].
    effective : ndarray of int, shape (C, 4)
        The operation that is then done; -1 for none.
    kinds : ndarray of int, shape (C, 4)
        Number of changes of that operation up to a state: 0 as planned, above where teardown demands more.
    gives : ndarray of bool, shape (C, core parts)
        Which parts of a rebuild's core a choice provides, by itself or by what it brings.
    forced : ndarray of int, shape (C, P)
        Choice that a choice forces on another part, because it brings that treatment along; -1 for none.
    meets : ndarray of bool, shape (C, C)
        ``meets[c, d]``: choice d is at least what choice c forces on the part of d.
    undercuts : ndarray of bool, shape (C, C)
        ``undercuts[c, d]``: choice d is less than that.
    """

    parts: tuple[PartRow, ...]
    operations: tuple[OperationRow, ...]
    index: dict[str, int]
    brings: np.ndarray
    needs: np.ndarray
    coverers: np.ndarray
    choices: tuple[Choice, ...]
    first: np.ndarray
    part_of: np.ndarray
    demanded: np.ndarray
    after: np.ndarray
    lasts: np.ndarray
    effective: np.ndarray
    kinds: np.ndarray
    gives: np.ndarray
    forced: np.ndarray
    meets: np.ndarray
    undercuts: np.ndarray

    @property
    def keep_all(self) -> np.ndarray:
        """The plan that keeps every part, shape (P,)."""
        return self.first[:-1]

    @cached_property
    def plays(self) -> np.ndarray:
        """How well the piano plays with each part in each state, shape (P, 4)."""
        return np.array(
            [(part.play_sound, part.play_serviceable, part.play_worn, part.play_failed) for part in self.parts]
        )

    def together(self, operations: Iterable[int]) -> np.ndarray:
        """Return all that these operations bring, each once, covered ones left out, shape (O,)."""
        chosen = list(operations)
        brought = self.brings[chosen].any(axis=0) if chosen else np.zeros(len(self.operations), dtype=bool)
        return self.uncovered(brought)

    def uncovered(self, brought: np.ndarray) -> np.ndarray:
        """Drop the operations that others of the same set make needless, shape (..., O)."""
        return brought & ~np.matmul(brought.astype(np.float32), self.coverers.T.astype(np.float32)).astype(bool)

    def planned(self, plan: np.ndarray) -> np.ndarray:
        """Return the operations of a plan, as planned, shape (O,)."""
        return self.together(self.choices[c].operation for c in plan if self.choices[c].operation >= 0)

    def levels(self, plan: np.ndarray) -> tuple[Level, ...]:
        """Return the level of each part in a plan."""
        return tuple(self.choices[c].level for c in plan)

    def are_rebuilds(self, plans: np.ndarray) -> np.ndarray:
        """Tell which plans contain the core of a rebuild, shape (K, P) to (K,)."""
        return self.gives[plans].any(axis=1).all(axis=1)

    def forced_within(self, allowed: np.ndarray) -> np.ndarray:
        """Return `forced` as far as it is allowed: elsewhere the least choice that makes up for it, shape (C, P)."""
        forced = self.forced.copy()
        for c, p in zip(*np.nonzero(forced >= 0), strict=True):
            if not allowed[forced[c, p]]:
                these = np.arange(self.first[p], self.first[p + 1])
                instead = these[allowed[these] & self.meets[c, these]]
                forced[c, p] = instead[0] if len(instead) else -1
        return forced

    def settled(self, allowed: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return those of the choices that force nothing beyond them on another part, and what they force."""
        while True:
            forced = self.forced_within(allowed)
            stuck = allowed & ((self.forced >= 0) & (forced < 0)).any(axis=1)
            if not stuck.any():
                return allowed, forced
            allowed = allowed & ~stuck

    def complete(self, plans: np.ndarray, forced: np.ndarray) -> np.ndarray:
        """Return plans with every part that their operations treat anyway raised to that treatment, shape (K, P).

        Parameters
        ----------
        plans : ndarray of int, shape (K, P)
        forced : ndarray of int, shape (C, P)
            As from `forced_within`.
        """
        full = plans.copy()
        for _ in range(plans.shape[1]):
            along = forced[full]
            unmet = (along >= 0) & ~self.meets[full[:, :, None], full[:, None, :]]
            if not unmet.any():
                break
            wanted = np.where(unmet, along, -1).max(axis=1)
            full = np.where(wanted >= 0, wanted, full)
        return full

    def with_choices(self, plans: np.ndarray, choices: np.ndarray, forced: np.ndarray) -> np.ndarray:
        """Return plans with each choice taken in turn, and all that it forces on other parts, shape (K, n, P)."""
        changed = np.repeat(plans[:, None], len(choices), axis=1)
        changed[:, np.arange(len(choices)), self.part_of[choices]] = choices
        along = forced[choices]
        unmet = (along >= 0) & ~self.meets[choices[:, None], changed]
        return np.where(unmet, along, changed)


@lru_cache(maxsize=32)
def workshop_for(tables: Tables, kind: str, parts: tuple[PartRow, ...]) -> Workshop:
    """Return the operations for pianos of one kind with these parts; made once and kept."""
    rows = tables.of_kind("operations", kind)
    here = {row.id for row in parts}
    # Another instrument's parts are not on this one: their operations fall away wherever they are named.
    rows = {id_: row for id_, row in rows.items() if not row.part or row.part in here}
    order = _order(rows)
    operations = tuple(rows[id_] for id_ in order)
    index = {id_: i for i, id_ in enumerate(order)}

    def matrix(names: dict[str, tuple[str, ...]]) -> np.ndarray:
        out = np.zeros((len(order), len(order)), dtype=bool)
        for id_, others in names.items():
            out[index[id_], [index[other] for other in others if other in index]] = True
        return out

    needs = _reach(matrix({id_: row.needs for id_, row in rows.items()}))
    follow = matrix({id_: row.followed_by for id_, row in rows.items()})
    brings = _reach(needs | follow) | np.eye(len(order), dtype=bool)
    coverers = matrix({id_: row.covers for id_, row in rows.items()}).T
    choices = tuple(choice for p, part in enumerate(parts) for choice in _choices(p, part, operations))
    part_of = np.array([choice.part for choice in choices])
    forced, meets = _forced(parts, brings, coverers, choices)
    effective, demanded, after, lasts = _outcomes(parts, operations, index, brings, needs, choices)
    return Workshop(
        parts=parts,
        operations=operations,
        index=index,
        brings=brings,
        needs=needs,
        coverers=coverers,
        choices=choices,
        first=np.searchsorted(part_of, np.arange(len(parts) + 1)),
        part_of=part_of,
        demanded=demanded,
        after=after,
        lasts=lasts,
        effective=effective,
        kinds=np.cumsum(np.diff(effective, axis=1, prepend=effective[:, :1]) != 0, axis=1),
        gives=_gives_core(parts, operations, brings, choices),
        forced=forced,
        meets=meets,
        undercuts=(forced >= 0)[:, part_of] & ~meets,
    )


def distinct(plans: np.ndarray) -> np.ndarray:
    """Return each different plan once, sorted, shape (K, P)."""
    return np.array(sorted(set(map(tuple, plans.tolist()))), dtype=int).reshape(-1, plans.shape[1])


def _order(rows: dict[str, OperationRow]) -> list[str]:
    """Return the ids in an order in which the work can be done, the table's own order where it is free."""
    before: dict[str, set[str]] = {id_: {n for n in row.needs if n in rows} for id_, row in rows.items()}
    for id_, row in rows.items():
        for later in row.followed_by:
            if later in rows:
                before[later].add(id_)
    place = {id_: i for i, id_ in enumerate(rows)}
    sorter = TopologicalSorter(before)
    sorter.prepare()
    ready, order = list(sorter.get_ready()), []
    while ready:
        first = min(ready, key=place.__getitem__)
        ready.remove(first)
        order.append(first)
        sorter.done(first)
        ready += sorter.get_ready()
    return order


def _reach(step: np.ndarray) -> np.ndarray:
    """Return the transitive closure of a relation, by repeated squaring."""
    reach = step
    while True:
        further = reach | (reach.astype(np.float32) @ reach.astype(np.float32) > 0)
        if (further == reach).all():
            return reach
        reach = further


def _choices(p: int, part: PartRow, operations: tuple[OperationRow, ...]) -> list[Choice]:
    treatments = [
        Choice(p, o, Level(1 + TREATMENTS.index(row.level)))
        for o, row in enumerate(operations)
        if row.part == part.id and row.level in TREATMENTS
    ]
    return [Choice(p, -1, Level.KEEP), *sorted(treatments, key=lambda choice: choice.level)]


def _forced(parts, brings, coverers, choices) -> tuple[np.ndarray, np.ndarray]:
    """Find which treatments of other parts a choice brings along, and which choices there make up for them."""
    by_operation = {choice.operation: c for c, choice in enumerate(choices) if choice.operation >= 0}
    forced = np.full((len(choices), len(parts)), -1)
    meets = np.ones((len(choices), len(choices)), dtype=bool)
    for c, choice in enumerate(choices):
        if choice.operation < 0:
            continue
        own = brings[choice.operation]
        for o in np.flatnonzero(own & ~(coverers @ own)):
            d = by_operation.get(int(o))
            if d is None or choices[d].part == choice.part:
                continue
            forced[c, choices[d].part] = d
            for e, other in enumerate(choices):
                if other.part == choices[d].part:
                    meets[c, e] = e == d or (other.operation >= 0 and coverers[o, other.operation])
    return forced, meets


def _gives_core(parts, operations, brings, choices) -> np.ndarray:
    core = [part for part in parts if part.core in TREATMENTS]
    gives = np.zeros((len(choices), len(core)), dtype=bool)
    for q, part in enumerate(core):
        enough = TREATMENTS[TREATMENTS.index(part.core) :]
        provides = np.array([row.part == part.id and row.level in enough for row in operations])
        for c, choice in enumerate(choices):
            gives[c, q] = choice.operation >= 0 and (brings[choice.operation] & provides).any()
    return gives


def _outcomes(parts, operations, index, brings, needs, choices):
    """Follow each choice through teardown, for each true state of its part."""
    shape = (len(choices), 4)
    effective = np.full(shape, -1)
    demanded = np.zeros((*shape, len(operations)), dtype=bool)
    after = np.tile(np.arange(4), (len(choices), 1))
    lasts = np.empty(shape)
    for c, choice in enumerate(choices):
        part = parts[choice.part]
        kept_for = (part.years_sound, part.years_serviceable, part.years_worn, 0.0)
        for s in range(4):
            if choice.operation < 0:
                lasts[c, s] = kept_for[s]
                continue
            o = choice.operation
            while s > STATES.index(operations[o].holds_to):
                o = index[operations[o].instead]
            effective[c, s] = o
            demanded[c, s] = brings[o] | needs[choice.operation]
            after[c, s] = min(s, STATES.index(operations[o].leaves))
            lasts[c, s] = max(kept_for[s], operations[o].lasts_years)
    return effective, demanded, after, lasts
