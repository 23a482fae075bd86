"""Remedies: the choices for one part, as arrays over its ladders.

In: a catalogue, what is barred. Out: a `Menu` of ladders for each part, made once and kept. With m_k[f, s] = 1 where
severity s of fault f calls for no rung above k:

    P(rung k, part at most in state t | h) =
        prod_f sum_s P(f, s | h) m_k [makes(left_k) <= t]  -  the same with m_{k-1} in place of m_k

So states, prices and what is left undone are products over the faults, without enumeration.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints
from valuation.engine.catalogue import POLICIES, Catalogue
from valuation.engine.ladders import Ladder, calls_for, ladders_of, left_by
from valuation.engine.openings import Opening

_PER_RUNG = 14
"""Columns of a rung: four states under m_k, the same under m_{k-1}, and three thresholds under each."""


@dataclass(frozen=True, eq=False)
class Menu:
    """All ladders of one part, as arrays. N ladders, R rungs in all, U distinct columns, G faults of the part.

    Attributes
    ----------
    context_of : ndarray of int, shape (O,)
        Context of each opening.
    context : ndarray of int, shape (N,)
    policy : ndarray of int, shape (N,)
        Position among `POLICIES`.
    first : ndarray of int, shape (N + 1,)
        Rungs of ladder n are ``first[n]:first[n + 1]``.
    steps : tuple of (ndarray of int, ndarray of int)
        For the first rung, the second and so on: the ladders that have one, and those rungs.
    columns : ndarray, shape (G, 4, U)
        Distinct columns over the severities, fault by fault.
    column_of : ndarray of int, shape (R, 14)
    need : ndarray of int, shape (N,)
        Column whose product is the chance that the fixed remedy is not needed.
    mask : ndarray, shape (G, 4, R)
        m_k of each rung; `before` the same of the rung below, 0 for the first.
    small : ndarray of int, shape (R, G, 4)
        Cure of a small repair; `none` stands for none.
    small_rungs : ndarray of int
        Rungs with small repairs.
    small_first, small_same : ndarray of int
        Of those rungs under m_k, then under m_{k-1}: the first of each kind that is alike, and for all its position.
    rung_of : ndarray of int, shape (R,)
        Ladder of each rung.
    bars : three ndarrays of int
        Ladder, fault of the part and severity from which the ladder is barred where it is likely.
    """

    part: int
    ladders: tuple[Ladder, ...]
    context_of: Ints
    context: Ints
    policy: Ints
    first: Ints
    steps: tuple[tuple[Ints, Ints], ...]
    columns: Floats
    column_of: Ints
    need: Ints
    mask: Floats
    before: Floats
    small: Ints
    none: int
    small_rungs: Ints
    small_first: Ints
    small_same: Ints
    rung_of: Ints
    bars: tuple[Ints, Ints, Ints]


@lru_cache(maxsize=4096)
def menu_of(catalogue: Catalogue, part: int, barred: frozenset[str]) -> Menu:
    """Return the ladders of one part.

    Parameters
    ----------
    barred : frozenset of str
        Small remedies of the part that what was found forbids.
    """
    access = catalogue.access
    contexts: dict[tuple[object, ...], int] = {}
    context_of = np.empty(len(access.openings), dtype=np.intp)
    ladders: list[Ladder] = []
    for o, opening in enumerate(access.openings):
        key = _context(catalogue, part, opening)
        if key not in contexts:
            contexts[key] = len(contexts)
            ladders += ladders_of(catalogue, part, opening, barred, contexts[key])
        context_of[o] = contexts[key]
    return _as_arrays(catalogue, part, tuple(ladders), context_of, barred)


@lru_cache(maxsize=8192)
def small_repairs(menu: Menu, n: int) -> tuple[Ints, Ints, Ints, Ints, list[int]]:
    """Return every small repair that a ladder may come to: fault of the part, severity, cure, and where that stands.

    Returns
    -------
    fault, severity : ndarray of int
    under, below : ndarray of int
        Kind of its rung under m_k and under m_{k-1}, see `Menu.small_same`.
    cure : list of int
    """
    first, after = np.searchsorted(menu.small_rungs, menu.first[n : n + 2])
    small = menu.small[menu.small_rungs[first:after]]
    rung, fault, severity = np.nonzero(small < menu.none)
    under, below = menu.small_same[first:after], menu.small_same[first + len(menu.small_rungs) :]
    return fault, severity, under[rung], below[rung], small[rung, fault, severity].tolist()


def _context(catalogue: Catalogue, part: int, opening: Opening) -> tuple[object, ...]:
    """Return all of an opening that matters to a part: two openings with the same one offer it the same ladders."""
    network, access = catalogue.network, catalogue.access
    name = network.parts[part].id
    remedies = (*catalogue.small.get(name, ()), *catalogue.large.get(name, ()))
    admitted = tuple(o for o in remedies if access.admits(opening, access.operations[o]))
    faults = network.faults[network.first[part] : network.first[part + 1]]
    free = tuple(sorted(o for o in opening.operations if any((o, row.id) in catalogue.cure_index for row in faults)))
    seen = tuple(access.reaches(opening, row.seen_at) for row in faults)
    larger = tuple(access.further(opening, access.operations[o]) for o in catalogue.large.get(name, ()))
    return admitted, free, seen, opening.forced(name), larger


def _as_arrays(
    catalogue: Catalogue, part: int, ladders: tuple[Ladder, ...], context_of: Ints, barred: frozenset[str]
) -> Menu:
    network = catalogue.network
    first, after = network.first[part], network.first[part + 1]
    makes = network.makes[first:after]
    limits = np.stack([catalogue.thresholds[policy][first:after, None] for policy in POLICIES[1:]])
    faults = np.arange(after - first)[:, None]
    columns, masks, befores, smalls, counts, rung_of = [], [], [], [], [0], []
    none = len(catalogue.cures)
    for n, ladder in enumerate(ladders):
        calm = calls_for(catalogue, part, ladder).astype(float)
        below = np.concatenate([np.zeros((1, *calm.shape[1:])), calm[:-1]])
        for k, rung in enumerate(ladder.rungs):
            left = np.array(rung.left)
            state = makes[faults, left]
            within = np.concatenate([state[None] <= np.arange(4)[:, None, None], left[None] < limits])
            columns += [*(within * calm[k]), *(within * below[k])]
            masks.append(calm[k])
            befores.append(below[k])
            smalls.append(np.where(np.array(rung.small) < 0, none, np.array(rung.small)))
            rung_of.append(n)
        counts.append(counts[-1] + len(ladder.rungs))
    for ladder in ladders:  # where the fixed remedy is not needed: what is left without it lies below the threshold
        columns.append(_not_needed(catalogue, part, ladder, barred).astype(float))
    stacked = np.stack(columns)
    distinct, inverse = np.unique(stacked.reshape(len(stacked), -1), axis=0, return_inverse=True)
    inverse = inverse.ravel()
    rungs = len(masks)
    small = np.stack(smalls)
    small_rungs = np.flatnonzero((small < none).any(axis=(1, 2)))
    alike = np.concatenate(
        [np.stack([masks[r], small[r]], axis=-1).reshape(1, -1) for r in small_rungs]
        + [np.stack([befores[r], small[r]], axis=-1).reshape(1, -1) for r in small_rungs]
        or [np.zeros((0, 1))]
    )
    _, small_first, small_same = np.unique(alike, axis=0, return_index=True, return_inverse=True)
    return Menu(
        part=part,
        ladders=ladders,
        context_of=context_of,
        context=np.array([ladder.context for ladder in ladders], dtype=np.intp),
        policy=np.array([POLICIES.index(ladder.policy) for ladder in ladders], dtype=np.intp),
        first=np.array(counts, dtype=np.intp),
        steps=_steps(np.array(counts, dtype=np.intp)),
        columns=np.ascontiguousarray(distinct.reshape(-1, after - first, 4).transpose(1, 2, 0)),
        column_of=inverse[: rungs * _PER_RUNG].reshape(rungs, _PER_RUNG),
        need=inverse[rungs * _PER_RUNG :],
        mask=np.stack(masks).transpose(1, 2, 0),
        before=np.stack(befores).transpose(1, 2, 0),
        small=small,
        none=none,
        small_rungs=small_rungs,
        small_first=small_first,
        small_same=small_same.ravel(),
        bars=_bars(ladders),
        rung_of=np.array(rung_of, dtype=np.intp),
    )


def _steps(first: Ints) -> tuple[tuple[Ints, Ints], ...]:
    rungs = np.diff(first)
    having = [np.flatnonzero(rungs > k) for k in range(int(rungs.max()))]
    return tuple((ladders, first[ladders] + k) for k, ladders in enumerate(having))


def _bars(ladders: tuple[Ladder, ...]) -> tuple[Ints, Ints, Ints]:
    rows = [(n, fault, since) for n, ladder in enumerate(ladders) for fault, since in ladder.bars]
    ladder, fault, since = np.array(rows, dtype=np.intp).reshape(-1, 3).T
    return ladder, fault, since


def _not_needed(catalogue: Catalogue, part: int, ladder: Ladder, barred: frozenset[str]) -> Bools:
    """Return where a ladder's fixed remedy is not needed, shape (G, 4): nowhere, where none can be spared."""
    network = catalogue.network
    first, after = network.first[part], network.first[part + 1]
    if not ladder.fixed or ladder.forced:
        return np.zeros((after - first, 4), dtype=bool)
    threshold = catalogue.thresholds[ladder.policy][first:after, None]
    found = np.broadcast_to(np.arange(4), (after - first, 4))
    left = np.array(
        [[left_by(catalogue, ladder.fixed, network.faults[f].id, s) for s in range(4)] for f in range(first, after)]
    )
    small = np.array(_small_left(catalogue, part, barred))
    remains = np.minimum(found, small)
    return np.asarray(~((remains >= threshold) & (left < remains)), dtype=np.bool_)


def _small_left(catalogue: Catalogue, part: int, barred: frozenset[str]) -> list[list[int]]:
    """Return what small repairs alone would leave, by fault and severity; those that are barred leave all."""
    network = catalogue.network
    result = []
    for f in range(network.first[part], network.first[part + 1]):
        cures = [
            catalogue.leaves[catalogue.cure_index[o, network.faults[f].id]]
            for o in catalogue.small.get(network.parts[part].id, ())
            if o not in barred and (o, network.faults[f].id) in catalogue.cure_index
        ]
        result.append([min((leaves[s] for leaves in cures), default=s) for s in range(4)])
    return result
