"""The figures of the tables that a new shop is asked for first, ranked by how far they move verdicts."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import words
from valuation.facts.columns import column

SAID = "this_shop"
"""Source of whatever the shop has said itself."""

FIGURE_KINDS = ("rates", "hours", "materials", "bands", "replacements", "haul_away", "odds", "settings", "years")
"""What a figure is; `valuation.engine.figures` knows which rows of which table stand behind it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FigureRow:
    """A figure to be asked for, the one that moves verdicts farthest first."""

    kind: str = column("what it is", choices=FIGURE_KINDS)
    of: str = column("of which row: its id; of bands and replacements the kind of piano, and the tier")
    moves: float = column(
        "by how much turning it moves the lead of the verdict, on the average of usual pianos", unit="money", low=0
    )
    turns: float = column("of 100 usual pianos, for how many it turns the verdict", low=0, high=100)
    source: str = words.source()
    note: str = words.note()
