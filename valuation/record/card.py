"""What a list shows of a visit: a card, kept beside the history so that long lists are fast."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

CARD_FIELDS = {
    "title": "title",
    "date": "day",
    "piano.kind": "kind",
    "piano.maker": "maker",
    "piano.serial": "serial",
    "piano.year": "year",
    "place": "place",
    "client.name": "client",
}
"""Fields of a visit that its card shows, and the name each has there."""

SEARCHED = ("title", "maker", "place", "client", "serial")

SORTED = ("title", "maker", "place", "client")
"""What lists may be sorted by beside days, years and words of few letters."""

MOST_LETTERS = 300

KEY_LETTERS = 60
"""By so many letters lists are sorted; the keys of an index can't be of any length."""

LAST = "\uffff"
"""Sorts after every letter: the key of what is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A visit in a list; what is not known is empty or None.

    Attributes
    ----------
    day : date or None
        Of the visit.
    stage : str
        How far it has come, as its events say; see `valuation.record.job_card`.
    demo : bool
        Invented, from the demo workshop.
    created_at, changed_at : datetime
        When it was started, and when the last entry was made [UTC].
    """

    id: str
    title: str
    day: date | None
    kind: str
    maker: str
    serial: str
    place: str
    client: str
    year: int | None
    stage: str
    demo: bool
    created_at: datetime
    created_by: str
    changed_at: datetime


def card_text(values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the columns of a card from the present values of a visit's fields.

    Parameters
    ----------
    values : mapping of field to value
        Those that fit their fields.

    Returns
    -------
    dict
        The columns of `CARD_FIELDS` as text (the year as a number or None); ``search``, all that is searched in small
        letters; and a key for each of `SORTED`, such as ``title_key``.
    """
    card: dict[str, Any] = {column: line(values.get(name)) for name, column in CARD_FIELDS.items()}
    year = values.get("piano.year")
    card["year"] = year if type(year) is int else None
    card["search"] = "\n".join(card[name] for name in SEARCHED).casefold()
    return card | {f"{name}_key": sort_key(card[name]) for name in SORTED}


def sort_key(text: str) -> str:
    """Return what a text is sorted by: small and capital letters alike, what is not known last."""
    return text.casefold()[:KEY_LETTERS] or LAST


def line(value: Any) -> str:
    """Return a text on one line that any database takes; empty for anything else."""
    if not isinstance(value, str):
        return ""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in value[:MOST_LETTERS]).split())
