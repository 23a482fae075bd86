"""What a device sends, from bytes into entries; one that can't be read is refused by itself, the others go on."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from valuation.record import is_id
from valuation.service.walks import Sent

API = 1
"""Version of the API: raised where an older client could no longer be understood."""

MOST_ENTRIES = 100
"""A device sends so many at once."""

_LONGEST_NAME = 40


class AskedWrongly(ValueError):
    """The message as a whole can't be taken; nothing of it was stored."""

    def __init__(self, error: str, words: str) -> None:
        super().__init__(words)
        self.error = error


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """A message of a device.

    Attributes
    ----------
    device : str
        What the device calls itself.
    clock : datetime
        What its clock said when it sent this.
    since : int
        Up to where in the order of the store it knows the entries of others.
    refused : dict of str to str
        Ids of entries that can't be read, and why.
    """

    device: str
    clock: datetime
    since: int
    entries: tuple[Sent, ...]
    refused: dict[str, str]


def read_entries(body: bytes) -> Message:
    """Return the message.

    Raises
    ------
    AskedWrongly
        If it is no such message, or one of another version.
    """
    try:
        told = json.loads(body)
    except (ValueError, RecursionError):
        raise AskedWrongly("not_understood", "This is no JSON.") from None
    if not isinstance(told, dict) or not isinstance(told.get("entries"), list):
        raise AskedWrongly("not_understood", "A message is a table with a list of entries.")
    if told.get("api") != API:
        raise AskedWrongly("client_too_old", "The page on this device is of another version; it is brought up to date.")
    if len(told["entries"]) > MOST_ENTRIES:
        raise AskedWrongly("not_understood", f"At most {MOST_ENTRIES} entries are sent at once.")
    seq, device, clock = told.get("since"), told.get("device"), _moment(told.get("now"))
    if type(seq) is not int or seq < 0 or not isinstance(device, str) or clock is None:
        raise AskedWrongly("not_understood", "A message tells its device, its clock and what it knows.")
    entries, refused = [], {}
    for one in told["entries"]:
        name = one.get("id") if isinstance(one, dict) else None
        if not isinstance(name, str) or not is_id(name):
            raise AskedWrongly("not_understood", "Each entry has an id of 32 hexadecimal digits.")
        entry = _entry(one)
        if entry is None:
            refused[name] = "the entry can't be read"
        else:
            entries.append(entry)
    return Message(
        device=device[:_LONGEST_NAME], clock=clock, since=seq, entries=tuple(entries), refused=refused
    )  # fmt: skip


def _entry(told: dict[str, Any]) -> Sent | None:
    at, field, undoes = _moment(told.get("at")), told.get("field"), told.get("undoes", "")
    follows = told.get("follows", [])
    if at is None or not isinstance(field, str) or not isinstance(follows, list) or "value" not in told:
        return None
    if not all(isinstance(name, str) and is_id(name) for name in (*follows, *([undoes] if undoes else []))):
        return None
    return Sent(id=told["id"], at=at, field=field, value=told["value"], follows=tuple(follows), undoes=undoes)


def _moment(text: Any) -> datetime | None:
    """Return a time with its zone; None where the text is none, or of a year that no store takes."""
    try:
        at = datetime.fromisoformat(text)
        return at if at.tzinfo and abs(at - datetime(2020, 1, 1, tzinfo=UTC)) < timedelta(days=200 * 365) else None
    except (TypeError, ValueError, OverflowError):
        return None
