"""Levels that a person has set by hand for some parts, as far as the tables and the piano allow them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.core.rows import Level, Tables
from valuation.core.visit import Visit


def allowed_pins(wanted: Mapping[str, Any], visit: Visit, tables: Tables) -> dict[str, Level]:
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
    present = {row.id for row in tables.parts if row.present in ("always", *visit.piano.features)}
    offered = {(row.part, row.level) for row in tables.of_kind("operations", visit.piano.kind).values()}
    words = {level.word: level for level in Level}
    return {
        part: words[word]
        for part, word in wanted.items()
        if part in present and isinstance(word, str) and (word == Level.KEEP.word or (part, word) in offered)
    }
