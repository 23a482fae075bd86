"""The pianos that a fault can be in, told by kind and features: what must be there for it, must be there on each.

Tried are the plainest piano that can have the fault, and the same with each single feature more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product
from typing import Any

from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.tables import Tables
from valuation.rules.places import kinds_of

Piano = tuple[str, frozenset[str]]
"""(kind, features)."""


def holds_for(row: Any, piano: Piano) -> bool:
    """Say whether a row with `kinds`, `only_with` and `not_with` is for a piano."""
    kind, features = piano
    wanted, excluded = set(row.only_with), set(row.not_with)
    return kind in kinds_of(row.kinds) and (not wanted or bool(wanted & features)) and not excluded & features


def first_without(book: Tables, fault: FaultRow, rows: Iterable[Any]) -> str:
    """Return, for each kind, the first piano with the fault for which none of the rows is, in words; or nothing."""
    rows = list(rows)
    lacking: dict[str, str] = {}
    for kind, features in pianos_with(book, fault):
        if kind not in lacking and not any(holds_for(row, (kind, features)) for row in rows):
            lacking[kind] = f"{kind}s with {' and '.join(sorted(features))}" if features else f"{kind}s"
    return " and ".join(lacking.values())


def pianos_with(book: Tables, fault: FaultRow) -> Iterator[Piano]:
    """Yield the plainest pianos that can have a fault, then the same with each single feature more."""
    of_part = next((part.only_with for part in book.parts if part.id == fault.part), ())
    for kind in kinds_of(fault.kinds):
        there = {feature.id for feature in book.features if kind in kinds_of(feature.kinds)}
        plainest = {
            frozenset(given) - {""}
            for given in product([name for name in of_part if name in there] or [""], fault.only_with or ("",))
        }
        tried: set[frozenset[str]] = set()
        for features in (*sorted(plainest, key=sorted), *(few | {more} for few in plainest for more in sorted(there))):
            if features not in tried and features <= there and holds_for(fault, (kind, features)):
                tried.add(features)
                yield kind, features
