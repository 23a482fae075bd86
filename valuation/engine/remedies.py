"""Remedies: the choices for one part, as ladders.

In: the tables, one sort of piano. Out: a `Menu` of ladders for each part, made once and kept. A ladder is a policy:
what is done to the part is decided by what the open piano shows. Its rungs go from small repairs, or a fixed larger
remedy, to replacement; each says what sets the next one off. With m_k[f, s] = 1 where severity s of fault f calls
for no rung above k:

    P(rung k, part at most in state t | h) =
        prod_f sum_s P(f, s | h) m_k [makes(left_k) <= t]  -  the same with m_{k-1} in place of m_k

So states, prices and what is left undone are products over the faults, without enumeration.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations

import numpy as np

from valuation.engine.arrays import Bools, Floats, Ints
from valuation.engine.network import Network, network_of
from valuation.engine.openings import Access, Opening, access_of
from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES, STATES
from valuation.engine.rows.work import CureRow, ForbiddenRow, OperationRow

NEVER = 4
"""A threshold that no severity reaches."""

POLICIES = ("nothing", "stops", "broken", "worn")
"""How far small repairs go: from which threshold a fault is treated where it is found."""

_WORN = STATES.index("worn")
_PER_RUNG = 14
"""Columns of a rung: four states under m_k, the same under m_{k-1}, and three thresholds under each."""


@dataclass(frozen=True, slots=True)
class Rung:
    """One rung of a ladder.

    Attributes
    ----------
    operation : str
        Larger remedy; empty for small repairs alone.
    further : frozenset of str
        What else it takes: opening the piano further where it is not open far enough, and what follows it.
    small : tuple of tuple of int
        For each fault of the part and severity, the cure that a small repair is, as an index; -1 for none.
    left : tuple of tuple of int
        Severity that is left, by fault and severity found.
    """

    operation: str
    further: frozenset[str]
    small: tuple[tuple[int, ...], ...]
    left: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Ladder:
    """One choice for a part: what is done, by what is found.

    Attributes
    ----------
    policy : str
        From which threshold small repairs are made, and further rungs set off.
    fixed : str
        Larger remedy that is done whatever is found; empty if none.
    forced : bool
        The opening itself asks for the fixed remedy.
    rungs : tuple of Rung
    bars : tuple of (int, int)
        (fault of the part, severity) from which the ladder is barred where it is likely.
    context : int
        Which of the part's contexts it belongs to.
    """

    policy: str
    fixed: str
    forced: bool
    rungs: tuple[Rung, ...]
    bars: tuple[tuple[int, int], ...]
    context: int


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
    columns : ndarray, shape (G, 4, U)
        Distinct columns over the severities, fault by fault.
    column_of : ndarray of int, shape (R, 14)
    need : ndarray of int, shape (N,)
        Column whose product is the chance that the fixed remedy is not needed.
    mask : ndarray, shape (G, 4, R)
        m_k of each rung; `before` the same of the rung below, 0 for the first.
    small : ndarray of int, shape (R, G, 4)
        Cure of a small repair; the last index stands for none.
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
    columns: Floats
    column_of: Ints
    need: Ints
    mask: Floats
    before: Floats
    small: Ints
    small_rungs: Ints
    small_first: Ints
    small_same: Ints
    rung_of: Ints
    bars: tuple[Ints, Ints, Ints]


@dataclass(frozen=True, eq=False)
class Catalogue:
    """What can be done to one sort of piano.

    Attributes
    ----------
    cures : tuple of CureRow
    cure_index : dict of (operation, fault) to int
    small : dict of str to tuple of str
        Small remedies of each part.
    large : dict of str to tuple of str
        Larger remedies of each part, the least first.
    thresholds : dict of str to ndarray of int, shape (F,)
        From which severity each policy treats a fault.
    forbidden : dict of str to tuple of ForbiddenRow
        What forbids each remedy.
    usual : tuple of str
        Operations that come with any work: the tuning, or a pitch raise where it stands too low.
    """

    network: Network
    access: Access
    features: tuple[str, ...]
    cures: tuple[CureRow, ...]
    cure_index: dict[tuple[str, str], int]
    leaves: tuple[tuple[int, int, int, int], ...]
    small: dict[str, tuple[str, ...]]
    large: dict[str, tuple[str, ...]]
    thresholds: dict[str, Ints]
    forbidden: dict[str, tuple[ForbiddenRow, ...]]
    usual: tuple[str, ...]
    usual_extent: Floats

    @property
    def operations(self) -> dict[str, OperationRow]:
        """All operations for such pianos, by id."""
        return self.access.operations

    def extent_hours(self, cure: int, fault: int, severity: int) -> float:
        """Return the likely hours of a small repair where nobody counted, to choose the lesser of two [h]."""
        row = self.cures[cure]
        return self.operations[row.operation].hours_likely + row.piece_likely * float(
            self.usual_extent[fault, severity]
        )


@lru_cache(maxsize=32)
def catalogue_of(tables: Tables, kind: str, features: tuple[str, ...], tier: str) -> Catalogue:
    """Return what can be done to pianos of one sort; made once and kept."""
    network, access = network_of(tables, kind, features, tier), access_of(tables, kind, features)
    cures = tuple(row for row in tables.cures if row.operation in access.operations and row.fault in network.index)
    forbidden: dict[str, list[ForbiddenRow]] = {}
    for row in tables.forbidden:
        if row.operation in access.operations and (row.feature in features or row.fault in network.index):
            forbidden.setdefault(row.operation, []).append(row)
    ruled_out = {
        name for name, rows in forbidden.items() if any(row.feature in features for row in rows if row.feature)
    }
    # What more likely cannot be had than can is no plan.
    hardly = tables.settings.fixed_from
    remedies = [
        row for row in access.operations.values() if row.part and row.id not in ruled_out and row.obtainable >= hardly
    ]
    return Catalogue(
        network=network,
        access=access,
        features=features,
        cures=cures,
        cure_index={(row.operation, row.fault): i for i, row in enumerate(cures)},
        leaves=tuple(_leaves(row) for row in cures),
        small=_by_part(row for row in remedies if row.level == "small"),
        large=_by_part(sorted((row for row in remedies if row.level == "large"), key=lambda row: row.rung)),
        thresholds=_thresholds(network),
        forbidden={name: tuple(rows) for name, rows in forbidden.items()},
        usual=(*tables.settings.keep_operations, tables.settings.raise_operation),
        usual_extent=np.array([[0.0, r.extent_slight, r.extent_marked, r.extent_severe] for r in network.faults]),
    )


def _by_part(rows: Iterable[OperationRow]) -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for row in rows:
        found.setdefault(row.part, []).append(row.id)
    return {part: tuple(ids) for part, ids in found.items()}


def _leaves(cure: CureRow) -> tuple[int, int, int, int]:
    """Return what a cure leaves of each severity; one that it doesn't treat, or would make worse, stays."""
    words = (cure.slight, cure.marked, cure.severe)
    return (0, *(min(s, SEVERITIES.index(word)) if word else s for s, word in enumerate(words, start=1)))  # type: ignore[return-value]  # three words make it four


