"""Catalogue: what can be done to one sort of piano.

In: the tables, one sort of piano. Out: its `Catalogue`, made once and kept: which remedies can be had, what each cures
and leaves, what forbids it, and from which severity on a policy treats a fault.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from valuation.engine.arrays import Floats, Ints
from valuation.engine.network import Network, network_of
from valuation.engine.openings import Access, access_of
from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES, STATES
from valuation.engine.rows.work import CureRow, ForbiddenRow, OperationRow

NEVER = 4
"""A threshold that no severity reaches."""

POLICIES = ("nothing", "stops", "broken", "worn")
"""How far small repairs go: from which threshold a fault is treated where it is found."""

_WORN = STATES.index("worn")


@dataclass(frozen=True, eq=False)
class Catalogue:
    """What can be done to one sort of piano.

    Attributes
    ----------
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

    @cached_property
    def cures_of(self) -> dict[str, dict[int, int]]:
        """Operation to the faults that it treats, each with its cure, in the order of the faults."""
        found: dict[str, dict[int, int]] = {}
        for i, row in sorted(enumerate(self.cures), key=lambda pair: self.network.index[pair[1].fault]):
            found.setdefault(row.operation, {})[self.network.index[row.fault]] = i
        return found

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
