"""One entry: who put what into which field of a visit, when, and over what."""

from __future__ import annotations

import dataclasses
import json
import re
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID, uuid5

REQUIRED = ("title", "date", "piano.kind")
"""Fields that a visit always has: they can be changed, never taken away."""

MOST_LETTERS = 200_000
"""A longer value is a mistake [characters of JSON]."""

MOST_NAME = 200
"""Longer names of fields, people and devices are a mistake [characters]."""

FIRST_YEAR, LAST_YEAR = 1970, 2199
"""Years between which all entries are made, whatever a device's clock says."""

_FIELD = re.compile(r"[A-Za-z0-9_]+(?:[.:-][A-Za-z0-9_]+)*")
_ID = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """What one person put into one field. Never changed, never removed; two with one id are the same.

    Attributes
    ----------
    id : str
        UUID in hexadecimal, given by whoever enters: saving twice is saving once.
    visit : str
        UUID of the visit in hexadecimal.
    at : datetime
        When, in UTC.
    who, device : str
        Name of the person, and a name for the device; may be empty.
    field : str
        Such as ``piano.year`` or ``finding.plate_crack``.
    value : object
        A JSON value; None is not known, not looked at, or taken away.
    follows : tuple of str
        Ids of the entries of the same field that the writer saw and replaces.
    undoes : str
        Id of the entry that this one takes back, or empty.
    seq : int
        Place in the order of one store; 0 before it is stored. Not part of what the entry says.
    """

    id: str
    visit: str
    at: datetime
    who: str = ""
    device: str = ""
    field: str
    value: Any
    follows: tuple[str, ...] = ()
    undoes: str = ""
    seq: int = dataclasses.field(default=0, compare=False)

    def __post_init__(self) -> None:
        if self.at.tzinfo is None:
            raise ValueError("an entry's time must know its zone")
        object.__setattr__(self, "at", self.at.astimezone(UTC))
        object.__setattr__(self, "follows", tuple(self.follows))

    @property
    def order(self) -> tuple[datetime, str]:
        """What decides between entries that know nothing of each other: the later one, then the id."""
        return self.at, self.id


def first_id(visit: str, name: str) -> str:
    """Return the id of the entry with which a visit began in one field: the same wherever it is worked out."""
    return uuid5(UUID(visit), name).hex


def value_text(value: Any) -> str:
    """Return a value as JSON in its one canonical form, by which values are compared and stored."""
    return json.dumps(value, allow_nan=False, sort_keys=True, separators=(",", ":"))


def plain_value(value: Any) -> Any:
    """Return the value as it will be read back.

    Raises
    ------
    ValueError
        If it can't be written as JSON or is too long; says so in a sentence.
    """
    try:
        text = value_text(value)
    except (TypeError, ValueError, RecursionError):
        raise ValueError("this can't be stored: it is no text, number, list or table of such") from None
    if len(text) > MOST_LETTERS:
        raise ValueError(f"this is too long: {len(text):,} letters; the most is {MOST_LETTERS:,}")
    return json.loads(text)


def is_id(name: str) -> bool:
    """Tell whether this can be the id of a visit or an entry."""
    return _ID.fullmatch(name) is not None


def one_line(name: str) -> str:
    """Return the name of a person or device as it is stored: on one line, cut where it is too long."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in name).split())[:MOST_NAME]


def why_not_entry(entry: Entry) -> str:
    """Return what is wrong with the names, ids and time of an entry; nothing of its value, for which see `unfit`."""
    ids = (entry.id, entry.visit, *entry.follows, *([entry.undoes] if entry.undoes else []))
    if not all(map(is_id, ids)):
        return "an id is not 32 hexadecimal digits"
    if not _FIELD.fullmatch(entry.field) or len(entry.field) > MOST_NAME:
        return f"{entry.field[:40]!r} is not a name of a field"
    if any(len(name) > MOST_NAME or not name.isprintable() for name in (entry.who, entry.device)):
        return f"a person's or device's name has more than {MOST_NAME} letters, or a line break in it"
    if not FIRST_YEAR <= entry.at.year <= LAST_YEAR:
        return f"its time, {entry.at:%Y-%m-%d}, is none at which anything was entered; see to the clock of that device"
    if entry.id in entry.follows:
        return "an entry can't follow itself"
    return ""
