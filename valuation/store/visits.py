"""Starting a visit, and the three ways to write into one: put, undo, settle. Each within the caller's transaction.

The visit is locked first, so that what an entry follows is what stands there when it is stored.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from valuation.errors import Problem, StoreError
from valuation.record import (
    Entry,
    by_field,
    clash,
    heads,
    may_undo,
    next_to_undo,
    one_line,
    present,
    undone,
    value_text,
    value_without,
)
from valuation.store import entries

Check = Callable[[Mapping[str, Any]], None]
"""Takes the present values of a visit's fields; raises where what comes doesn't go with them."""


def start(connection: Connection, name: str, begun: Sequence[Entry], *, demo: bool, at: datetime, who: str) -> bool:
    """Add a visit with its first entries; return whether it is new. One that is there stays as it is."""
    if not entries.add_visit(connection, name, demo=demo, at=at, who=who):
        return False
    entries.add_entries(connection, begun)
    return True


def history(connection: Connection, name: str, field: str = "") -> list[Entry]:
    """Return the entries of a visit in use, or of one of its fields, in the order in which they came."""
    kept_as = entries.kept_as(connection, name)
    if kept_as is None:
        raise no_visit(name)
    if kept_as == entries.RESTRICTED:
        raise shut(kept_as)
    return entries.entries_of(connection, name, *([field] if field else []))


def put(connection: Connection, entry: Entry, follows: tuple[str, ...] | None, check: Check | None) -> Entry | None:
    """Store an entry over what it follows, or over what stands there; see `Shop.put`."""
    _lock(connection, entry.visit)
    there = entries.entries_there(connection, entry)
    if stored := [old for old in there if old.id == entry.id]:
        return stored[0]
    if check is not None:
        fields = by_field(entries.entries_of(connection, entry.visit))
        check({name: head.value for name in fields if (head := present(fields[name]))})
    now_there = present(there)
    if not clash(there) and value_text(now_there.value if now_there else None) == value_text(entry.value):
        return now_there
    return _store(connection, entry, _seen(heads(there), follows))


def present_values(connection: Connection, name: str, beginning: str) -> dict[str, object]:
    """Return what the fields of a visit hold that begin so, held for whoever writes next; None for what is gone."""
    _lock(connection, name)
    fields = by_field(entries.entries_of_fields(connection, [beginning], [name]))
    return {field: head.value for field, of_it in fields.items() if (head := present(of_it)) is not None}


def _seen(ends: Sequence[Entry], follows: tuple[str, ...] | None) -> tuple[str, ...]:
    """Return what an entry follows: who saw what one head says has seen all heads that say the same."""
    if follows is None:
        return tuple(head.id for head in ends)
    said = {value_text(head.value) for head in ends if head.id in follows}
    return tuple(dict.fromkeys((*follows, *(head.id for head in ends if value_text(head.value) in said))))


def undo(connection: Connection, entry: Entry, entry_id: str) -> Entry | None:
    """Take back an entry, or the last of the device's; see `Shop.undo`.

    Parameters
    ----------
    entry : Entry
        The undo itself, still without field, value and the like.
    entry_id : str
        What to take back; empty for the last that the device entered.
    """
    _lock(connection, entry.visit)
    known = entries.entries_of(connection, entry.visit)
    fields = by_field(known)
    if entry_id:
        gone = undone(known)
        target = next((e for e in known if e.id == entry_id and e.id not in gone), None)
        target = target if target and may_undo(fields[target.field], target) else None
    else:
        target = next_to_undo(known, entry.device)
    if target is None:
        return None
    there = fields[target.field]
    value = value_without(there, target.id)
    entry = replace(entry, field=target.field, value=value, undoes=target.id)
    return _store(connection, entry, tuple(head.id for head in heads(there)))


def settle(connection: Connection, entry: Entry, chosen_entry_id: str) -> Entry:
    """Store the value of one of a field's entries over all that differ; `entry` comes without a value."""
    _lock(connection, entry.visit)
    there = entries.entries_of(connection, entry.visit, entry.field)
    chosen = next((e for e in there if e.id == chosen_entry_id), None)
    if chosen is None:
        raise StoreError([Problem("visit", 0, entry.field, "what was chosen is not there; look again and choose")])
    ends = heads(there)
    if [head.id for head in ends] == [chosen.id]:
        return chosen
    return _store(connection, replace(entry, value=chosen.value), tuple(head.id for head in ends))


def _store(connection: Connection, entry: Entry, follows: tuple[str, ...]) -> Entry:
    return entries.add_entries(connection, [replace(entry, follows=follows)])[0]


def _lock(connection: Connection, name: str) -> None:
    kept_as = entries.lock_visit(connection, name)
    if kept_as is None:
        raise no_visit(name)
    if kept_as != entries.OPEN:
        raise shut(kept_as)


SHUT = {
    entries.RESTRICTED: "its data is restricted: it is kept, and used for nothing until that is lifted on the page"
    " 'People's data'",
    entries.NAMELESS: "its person was forgotten: what is left stays as it is",
}


def shut(kept_as: str) -> StoreError:
    """Return the fault of using a visit that isn't in use."""
    return StoreError([Problem("visit", 0, "", SHUT[kept_as])])


def no_visit(name: str) -> StoreError:
    """Return the fault of asking for a visit that isn't there."""
    message = f"there is no visit '{one_line(name)[:40]}'; it may have been a demo visit that was removed"
    return StoreError([Problem("visit", 0, "", message)])
