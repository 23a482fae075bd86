"""Levels that a person has set by hand for some parts, as far as the tables and the piano allow them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.engine.rows import LEVELS, Tables
from valuation.facts.visit import Visit

_BY_LEVEL = {"repair": "small", "replace": "large"}


def offered_levels(visit: Visit, tables: Tables) -> dict[str, tuple[str, ...]]:
    """Return, for each part that the piano has, the levels that some operation brings it to."""
    features = set(visit.piano.features)
    there = {
        (row.part, row.level)
        for row in tables.of_kind("operations", visit.piano.kind).values()
        if (not row.only_with or features & set(row.only_with)) and not features & set(row.not_with)
    }
    return {
        row.id: tuple(level for level in LEVELS if level == LEVELS[0] or (row.id, _BY_LEVEL[level]) in there)
        for row in tables.parts
        if not row.only_with or features & set(row.only_with)
    }


def allowed_levels(wanted: Mapping[str, Any], visit: Visit, tables: Tables) -> dict[str, str]:
    """Return the level of each part for which one was set; what is not allowed here is left out.

    Parameters
    ----------
    wanted : mapping of part to word
        Such as ``{"hammers": "replace"}``; anything else may stand there, for it comes from a store.
    visit : Visit
        Says which parts there are, and by its kind what can be done to them.
    tables : Tables
        The shop's tables.
    """
    offered = offered_levels(visit, tables)
    return {part: word for part, word in wanted.items() if word in offered.get(part, ())}
