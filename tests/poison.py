"""Values that no field should hold, drawn by chance: wrong kinds, wrong bounds, right ones with one place poisoned."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from typing import Any

from poisoned import plain_entry

from valuation.engine.rows import QUESTIONS, SEVERITIES, STATES, Tables

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


def right_values(tables: Tables) -> dict[str, Any]:
    """A value that fits, for a field of every sort."""
    told = {
        "on": "2026-11-01", "verdict": "rebuild", "clarity": "clear", "technician": "Anna", "premium": 0.0,
        "tables": "x",
        "price_low": 1.0, "price_likely": 2.0, "price_high": 3.0, "hours_low": 1.0, "hours_likely": 2.0,
        "hours_high": 3.0, "value_after": 9000.0,
    }  # fmt: skip
    operation, material, fault = tables.operations[0].id, tables.materials[0].id, tables.faults[0].id
    agreed = {
        "option": "rebuild", "price": 5000.0, "plan": {"hammers": "replace"}, "tables": "x",
        "operations": [[operation, 1.0, 2.0, 3.0]], "pieces": {operation: {fault: 3.0}},
    }  # fmt: skip
    part, photo = tables.parts[0].id, "ab" * 32
    words = next(row.id for row in tables.checks if row.answer == "choice")
    readings = next(row.id for row in tables.checks if row.answer == "readings")
    return {
        "title": "Parlour", "date": "2026-11-01", "technician": "Anna", "place": "hall", "story": "long",
        "humidity": 40,
        "temperature": 20.5, "finished_value": {"low": 1, "likely": 2, "high": 3}, "minutes": 30,
        "piano.kind": "upright",
        "piano.size_mm": 1300, "piano.maker": "somebody", "piano.serial": "1", "piano.finish": "oak",
        "piano.year": 1912,
        "piano.year_is_about": True, "piano.tier": tables.tiers[0].id,
        "piano.features": [tables.features[0].id],
        f"piano.renewed.{part}": 1990, "client.name": "A", "client.purpose": "b", "client.wishes": "c",
        "client.wants_to_play": True, "client.premium": 100, "client.to_have": 100, "client.to_hear": 50,
        "client.budget": 1000, "client.playing_year": 100,
        "client.horizon_years": 10, f"finding.{words}": {"grade": "slight", "count": 3.0, "sections": ["bass"],
        "note": "n"},
        f"finding.{readings}": {"readings": [{"value": 5.0, "section": "bass", "key": 3, "string": 1}],
        "note": "n"},
        f"photo.{photo}": {"check": words, "part": "", "caption": "c"},
        f"photo.{photo}.{words}": {"check": words},
        f"pin.{part}": "replace", f"reason.{part}": "so", "wish.family": 2, "wish.premium": 500.0,
        "wish.to_have": 50.0, "wish.to_hear": 20.0,
        f"wish.{QUESTIONS[0]}": "x", "wish.colour": "red", "wish.left_original": [part], "wish.questions": "q",
        "wish.leaning": "keep", "wish.later": 1, "something.else": {"a": [1]},
        "job.event.a": {"stage": "visited", "day": "2026-11-01", "reason": "r", "note": "n"},
        "job.event.b": {"stage": "evaluated", "day": "2026-11-02", "told": told},
        "job.event.c": {"stage": "accepted", "day": "2026-11-05", "told": told, "agreed": agreed},
        "job.event.d": {"stage": "delivered", "day": "2026-11-15", "agreed": agreed},
        "job.stage": "evaluated", "job.next": {"what": "ask", "day": "2026-12-05"},
        "job.followed.ask_if_clear": {"day": "2026-11-05"}, f"job.done.{operation}.a": {
            "hours": 2.5, "materials": [{"material": material, "amount": 2.0}], "day": "2026-11-10",
            "note": "n"},
        f"job.truth.{part}": {"state": STATES[2], "note": "n"},
        f"job.truth.{fault}": {"severity": SEVERITIES[2], "part": part, "note": "n"}, "job.original": [part],
        "job.absent": {"x": [1, 2]},
        "job.before.pitch": [[49, 0, 440.0]], "job.after.pitch": [[49, 0, 441.0]], "job.source": "a teacher",
        "job.referred": True,
    }  # fmt: skip


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
        at.extend([at[path[-1]]] * 3000)
    else:
        at[path[-1]] = poison
    return value


def poisoned_entries(chance: random.Random, tables: Tables, at: datetime = AT) -> list[dict[str, Any]]:
    """The entries of one visit, some of them poisoned; some twice, by people who didn't see each other's."""
    right = right_values(tables)
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
    right = {"language": "en", "units": "metric", "shop.name": "Ours", "shop.address": "x", "shop.hours_a_month": 160}
    poison = [value for value in POISON if value != 10**400]
    return {name: chance.choice(poison) if chance.random() < 0.5 else value for name, value in right.items()}
