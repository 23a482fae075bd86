"""What a history comes to: the present value of a field, clashes, what an undo brings back.

Everything here depends on the set of entries alone, not on the order in which they came: the union of two histories
is their merge.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import Any

from valuation.facts import why_unfit
from valuation.record.entry import REQUIRED, Entry, first_id, value_text


def merge(*histories: Iterable[Entry]) -> tuple[Entry, ...]:
    """Return all entries of some histories, each once, in the order of time."""
    union = {entry.id: entry for history in histories for entry in history}
    return tuple(sorted(union.values(), key=lambda entry: entry.order))


def by_field(entries: Iterable[Entry]) -> dict[str, list[Entry]]:
    """Return the entries of each field."""
    fields: dict[str, list[Entry]] = defaultdict(list)
    for entry in entries:
        fields[entry.field].append(entry)
    return dict(fields)


def by_visit(entries: Iterable[Entry]) -> Iterator[tuple[str, list[Entry]]]:
    """Yield the entries of each visit, where those of one come one after the other."""
    for visit, own in groupby(entries, key=lambda entry: entry.visit):
        yield visit, list(own)


def heads(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries of one field that no other follows, the latest last.

    Where entries follow each other in a ring, which only a forged history can do, the latest stands for all.
    """
    followed = {name for entry in entries for name in entry.follows}
    ends = sorted((entry for entry in entries if entry.id not in followed), key=lambda entry: entry.order)
    return tuple(ends) or tuple(sorted(entries, key=lambda entry: entry.order)[-1:])


def present(entries: Sequence[Entry]) -> Entry | None:
    """Return the entry of one field that counts: the latest head; None where there is no entry."""
    ends = heads(entries)
    return ends[-1] if ends else None


def unfit(entry: Entry) -> str:
    """Return why an entry's value may not stand in its field, empty if it may.

    The day on which it was entered decides, so every device says the same at any time.
    """
    return why_unfit(entry.field, entry.value, entry.at.date())


def counted(fields: Mapping[str, Sequence[Entry]]) -> tuple[dict[str, Entry], dict[str, str]]:
    """Return the entry of each field that counts, and why the present one of each other field is set aside.

    Returns
    -------
    counted : dict of field to Entry
        What was taken away included, with None for its value.
    """
    found, set_aside = {}, {}
    for name, entries in fields.items():
        if (head := present(entries)) is not None:
            if fault := unfit(head):
                set_aside[name] = fault
            else:
                found[name] = head
    return found, set_aside


def clash(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the heads of one field where they differ, else nothing."""
    ends = heads(entries)
    return ends if len({value_text(entry.value) for entry in ends}) > 1 else ()


def undone(entries: Iterable[Entry]) -> frozenset[str]:
    """Return the ids of entries that were taken back; taking back an undo brings its entry to life again."""
    return _undone({entry.id: entry.undoes for entry in entries if entry.undoes})


def _undone(undos: dict[str, str]) -> frozenset[str]:
    gone: frozenset[str] = frozenset()
    for _ in range(len(undos) + 1):  # the last of a chain of undos stands, so each round settles one more
        now = frozenset(target for undo, target in undos.items() if undo not in gone)
        if now == gone:
            break
        gone = now
    return gone


def value_without(entries: Sequence[Entry], target: str) -> Any:
    """Return the value that a field would have had without one entry.

    Parameters
    ----------
    entries : sequence of Entry
        All of the field.
    target : str
        Id of the entry left out; where it is an undo, the entry it took back counts again.

    Returns
    -------
    object
        None where nothing is left.
    """
    undos = {entry.id: entry.undoes for entry in entries if entry.undoes}
    gone = _undone(undos | {"this very undo": target})
    left = [entry for entry in entries if not entry.undoes and entry.id not in gone]
    before = {entry.id: entry.follows for entry in entries}
    reached: set[str] = set()
    ahead = [name for entry in left for name in entry.follows]
    while ahead:
        name = ahead.pop()
        if name not in reached:
            reached.add(name)
            ahead.extend(before.get(name, ()))
    ends = [entry for entry in left if entry.id not in reached] or left
    return max(ends, key=lambda entry: entry.order).value if ends else None


def next_to_undo(entries: Sequence[Entry], device: str) -> Entry | None:
    """Return what 'undo' on a device takes back: the last it entered that still makes a difference.

    An entry that somebody else has replaced since makes none; those with which the visit began stay.

    Parameters
    ----------
    entries : sequence of Entry
        All of the visit, in the order of their store.
    device : str
        Name of the device.
    """
    fields = by_field(entries)
    gone = undone(entries)
    for entry in reversed(entries):
        if (
            entry.device == device
            and not entry.undoes
            and entry.id not in gone
            and may_undo(fields[entry.field], entry)
        ):
            return entry
    return None


def may_undo(entries: Sequence[Entry], entry: Entry) -> bool:
    """Tell whether taking back an entry of a field would change the field, and may.

    Parameters
    ----------
    entries : sequence of Entry
        All of the field.
    entry : Entry
        One of them.
    """
    now, then = present(entries), value_without(entries, entry.id)
    if entry.id == first_id(entry.visit, entry.field) or (then is None and entry.field in REQUIRED):
        return False
    return now is not None and (value_text(now.value) != value_text(then) or entry in clash(entries))
