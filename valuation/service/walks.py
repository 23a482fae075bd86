"""What a device sends from the piano: entries and photos of one visit, taken in one by one through the store's rules.

An entry keeps the id that the device gave it, so what is sent twice is stored once. One that is refused doesn't hold
up the others.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from valuation.engine.rows import Tables
from valuation.errors import VisitError
from valuation.record import Entry
from valuation.record.photo_fields import PHOTO
from valuation.service.store import new_entry
from valuation.service.visits import Shop
from valuation.store import entries, visits

OF_THE_WALK = ("finding.", PHOTO)
"""Beginnings of the fields that a device at the piano reads and writes: what was found, and what photos show."""

CLOCKS_AGREE = timedelta(minutes=1)
"""Clocks that differ by less are taken to agree."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """One entry as a device sends it.

    Attributes
    ----------
    id : str
        32 hexadecimal digits, made on the device.
    at : datetime
        By the device's clock, with its zone.
    value : object
        A JSON value.
    follows : tuple of str
        Ids of what the person saw in that field.
    undoes : str
        Id of the entry taken back; empty where this is none.
    """

    id: str
    at: datetime
    field: str
    value: Any
    follows: tuple[str, ...] = ()
    undoes: str = ""


@dataclass(slots=True, kw_only=True)
class TakenIn:
    """What became of what was sent.

    Attributes
    ----------
    stored : dict of str to str
        Ids that need not be sent again, and under which id the store has what they say: another one where somebody had
        said the same before; empty where an undo found nothing to take back.
    refused : dict of str to str
        Ids that were refused, and why.
    """

    stored: dict[str, str] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)


def take_in(
    shop: Shop,
    visit: str,
    sent: Sequence[Sent],
    tables: Tables,
    *,
    who: str,
    device: str,
    clock: datetime,
    now: datetime,
) -> TakenIn:
    """Store what a device sends.

    Parameters
    ----------
    visit : str
        Id of the visit.
    sent : sequence of Sent
        In the order in which they were made.
    tables : Tables
        The shop's tables, by which each value is checked.
    who, device : str
        Person and device.
    clock, now : datetime
        What the device's clock says, and what ours says: by the difference its times are put right.

    Raises
    ------
    StoreError
        If the store can't be written, or there is no such visit in use: then nothing is known of the rest.
    """
    wrong_by = now - clock if abs(now - clock) > CLOCKS_AGREE else timedelta()
    done, known_as = TakenIn(), dict[str, str]()
    shop.history(visit, "title")  # there, and in use
    for entry in sent:
        if not entry.field.startswith(OF_THE_WALK):
            done.refused[entry.id] = "a device at the piano enters what was found, and nothing else"
            continue
        at = min(entry.at + wrong_by, now)
        follows = tuple(known_as.get(name, name) for name in entry.follows)
        try:
            if entry.undoes:
                stored = _undo(shop, visit, entry, known_as, who=who, device=device, at=at)
            else:
                stored = shop.put(
                    visit, entry.field, entry.value, follows=follows, who=who, device=device, now=at,
                    entry_id=entry.id, tables=tables,
                )  # fmt: skip
        except VisitError as fault:
            done.refused[entry.id] = "; ".join(problem.message for problem in fault.problems)
            continue
        done.stored[entry.id] = stored.id if stored else ""
        if stored and stored.id != entry.id:
            known_as[entry.id] = stored.id
    return done


def _undo(
    shop: Shop, visit: str, sent: Sent, known_as: Mapping[str, str], *, who: str, device: str, at: datetime
) -> Entry | None:
    undo = new_entry(visit, sent.field, None, who=who, device=device, now=at, entry_id=sent.id)
    with shop.store.writing() as connection:
        target = known_as.get(sent.undoes, sent.undoes)
        there = entries.entries_with(connection, [sent.id, target])
        if sent.id in there:
            return there[sent.id]
        if target not in there or there[target].field != sent.field:
            return None
        return visits.undo(connection, undo, target)


def since(shop: Shop, visit: str, seq: int) -> list[Entry]:
    """Return the entries of the walk that came after a place in the order of the store."""
    return [entry for entry in shop.history(visit) if entry.seq > seq and entry.field.startswith(OF_THE_WALK)]
