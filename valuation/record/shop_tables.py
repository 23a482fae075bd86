"""What was done to the shop's own tables: which are in force from which day, and what was entered into their draft.

Neither is ever changed. Pure: which of the entries of a draft go together is worked out in `valuation.rules.draft`.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime

from valuation.record.entry import FIRST_YEAR, LAST_YEAR, MOST_LETTERS, MOST_NAME, is_id

Row = tuple[tuple[str, str], ...]
"""Which row of a table: the columns that tell it from the others, and what stands in them."""

COUNTS, BROUGHT, TAKEN_BACK = "counts", "brought", "taken_back"

MOST_WHY = 500
"""Longer reasons are cut [characters]."""

_HASH = re.compile(r"[0-9a-f]{64}")
_WORD = re.compile(r"[a-z][a-z0-9_]{0,60}")


@dataclass(frozen=True, slots=True, kw_only=True)
class TablesChange:
    """Tables that were put in force.

    Attributes
    ----------
    id : str
        UUID in hexadecimal, given by whoever asks: putting in force twice under one id is doing it once.
    hash : str
        Of the tables.
    instead_of : str
        Hash of those in force when it was decided.
    from_day : date
        They hold from this day until others do.
    at : datetime
        When it was decided, in UTC.
    state : str
        `COUNTS`; `BROUGHT` where they came from another store and were never in force in this one; `TAKEN_BACK` where
        they were, before their day came.
    seq : int
        Place in the order of one store; 0 before it is stored.
    """

    id: str
    hash: str
    instead_of: str
    from_day: date
    at: datetime
    who: str
    why: str
    state: str = COUNTS
    seq: int = field(default=0, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", self.at.astimezone(UTC))


@dataclass(frozen=True, slots=True, kw_only=True)
class TablesEdit:
    """What one person changed in one row of the draft of the shop's tables.

    Attributes
    ----------
    id : str
        UUID in hexadecimal: saving twice is saving once.
    before : dict of column to text, or None
        What the person saw there, of the columns that were changed; None where there was no such row.
    after : dict of column to text, or None
        What is to stand there; None where the row goes.
    seq : int
        Place in the order of one store; 0 before it is stored.
    """

    id: str
    table: str
    row: Row
    before: dict[str, str] | None
    after: dict[str, str] | None
    at: datetime
    who: str
    seq: int = field(default=0, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "at", self.at.astimezone(UTC))


def in_force_on(changes: Sequence[TablesChange], on: date) -> list[TablesChange]:
    """Return what was put in force by a day, that which holds on it first, then what it took the place of."""
    held = [change for change in changes if change.state == COUNTS and change.from_day <= on]
    return sorted(held, key=lambda change: (change.from_day, change.seq), reverse=True)


def waiting_on(changes: Sequence[TablesChange], on: date) -> TablesChange | None:
    """Return what is to be in force from a later day and was not taken back; None where nothing is."""
    later = [change for change in changes if change.state == COUNTS and change.from_day > on]
    return max(later, key=lambda change: (change.from_day, change.seq), default=None)


def why_not_change(change: TablesChange) -> str:
    """Return what is wrong with a change; empty if nothing is."""
    if not is_id(change.id):
        return "an id is not 32 hexadecimal digits"
    if change.state not in (COUNTS, BROUGHT, TAKEN_BACK):
        return f"{change.state[:40]!r} is no state of tables"
    if not all(_HASH.fullmatch(name) for name in (change.hash, change.instead_of)):
        return "a hash is not 64 hexadecimal digits"
    if len(change.why) > MOST_WHY or not change.why.isprintable():
        return f"the reason has more than {MOST_WHY} letters, or a line break in it"
    return _why_not_made(change.who, change.at)


def why_not_edit(edit: TablesEdit) -> str:
    """Return what is wrong with an edit; empty if nothing is. Whether its texts can be read is no matter here."""
    if not is_id(edit.id):
        return "an id is not 32 hexadecimal digits"
    if not _WORD.fullmatch(edit.table):
        return f"{edit.table[:40]!r} is not a name of a table"
    cells = [edit.row, *(side.items() for side in (edit.before, edit.after) if side is not None)]
    words = [word for side in cells for pair in side for word in pair]
    if edit.before is None and edit.after is None:
        return "it neither says what was there nor what is to be"
    if sum(map(len, words)) > MOST_LETTERS:
        return f"the row has more than {MOST_LETTERS:,} letters"
    if not all(_is_text(word) for word in words):
        return "a cell holds a control character or half a letter; write it anew by hand"
    return _why_not_made(edit.who, edit.at)


def _is_text(word: str) -> bool:
    return not re.search(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]", word)


def _why_not_made(who: str, at: datetime) -> str:
    if len(who) > MOST_NAME or not who.isprintable():
        return f"a person's name has more than {MOST_NAME} letters, or a line break in it"
    if not FIRST_YEAR <= at.year <= LAST_YEAR:
        return f"its time, {at:%Y-%m-%d}, is none at which anything was entered; see to the clock of that device"
    return ""
