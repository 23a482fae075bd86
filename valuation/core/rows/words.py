"""The words that the rows of several tables use, and the columns that nearly all of them have."""

from __future__ import annotations

from enum import IntEnum

from valuation.core.columns import column

KINDS = ("upright", "grand")
KIND_CHOICES = ("upright", "grand", "both")
STATES = ("sound", "serviceable", "worn", "failed")
GRADES = ("good", "fair", "poor", "failed")
EXPOSURES = ("stable", "seasonal", "harsh")
CONDITIONS_GIVEN = STATES + EXPOSURES
PLACES = ("outside", "playing", "opened", "action_out", "below")
LEVELS = ("access", "repair", "replace", "follow", "service")
TREATMENTS = ("repair", "replace")
LASTS = "lasts"
HISTORY = "history"
SUMMARIES = ("median", "mean", "least", "greatest", "spread", "share_below", "share_above")
SECTIONS = ("bass", "tenor", "treble")
QUESTIONS = ("finish", "sheen", "lettering", "key_tops", "hardware")
OUTCOMES = ("open", "yes", "no")


class Level(IntEnum):
    """What a plan does with one part."""

    KEEP = 0
    REPAIR = 1
    REPLACE = 2

    @property
    def word(self) -> str:
        """The word used in files and in the JSON contract."""
        return ("keep", *TREATMENTS)[self]


def source() -> str:
    """Return the column that every row with figures has."""
    return column("where the row comes from", refers_to="sources")


def note() -> str:
    """Return the column for whatever the next person should know."""
    return column("anything the next person should know", default="")
