"""Values that no field should hold, drawn by chance: wrong kinds, wrong bounds, right ones with one place poisoned."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

from declared_values import right_values, value_of
from poisoned import plain_entry

from valuation.engine.rows import Tables
from valuation.facts.declared import SETTINGS

AT = datetime(2026, 11, 20, 9, tzinfo=UTC)

POISON = [
    None, True, False, 0, -1, 1, 3, 88, 10**30, -(10**30), 10**400, 1e308, -1e308, 5e-324, 1e12, 0.1,
    "", " ", "x", "\ud800", "half \udfff", "a\0b", "two\nlines", "\u202e", "x" * 400, "x" * 60_000, "=1+1",
    "nan",
    "1e999",
    "9999-12-31", "0001-01-01", "2026-02-30", "2026-11-01", "1699-12-31", "grand", "upright", "harpsichord",
    "keep",
    "evaluated", "worn", "good", "failed", "marked", "![x](http://tracker.example)",
    "<script>alert(1)</script>", "$5 and $6$",
    [], [None], [[]], ["x"], [1, 2, 3], [[1, 0, 5.5]], [[1, 0, 1e308]], ["\ud800"], [{}], {}, {"x": 1},
    {"\ud800": 1},
    {"day": "9999-12-31"}, {"what": "ask", "day": "9999-12-31"}, {"value": "x"}, {"grade": ["good"]},
    {"severity": "worn"},
    {"stage": "evaluated", "day": "9999-12-31"}, {"stage": ["evaluated"], "day": "2026-11-01"}, {"low": 3,
    "likely": 2},
]  # fmt: skip


def places(value: Any, path: tuple = ()) -> Iterator[tuple]:
    """Every place within a value, itself first."""
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from places(item, (*path, key))


def with_poison(value: Any, chance: random.Random) -> Any:
    """The value with one place of it poisoned: replaced, taken out, or many times over."""
    path = chance.choice(list(places(value)))
    poison = copy.deepcopy(chance.choice(POISON))
    if not path:
        return poison
    value = copy.deepcopy(value)
    at = value
    for key in path[:-1]:
        at = at[key]
    if isinstance(at, dict) and chance.random() < 0.2:
        del at[path[-1]]
    elif isinstance(at, list) and chance.random() < 0.2:
        at.extend([at[path[-1]]] * min(3000, 100_000 // len(repr(at[path[-1]]))))  # more is refused as too long
    else:
        at[path[-1]] = poison
    return value


def poisoned_entries(chance: random.Random, tables: Tables, at: datetime = AT) -> list[dict[str, Any]]:
    """The entries of one visit, some of them poisoned; some twice, by people who didn't see each other's."""
    right = right_values(chance, tables)
    share = chance.choice([0.05, 0.2, 0.6])
    own, ids = [], set()
    for number, (field, value) in enumerate(right.items()):
        if chance.random() < 0.3 and field not in ("title", "piano.kind"):
            continue
        for _ in range(2 if chance.random() < 0.1 else 1):
            told = with_poison(value, chance) if chance.random() < share else value
            entry = plain_entry(field, told, at + timedelta(seconds=number))
            entry["id"] = f"{chance.getrandbits(128):032x}"
            entry["follows"] = [chance.choice(sorted(ids))] if ids and chance.random() < 0.02 else []
            entry["undoes"] = chance.choice(sorted(ids)) if ids and chance.random() < 0.02 else ""
            ids.add(entry["id"])
            own.append(entry)
    return own


def poisoned_settings(chance: random.Random) -> dict[str, Any]:
    """Settings of a shop, some of them poisoned."""
    poison = [value for value in POISON if value != 10**400]
    return {
        name: chance.choice(poison) if chance.random() < 0.5 else value_of(kind, chance)
        for name, kind in SETTINGS.items()
    }
