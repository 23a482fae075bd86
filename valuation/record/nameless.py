"""What stays of a visit when the person is forgotten: findings, figures, days and steps, which taught the tables.

What may stay is listed here, field by field; whatever is not listed goes, also fields that this version doesn't know.
Words in anybody's own writing never stay: a text is kept only where the tool itself writes an id or a day. Ids of the
visit and of its entries become others that can't be turned back, so that no old export and no number on a paper leads
to what stays. The time of an entry becomes its day; the order within the day is kept, for the history depends on it.
"""

from __future__ import annotations

import hashlib
import math
import re
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta
from typing import Any

from valuation.record.card import line
from valuation.record.entry import Entry
from valuation.record.job_card import TOLD_FIGURES

NO_NAME = "-"
"""Title of a visit without a name."""

_WORD = re.compile(r"[a-z][a-z0-9_]{0,59}")
_HASH = re.compile(r"[0-9a-f]{8,64}")
_GONE = object()
"""Stands for what doesn't stay."""

Keep = Callable[[Any], Any]


def mark_of(what: str, name: str) -> str:
    """Return the mark of an id that is forgotten: its SHA-256, from which nobody comes back to the id.

    Parameters
    ----------
    what : str
        ``visit`` or ``entry``.
    name : str
        The id, 128 bits that were drawn.
    """
    return hashlib.sha256(f"forgotten {what} {name}".encode()).hexdigest()


def nameless_id(what: str, name: str) -> str:
    """Return the id that stands for another from now on; the same each time that it is asked for."""
    return hashlib.sha256(f"nameless {what} {name}".encode()).hexdigest()[:32]


def nameless(entries: Sequence[Entry], *, reasons: Collection[str], sources: Collection[str]) -> list[Entry]:
    """Return what stays of the history of a visit, in the order in which it came.

    Parameters
    ----------
    entries : sequence of Entry
        All of one visit.
    reasons : collection of str
        Ids of the shop's table of reasons; a reason in the client's words goes.
    sources : collection of str
        Ways in which clients come that are common in the shop; one that only few came by may name somebody.
    """
    ranks = _moments(entries)
    kept = []
    for entry in entries:
        field = _field(entry.field)
        if field is None:
            continue
        value = None if entry.value is None else _value(entry.field, entry.value, reasons, sources)
        if value is _GONE:
            value = None  # the entry stays: what it replaced must not count again
        kept.append(
            replace(
                entry,
                id=nameless_id("entry", entry.id),
                visit=nameless_id("visit", entry.visit),
                at=ranks[entry.id],
                device="",
                field=field,
                value=value,
                follows=tuple(nameless_id("entry", name) for name in entry.follows),
                undoes=entry.undoes and nameless_id("entry", entry.undoes),
            )
        )
    return kept


def _moments(entries: Sequence[Entry]) -> dict[str, datetime]:
    """Return for each entry its day, and within the day as many millionths of a second as its place there."""
    moments: dict[str, datetime] = {}
    last: date | None = None
    place = 0
    for entry in sorted(entries, key=lambda entry: entry.order):
        place = place + 1 if entry.at.date() == last else 0
        last = entry.at.date()
        midnight = entry.at.replace(hour=0, minute=0, second=0, microsecond=0)
        moments[entry.id] = midnight + timedelta(microseconds=place)
    return moments


# --- what a value may be


def _word(value: Any) -> Any:
    return value if isinstance(value, str) and _WORD.fullmatch(value) else _GONE


def _number(value: Any) -> Any:
    fits = isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)
    return value if fits else _GONE


def _flag(value: Any) -> Any:
    return value if isinstance(value, bool) else _GONE


def _day(value: Any) -> Any:
    try:
        return date.fromisoformat(value).isoformat() if isinstance(value, str) and len(value) == 10 else _GONE
    except ValueError:
        return _GONE


def _hash(value: Any) -> Any:
    return value if isinstance(value, str) and _HASH.fullmatch(value) else _GONE


def _staff(value: Any) -> Any:
    """Keep who of the shop did it: that is no client."""
    return line(value) or _GONE


def _either(*keeps: Keep) -> Keep:
    return lambda value: next((kept for keep in keeps if (kept := keep(value)) is not _GONE), _GONE)


def _list(keep: Keep) -> Keep:
    def cleaned(value: Any) -> Any:
        if not isinstance(value, list):
            return _GONE
        return [kept for item in value if (kept := keep(item)) is not _GONE]

    return cleaned


def _table(**keeps: Keep) -> Keep:
    def cleaned(value: Any) -> Any:
        if not isinstance(value, dict):
            return _GONE
        found = {name: keep(value[name]) for name, keep in keeps.items() if name in value}
        return {name: kept for name, kept in found.items() if kept is not _GONE} or _GONE

    return cleaned


def _words_to(keep: Keep) -> Keep:
    def cleaned(value: Any) -> Any:
        if not isinstance(value, dict):
            return _GONE
        found = {name: keep(content) for name, content in value.items() if _WORD.fullmatch(name)}
        return {name: kept for name, kept in found.items() if kept is not _GONE}

    return cleaned


