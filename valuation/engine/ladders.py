"""Ladders: the policies for one part in one opening.

In: a catalogue, an opening. Out: `Ladder`s. A ladder is a policy: what is done to the part is decided by what the open
piano shows. Its rungs go from small repairs, or a fixed larger remedy, to replacement; each says what sets the next
one off.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache, partial
from itertools import combinations

import numpy as np

from valuation.engine.arrays import Bools
from valuation.engine.catalogue import NEVER, POLICIES, Catalogue
from valuation.engine.openings import Opening
from valuation.engine.rows.words import SEVERITIES


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


def ladders_of(
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
    rung_of = cache(partial(_rung, catalogue, part, opening, barred))
    bars = {o: tuple(sorted(own_forbidding(catalogue, part, o))) for o in reachable}
    for start in starts:
        rung = access.operations[start].rung if start else 0
        above = [o for o in reachable if access.operations[o].rung > rung]
        for count in range(min(len(above), 2) + 1):
            for more in combinations(above, count):
                for policy in POLICIES:
                    if policy == "nothing" and (count or (start and not forced)):
                        continue
                    rungs = tuple(rung_of(policy, o, further.get(o) or frozenset()) for o in (start, *more))
                    ladder = Ladder(
                        policy=policy,
                        fixed=start,
                        forced=bool(forced),
                        rungs=rungs,
                        bars=tuple(bar for each in rungs for bar in bars.get(each.operation, ())),
                        context=context,
                    )
                    key = (ladder.rungs, ladder.policy)
                    if key not in made and _uses_all_rungs(catalogue, part, ladder):
                        made.add(key)
                        yield ladder


def own_forbidding(catalogue: Catalogue, part: int, operation: str) -> set[tuple[int, int]]:
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
    done = (*opening.operations, *further, operation, *catalogue.usual)
    free = [catalogue.cures_of[o] for o in done if o in catalogue.cures_of]
    small = [
        o
        for o in catalogue.small.get(network.parts[part].id, ())
        if o not in barred and access.admits(opening, access.operations[o])
    ]
    repairs, left = [], []
    for f in range(first, after):
        row = network.faults[f]
        threshold = catalogue.thresholds[policy][f] if access.reaches(opening, row.seen_at) else NEVER
        leaves = [catalogue.leaves[cures[f]] for cures in free if f in cures]
        repair_of, left_of = [], []
        for s in range(4):
            remains = min((each[s] for each in leaves), default=s)
            cure = -1
            if remains >= max(threshold, 1):
                cure, remains = _repair(catalogue, small, f, remains, int(threshold))
            repair_of.append(cure)
            left_of.append(remains)
        repairs.append(tuple(repair_of))
        left.append(tuple(left_of))
    return Rung(operation=operation, further=further, small=tuple(repairs), left=tuple(left))


def left_by(catalogue: Catalogue, operation: str, fault: str, severity: int) -> int:
    """Return what an operation leaves of a severity of a fault; all of it where it doesn't treat it."""
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


def calls_for(catalogue: Catalogue, part: int, ladder: Ladder) -> Bools:
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
        for fault, since in own_forbidding(catalogue, part, operation) if operation else ():
            calm[k, fault, since:] = False
    return np.maximum.accumulate(calm, axis=0)


def _uses_all_rungs(catalogue: Catalogue, part: int, ladder: Ladder) -> bool:
    """Tell whether each rung above the first is set off by something; others are other ladders over again."""
    calm = calls_for(catalogue, part, ladder)
    return all((calm[k] & ~calm[k - 1]).any() for k in range(1, len(calm)))
