"""The words that several tables share, and the columns that nearly all of them have."""

from __future__ import annotations

from typing import Any

from valuation.facts.columns import column
from valuation.facts.words import KINDS, LEVELS, QUESTIONS, SECTIONS, SEVERITIES, STATES

__all__ = [
    "ACCESSES",
    "AT_VISIT",
    "AXES",
    "CAUSES",
    "HISTORY",
    "KINDS",
    "KIND_CHOICES",
    "LEVELS",
    "LEVELS_OF_CAUSE",
    "OUTCOMES",
    "QUESTIONS",
    "SECTIONS",
    "SEVERITIES",
    "STATES",
    "TILTS",
    "kinds",
    "kinds_of",
    "not_with",
    "note",
    "only_with",
    "source",
]

KIND_CHOICES = (*KINDS, "both")
CAUSES = ("air", "use")
LEVELS_OF_CAUSE = {"air": ("stable", "seasonal", "harsh"), "use": ("light", "ordinary", "heavy")}
TILTS = ("weak", "medium", "strong")
ACCESSES = ("outside", "lid", "bottom", "action", "keys", "strings")
AXES = ("strings", "action", "board", "finish")
AT_VISIT = "visit"
OUTCOMES = ("open", "yes", "no")

HISTORY = "history"
"""Stands where a part is named, for what tells of the whole piano's life."""


def source() -> Any:
    """Return the column that every row with figures has."""
    return column("where the row comes from", refers_to="sources")


def note() -> Any:
    """Return the column for whatever the next person should know."""
    return column("anything the next person should know", default="")


def kinds() -> Any:
    """Return the column that says which pianos a row is for."""
    return column("which pianos", choices=KIND_CHOICES)


def only_with() -> Any:
    """Return the column of features of which the piano needs one."""
    return column("features of which the piano must have one; empty: any piano", refers_to="features", default=())


def not_with() -> Any:
    """Return the column of features that exclude the row."""
    return column("features that exclude it", refers_to="features", default=())


def kinds_of(kinds: str) -> tuple[str, ...]:
    """Return the kinds of piano that a row's `kinds` column stands for."""
    return KINDS if kinds == "both" else (kinds,)
