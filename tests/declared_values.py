"""Values that fit each field, made from its declaration in `valuation.facts.declared`: a new field comes by itself."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from valuation.engine.rows import QUESTIONS, Tables
from valuation.facts.declared import FACTS
from valuation.facts.kinds import Day, Either, Flag, Kind, Listed, Number, OneOf, Row, Table, Whole, Words

DAY = "2026-11-01"
PHOTO = "ab" * 32
STAFF = ("who", "technician")
"""Keys that hold somebody of the workshop, who is no client."""

WordOf = Callable[[str, Words], str]
"""Gives the text for a place by its key (the field's own name where it lies in no table) and kind."""


def plain_word(_: str, __: Words) -> str:
    """A text that stands for any other."""
    return "Anna"


@dataclass(frozen=True)
class Ids:
    """Ids of the shop's tables by the key under which facts have them."""

    tables: Tables

    def of(self, key: str, _: Words | None = None) -> str:
        """Return an id that the key may hold, a plain word where it is none of the tables."""
        tables = self.tables
        ids = {
            "operation": tables.operations, "material": tables.materials, "part": tables.parts, "tier": tables.tiers,
            "features": tables.features, "check": tables.checks, "faults": tables.faults, "reason": tables.reasons,
            "piano.tier": tables.tiers, "piano.features": tables.features, "job.original": tables.parts,
            "wish.left_original": tables.parts, "piano.renewed.": tables.parts, "pin.": tables.parts,
            "reason.": tables.parts, "job.finished.": tables.operations,
        }  # fmt: skip
        words = {
            "stage": "evaluated", "job.stage": "evaluated", "what": "ask", "grade": "slight", "verdict": "rebuild",
            "option": "rebuild", "scope": "full", "tables": "a" * 64, "clarity": "clear",
        }  # fmt: skip
        return ids[key][0].id if key in ids else words.get(key, "Anna")

    def endings(self, beginning: str) -> tuple[str, ...]:
        """Return how a field goes on that begins so."""
        tables = self.tables
        words = next(row.id for row in tables.checks if row.answer == "choice")
        readings = next(row.id for row in tables.checks if row.answer == "readings")
        special = {
            "finding.": (words, readings), "photo.": (PHOTO, f"{PHOTO}.{words}"), "wish.": QUESTIONS,
            "job.done.": (f"{tables.operations[0].id}.a",), "job.truth.": (tables.faults[0].id, tables.parts[0].id),
            "job.before.": ("pitch",), "job.after.": ("pitch",), "job.year.": ("pitch",),
            "job.event.": ("a", "b", "c"), "job.found.": ("hammers.refelt",), "job.followed.": ("ask_if_clear",),
        }  # fmt: skip
        return special.get(beginning) or (self.of(beginning) if self.of(beginning) != "Anna" else "a",)


def value_of(kind: Kind, chance: random.Random, word: WordOf = plain_word, key: str = "") -> Any:
    """Return a value that fits a kind."""
    match kind:
        case Words():
            return word(key, kind)
        case OneOf():
            return chance.choice(kind.choices)
        case Flag():
            return chance.random() < 0.5
        case Number():
            low = max(kind.low, kind.above + 0.5, -50.0)
            return round(low + chance.random() * (min(kind.high, low + 100) - low), 3)
        case Whole():
            return chance.randint(kind.low, min(kind.high, kind.low + 200))
        case Day():
            return DAY
        case Listed():
            return [value_of(kind.of, chance, word, key) for _ in range(chance.randint(1, 2))]
        case Row():
            return [value_of(cell, chance, word, key) for cell in kind.cells]
        case Table():
            told = {name: value_of(of, chance, word, name) for name, of in kind.keys.items()}
            open_to_all = type(kind.rest) is not Kind
            return told | ({word(key, Words()): value_of(kind.rest, chance, word, key)} if open_to_all else {})
        case Either():
            return value_of(chance.choice(kind.kinds), chance, word, key)
    return word(key, Words())


def fields(ids: Ids) -> Iterator[tuple[str, str, Kind]]:
    """Give every field that is declared, with the name or beginning under which it is, and its kind."""
    for declared, kind in FACTS.items():
        for ending in ids.endings(declared) if declared.endswith(".") else ("",):
            yield declared + ending, declared, kind


def right_values(chance: random.Random, tables: Tables) -> dict[str, Any]:
    """A value that fits, for every field that is declared, and for one that no version knows."""
    ids = Ids(tables)
    values = {field: value_of(kind, chance, ids.of, declared) for field, declared, kind in fields(ids)}
    return values | {"something.else": {"a": [1]}}