def _thresholds(network: Network) -> dict[str, Ints]:
    stops = np.array([_stop_from(row) for row in network.faults])
    broken = np.minimum(stops, [SEVERITIES.index(row.put_right_from) for row in network.faults])
    worn = np.array([int(np.argmax(row >= _WORN)) if (row >= _WORN).any() else NEVER for row in network.makes])
    return {
        "nothing": np.full(len(network.faults), NEVER),
        "stops": stops,
        "broken": broken,
        "worn": np.minimum(broken, worn),
    }


def _stop_from(row: FaultRow) -> int:
    """Return the severity from which a fault must not be tuned or played; pulling up and moving can be left undone."""
    return min((SEVERITIES.index(word) for word in (row.stop_tune, row.stop_play) if word), default=NEVER)


@lru_cache(maxsize=4096)
def menu_of(catalogue: Catalogue, part: int, barred: frozenset[str]) -> Menu:
    """Return the ladders of one part.

    Parameters
    ----------
    catalogue : Catalogue
    part : int
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
            ladders += _ladders(catalogue, part, opening, barred, contexts[key])
        context_of[o] = contexts[key]
    return _as_arrays(catalogue, part, tuple(ladders), context_of, barred)


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


def _ladders(
    catalogue: Catalogue, part: int, opening: Opening, barred: frozenset[str], context: int
) -> Iterable[Ladder]:
    """Yield the ladders of a part in one opening: each start, each choice of up to two further rungs, each policy."""
    access = catalogue.access
    name = catalogue.network.parts[part].id
    forced = opening.forced(name)
    further = {o: access.further(opening, access.operations[o]) for o in catalogue.large.get(name, ())}
    reachable = [o for o in catalogue.large.get(name, ()) if further[o] is not None]
    at_hand = [o for o in reachable if access.admits(opening, access.operations[o])]
    starts = [o for o in at_hand if o in forced] if forced else ["", *at_hand]
    made: set[tuple[object, ...]] = set()
    for start in starts:
        rung = access.operations[start].rung if start else 0
        above = [o for o in reachable if access.operations[o].rung > rung]
        for count in range(min(len(above), 2) + 1):
            for more in combinations(above, count):
                for policy in POLICIES:
                    if policy == "nothing" and (count or (start and not forced)):
                        continue
                    operations = [(o, further.get(o) or frozenset()) for o in (start, *more)]
                    ladder = _ladder(catalogue, part, opening, barred, context, policy, operations, bool(forced))
                    key = (ladder.rungs, ladder.policy)
                    if key not in made and _uses_all_rungs(catalogue, part, ladder):
                        made.add(key)
                        yield ladder


def _ladder(
    catalogue: Catalogue,
    part: int,
    opening: Opening,
    barred: frozenset[str],
    context: int,
    policy: str,
    operations: list[tuple[str, frozenset[str]]],
    forced: bool,
) -> Ladder:
    rungs = tuple(
        _rung(catalogue, part, opening, barred, policy, operation, further) for operation, further in operations
    )
    bars = tuple(
        (fault, since)
        for rung in rungs
        if rung.operation
        for fault, since in sorted(_own_forbidding(catalogue, part, rung.operation))
    )
    return Ladder(policy=policy, fixed=operations[0][0], forced=forced, rungs=rungs, bars=bars, context=context)


def _own_forbidding(catalogue: Catalogue, part: int, operation: str) -> set[tuple[int, int]]:
    """Return (fault of the part, severity) from which an operation is forbidden."""
    network = catalogue.network
    first, after = network.first[part], network.first[part + 1]
    return {
        (int(network.index[row.fault] - first), SEVERITIES.index(row.since))
        for row in catalogue.forbidden.get(operation, ())
        if row.fault and first <= network.index[row.fault] < after
    }


def _rung(
    catalogue: Catalogue,
    part: int,
    opening: Opening,
    barred: frozenset[str],
    policy: str,
    operation: str,
    further: frozenset[str],
) -> Rung:
    network, access = catalogue.network, catalogue.access
    first, after = network.first[part], network.first[part + 1]
    free = [o for o in (*opening.operations, *further, operation, *catalogue.usual) if o]
    small = [
        o
        for o in catalogue.small.get(network.parts[part].id, ())
        if o not in barred and access.admits(opening, access.operations[o])
    ]
    repairs, left = [], []
    for f in range(first, after):
        row = network.faults[f]
        threshold = catalogue.thresholds[policy][f] if access.reaches(opening, row.seen_at) else NEVER
        repair_of, left_of = [], []
        for s in range(4):
            remains = min((_left(catalogue, o, row.id, s) for o in free), default=s)
            cure = -1
            if remains >= max(threshold, 1):
                cure, remains = _repair(catalogue, small, f, remains, int(threshold))
            repair_of.append(cure)
            left_of.append(remains)
        repairs.append(tuple(repair_of))
        left.append(tuple(left_of))
    return Rung(operation=operation, further=further, small=tuple(repairs), left=tuple(left))


def _left(catalogue: Catalogue, operation: str, fault: str, severity: int) -> int:
    cure = catalogue.cure_index.get((operation, fault))
    return severity if cure is None else catalogue.leaves[cure][severity]


def _repair(catalogue: Catalogue, small: list[str], fault: int, severity: int, threshold: int) -> tuple[int, int]:
    """Return the small repair of a fault: the quickest that brings it below the threshold, else the most thorough."""
    row = catalogue.network.faults[fault]
    offers = []
    for operation in small:
        cure = catalogue.cure_index.get((operation, row.id))
        if cure is not None and (left := catalogue.leaves[cure][severity]) < severity:
            offers.append((max(left, threshold - 1), catalogue.extent_hours(cure, fault, severity), left, cure))
    if not offers:
        return -1, severity
    _, _, left, cure = min(offers)
    return cure, left


def _calls_for(catalogue: Catalogue, part: int, ladder: Ladder) -> Bools:
    """Return m: where a severity calls for no rung above k, shape (rungs, G, 4)."""
    network = catalogue.network
    first, after = network.first[part], network.first[part + 1]
    threshold = catalogue.thresholds[ladder.policy][first:after, None]
    left = np.array([rung.left for rung in ladder.rungs])
    calm = np.ones(left.shape, dtype=bool)
    for k in range(len(ladder.rungs) - 1):
        above = left[k + 1 :].min(axis=0)
        # Calls for more: what is left here is past the threshold, and a rung above leaves less.
        calm[k] = ~((left[k] >= threshold) & (above < left[k]))
        operation = ladder.rungs[k].operation
        for fault, since in _own_forbidding(catalogue, part, operation) if operation else ():
            calm[k, fault, since:] = False
    return np.maximum.accumulate(calm, axis=0)


def _uses_all_rungs(catalogue: Catalogue, part: int, ladder: Ladder) -> bool:
    """Tell whether each rung above the first is set off by something; others are other ladders over again."""
    calm = _calls_for(catalogue, part, ladder)
    return all((calm[k] & ~calm[k - 1]).any() for k in range(1, len(calm)))


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
        calm = _calls_for(catalogue, part, ladder).astype(float)
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
        columns=np.ascontiguousarray(distinct.reshape(-1, after - first, 4).transpose(1, 2, 0)),
        column_of=inverse[: rungs * _PER_RUNG].reshape(rungs, _PER_RUNG),
        need=inverse[rungs * _PER_RUNG :],
        mask=np.stack(masks).transpose(1, 2, 0),
        before=np.stack(befores).transpose(1, 2, 0),
        small=small,
        small_rungs=small_rungs,
        small_first=small_first,
        small_same=small_same.ravel(),
        bars=_bars(ladders),
        rung_of=np.array(rung_of, dtype=np.intp),
    )


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
        [[_left(catalogue, ladder.fixed, network.faults[f].id, s) for s in range(4)] for f in range(first, after)]
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