_RANGE = _either(_number, _table(low=_number, likely=_number, high=_number))
_READING = _table(value=_number, section=_either(_word, lambda value: "" if value == "" else _GONE), key=_number,
                  string=_number)  # fmt: skip
_FINDING = _table(grade=_either(_word, _list(_word)), cannot_see=_flag, readings=_list(_READING), count=_number,
                  sections=_list(_word))  # fmt: skip
_TOLD = _table(on=_day, verdict=_word, clarity=_word, technician=_staff, tables=_hash,
               **dict.fromkeys((*TOLD_FIGURES, "premium"), _number))  # fmt: skip
_AGREED = _table(option=_word, price=_number, plan=_words_to(_word), tables=_hash,
                 operations=_list(_list(_either(_word, _number))), pieces=_words_to(_words_to(_number)))  # fmt: skip
_HOURS = ("hours", "labour", "materials", "outside")
_AGREEMENT = _table(
    option=_word,
    scope=_word,
    day=_day,
    plan=_words_to(_word),
    tables=_hash,
    **dict.fromkeys(("price", "quoted", "tax"), _number),
    operations=_list(_list(_either(_word, _number))),
    pieces=_words_to(_words_to(_number)),
    lines=_list(_table(operation=_word, part=_word, with_it=_list(_word), **dict.fromkeys(_HOURS, _number))),
    if_found=_list(
        _table(
            **dict.fromkeys(("key", "operation", "part"), _word),
            **dict.fromkeys(("chance", "price"), _number),
            faults=_list(_word),
            hours=_list(_number),
        )
    ),
)
_DONE = _table(
    hours=_number, day=_day, who=_staff, materials=_list(_table(material=_word, amount=_number, cost=_number))
)
_RETURN = _table(day=_day, delivered=_day, cause=_word, part=_word, hours=_number, cost=_number, who=_staff)
_MEASURED = _list(_list(_number))

_FIELDS: dict[str, Keep] = {
    "title": lambda _: NO_NAME,
    "date": _day,
    "piano.kind": _word,
    "piano.size_mm": _number,
    "piano.year": _number,
    "piano.year_is_about": _flag,
    "piano.tier": _word,
    "piano.features": _list(_word),
    "client.wants_to_play": _flag,
    **{
        f"client.{name}": _number
        for name in ("to_have", "to_hear", "premium", "budget", "playing_year", "horizon_years")
    },
    **dict.fromkeys(("humidity", "temperature", "minutes"), _number),
    "finished_value": _RANGE,
    "job.stage": _word,
    "job.agreement": _AGREEMENT,
    "job.promised": _table(day=_day, share=_number),
    "job.fee": _number,
    "job.referred": _flag,
    "job.original": _list(_word),
    "job.absent": _words_to(_list(_number)),
}
"""Fields that stay, and what of their values does."""

_BEGINNINGS: dict[str, Keep] = {
    "piano.renewed.": _number,
    "finding.": _FINDING,
    "pin.": _word,
    "job.done.": _DONE,
    "job.truth.": _table(severity=_word, part=_word, state=_word),
    "job.before.": _MEASURED,
    "job.after.": _MEASURED,
    "job.year.": _MEASURED,
    "job.finished.": _table(day=_day),
    "job.found.": _table(answer=_word, day=_day),
    "job.change.": _table(day=_day, price=_number, hours=_number),
    "job.money.": _table(what=_word, amount=_number, day=_day),
    "job.return.": _RETURN,
}
"""The same for fields that begin so and go on with an id of the tables."""

_EVENT, _SOURCE, _DONE_WORK = "job.event.", "job.source", "job.done."
_DRAWN = ("job.change.", "job.money.", "job.return.")
"""Beginnings of fields whose end was drawn when they were entered."""


def _field(field: str) -> str | None:
    """Return the name under which a field stays; None where it goes. What a person may have named gets another name."""
    if field in _FIELDS or field == _SOURCE:
        return field
    if field.startswith(_EVENT):
        return f"{_EVENT}{nameless_id('event', field)}"
    for beginning in _BEGINNINGS:
        rest = field.removeprefix(beginning)
        if rest == field:
            continue
        if beginning in _DRAWN:
            return f"{beginning}{nameless_id('work', field)}"
        if beginning == _DONE_WORK:
            operation = rest.rpartition(".")[0]
            return f"{beginning}{operation}.{nameless_id('work', field)}" if _WORD.fullmatch(operation) else None
        return field if _WORD.fullmatch(rest) else None
    return None


def _value(field: str, value: Any, reasons: Collection[str], sources: Collection[str]) -> Any:
    if field == _SOURCE:
        return value if isinstance(value, str) and line(value) in sources else None
    if field.startswith(_EVENT):

        def reason(said: Any) -> Any:
            return said if isinstance(said, str) and said in reasons else _GONE

        return _table(stage=_word, day=_day, reason=reason, told=_TOLD, agreed=_AGREED)(value)
    keep = _FIELDS.get(field) or next((keep for name, keep in _BEGINNINGS.items() if field.startswith(name)), None)
    return keep(value) if keep else _GONE
