"""Rows of the tables `visit`, `entry` and `setting`, in and out, each within the transaction of the caller."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, Row, and_, case, delete, func, insert, literal_column, or_, select, update
from sqlalchemy.dialects import postgresql, sqlite

from valuation.errors import Problem, StoreError
from valuation.record import Card, Entry, by_field, card_text, counted, is_id, one_line, value_text
from valuation.record.card import CARD_FIELDS
from valuation.record.job_card import ON_THE_CARD, card_columns, job_card, job_columns
from valuation.record.ledger import ledger_rows
from valuation.record.nameless import mark_of
from valuation.store import schema
from valuation.store.schema import entry, job, ledger, visit

OPEN, RESTRICTED, NAMELESS = "", "restricted", "nameless"
"""How a visit is kept: in use; only kept, used for nothing; without the person, for what it teaches."""

HIDDEN = visit.c.kept_as != literal_column("''")
"""What no list shows, in the words of the index that holds those few: the others are counted as all but these."""

FORGOTTEN = "the visit was forgotten here, and may not come back; start a new one"

_AT_ONCE = 400
"""Names in one question to the database."""

_FEW = 1000

_BY_TITLE = (visit.c.title_key, visit.c.id)

_SORTS = {
    "changed": (visit.c.changed_at.desc(), visit.c.id.desc()),
    "day": (visit.c.day.desc(), visit.c.id.desc()),
    "title": _BY_TITLE,
    "maker": (visit.c.maker_key, *_BY_TITLE),
    "place": (visit.c.place_key, *_BY_TITLE),
    "client": (visit.c.client_key, *_BY_TITLE),
    "kind": (visit.c.kind, *_BY_TITLE),
    "stage": (visit.c.stage, *_BY_TITLE),
    "year": (visit.c.year.nulls_last(), *_BY_TITLE),
}

SORTS = tuple(_SORTS)


def add_visit(connection: Connection, name: str, *, demo: bool, at: datetime, who: str, kept_as: str = OPEN) -> bool:
    """Add a visit without entries; return whether it is new.

    Raises
    ------
    StoreError
        If it was forgotten: it may not come back.
    """
    if is_forgotten(connection, "visit", name):
        raise StoreError([Problem("visit", 0, "", FORGOTTEN)])
    empty = card_text({}) | card_columns(job_card({}))
    row = {"id": name, "demo": demo, "created_at": moment(at), "created_by": who, "changed_at": moment(at), **empty}
    row["kept_as"] = kept_as
    return insert_new(connection, visit, [row], "id") == 1


def has_visit(connection: Connection, name: str) -> bool:
    """Tell whether there is such a visit."""
    return is_id(name) and connection.execute(select(visit.c.id).where(visit.c.id == name)).scalar() is not None


def is_demo(connection: Connection, name: str) -> bool:
    """Tell whether a visit is an invented one."""
    return is_id(name) and bool(connection.execute(select(visit.c.demo).where(visit.c.id == name)).scalar())


def lock_visit(connection: Connection, name: str) -> str | None:
    """Keep others from writing to a visit until the transaction ends; return how it is kept, None if it isn't there."""
    wanted = select(visit.c.kept_as).where(visit.c.id == name).with_for_update()
    return connection.execute(wanted).scalar() if is_id(name) else None


def is_forgotten(connection: Connection, what: str, name: str) -> bool:
    """Tell whether the visit or entry of an id may not come back."""
    wanted = select(schema.forgotten.c.mark).where(schema.forgotten.c.mark == mark_of(what, name))
    return connection.execute(wanted).scalar() is not None


def kept_as(connection: Connection, name: str) -> str | None:
    """Return how a visit is kept; None if it isn't there."""
    return connection.execute(select(visit.c.kept_as).where(visit.c.id == name)).scalar() if is_id(name) else None


def add_entries(connection: Connection, entries: Sequence[Entry]) -> list[Entry]:
    """Add entries of one visit, none of which is there, bring its card up to date, and return them as stored."""
    put = insert(entry).returning(entry.c.seq)
    stored = [replace(e, seq=connection.execute(put, _row(e)).scalar_one()) for e in entries]
    if stored:
        _update_card(connection, stored)
    return stored


def renew_card(connection: Connection, name: str) -> None:
    """Work out anew what lists show of a visit and of its job, from all its entries."""
    there = entries_of(connection, name)
    shown = {field: head.value for field, head in counted(by_field(there))[0].items()}
    change = card_text(shown) | {"changed_at": moment(max(e.at for e in there))} if there else card_text({})
    change |= _update_job(connection, name)
    connection.execute(update(visit).where(visit.c.id == name).values(change))


def _update_card(connection: Connection, entries: Sequence[Entry]) -> None:
    name = entries[0].visit
    changed_at = moment(max(e.at for e in entries))
    change: dict[str, Any] = {
        "changed_at": case((visit.c.changed_at < changed_at, changed_at), else_=visit.c.changed_at)
    }
    if any(e.field in CARD_FIELDS for e in entries):
        shown = by_field(entries_of(connection, name, *CARD_FIELDS))
        change |= card_text({field: head.value for field, head in counted(shown)[0].items()})
    if any(e.field.startswith(ON_THE_CARD) for e in entries):
        change |= _update_job(connection, name)
    connection.execute(update(visit).where(visit.c.id == name).values(change))


def cards_beyond(connection: Connection, first: date, last: date) -> list[str]:
    """Return the visits whose card shows a day before one day or after another."""
    beyond = [or_(column < first.toordinal(), column > last.toordinal()) for column in (visit.c.next_on, visit.c.since)]
    of_visit = or_(visit.c.day > last.isoformat(), and_(visit.c.day != "", visit.c.day < first.isoformat()))
    wanted = select(visit.c.id).where(or_(*beyond, of_visit)).order_by(visit.c.id)
    return list(connection.execute(wanted).scalars())


def renew_job(connection: Connection, name: str) -> None:
    """Work out anew what is kept of the job of a visit, from its entries."""
    connection.execute(update(visit).where(visit.c.id == name).values(_update_job(connection, name)))


def _update_job(connection: Connection, name: str) -> dict[str, Any]:
    """Bring what is kept of the job of a visit up to date, and return what the list of visits shows of it."""
    prefixes = or_(*(entry.c.field.startswith(prefix, autoescape=True) for prefix in ON_THE_CARD))
    rows = connection.execute(select(entry).where(entry.c.visit == name, prefixes).order_by(entry.c.seq))
    fields = by_field(_entry(row) for row in rows)
    card = job_card(fields)
    row = {"visit": name, **job_columns(card, fields)}
    put = _dialect(connection).insert(job).values(row)
    connection.execute(put.on_conflict_do_update(index_elements=["visit"], set_=row))
    connection.execute(delete(ledger).where(ledger.c.visit == name))
    empty = dict.fromkeys(column.name for column in ledger.columns)
    if booked := [empty | {"visit": name} | own for own in ledger_rows(fields, card.events)]:
        connection.execute(insert(ledger), booked)
    return card_columns(card)


def entries_of(connection: Connection, name: str, *fields: str) -> list[Entry]:
    """Return the entries of a visit in the order in which they came; of some fields, if any are named."""
    wanted = entry.c.visit == name
    if fields:
        wanted = and_(wanted, entry.c.field.in_(fields))
    return [_entry(row) for row in connection.execute(select(entry).where(wanted).order_by(entry.c.seq))]


def entries_there(connection: Connection, new: Entry) -> list[Entry]:
    """Return the entries of a field in the order in which they came, and any that has the id of a new one."""
    same_field = and_(entry.c.visit == new.visit, entry.c.field == new.field)
    wanted = select(entry).where(or_(same_field, entry.c.id == new.id)).order_by(entry.c.seq)
    return [_entry(row) for row in connection.execute(wanted)]


def entries_of_fields(
    connection: Connection, prefixes: Sequence[str], visits: Sequence[str] | None = None
) -> Iterator[Entry]:
    """Yield the entries of all fields that begin so, visit by visit in the order in which they came.

    Parameters
    ----------
    prefixes : sequence of str
        Beginnings of fields; all fields if there are none.
    visits : sequence of str, optional
        Only those.
    """
    wanted = select(entry).order_by(entry.c.visit, entry.c.seq)
    if prefixes:
        wanted = wanted.where(or_(*(entry.c.field.startswith(prefix, autoescape=True) for prefix in prefixes)))
    if visits is not None:
        wanted = wanted.where(entry.c.visit.in_(visits))
    for row in connection.execute(wanted, execution_options={"yield_per": _AT_ONCE}):
        yield _entry(row)


def entries_with(connection: Connection, ids: Iterable[str]) -> dict[str, Entry]:
    """Return those entries that are there under some ids."""
    ids = list(ids)
    found: dict[str, Entry] = {}
    for start in range(0, len(ids), _AT_ONCE):
        wanted = select(entry).where(entry.c.id.in_(ids[start : start + _AT_ONCE]))
        found |= {row.id: _entry(row) for row in connection.execute(wanted)}
    return found


def visits(connection: Connection) -> Sequence[Row]:
    """Return (id, demo, created_at, created_by, kept_as) of every visit, in the order of the ids."""
    wanted = select(*visit.c["id", "demo", "created_at", "created_by", "kept_as"]).order_by(visit.c.id)
    return connection.execute(wanted).all()


def cards(
    connection: Connection, *, search: str, kind: str, sort: str, limit: int, offset: int, demo: bool | None
) -> tuple[list[Card], int]:
    """Return some of the cards that fit, and how many fit in all; see `Shop.list_visits`."""
    wanted = [visit.c.search.contains(word, autoescape=True) for word in one_line(search).casefold().split()]
    if kind:
        wanted.append(visit.c.kind == kind)
    if demo is not None:
        wanted.append(visit.c.demo == demo)
    counted = select(func.count()).select_from(visit)
    total = connection.execute(counted.where(*wanted)).scalar_one()
    total -= connection.execute(counted.where(HIDDEN, *wanted)).scalar_one()
    order = _SORTS[sort]
    if (
        search or kind or demo is not None
    ) and total < _FEW:  # reading all and sorting those few is quicker than looking for them along an index
        order = (case((visit.c.id == "", 1), else_=0), *order)
    chosen = select(visit).where(visit.c.kept_as == OPEN, *wanted).order_by(*order).limit(limit).offset(offset)
    return [_card(row) for row in connection.execute(chosen)], total


def has_demo(connection: Connection) -> bool:
    """Tell whether there are invented visits."""
    return connection.execute(select(visit.c.id).where(visit.c.demo).limit(1)).scalar() is not None


def remove_demo(connection: Connection) -> int:
    """Remove the invented visits with all that was entered and made there; return how many there were."""
    invented = select(visit.c.id).where(visit.c.demo)
    connection.execute(delete(job).where(job.c.visit.in_(invented)))
    connection.execute(delete(ledger).where(ledger.c.visit.in_(invented)))
    connection.execute(delete(schema.paper).where(schema.paper.c.visit.in_(invented)))
    connection.execute(delete(entry).where(entry.c.visit.in_(invented)))
    return connection.execute(delete(visit).where(visit.c.demo)).rowcount


def setting(connection: Connection, name: str) -> Any:
    """Return a setting, None where it was never set."""
    text = connection.execute(select(schema.setting.c.value).where(schema.setting.c.name == name)).scalar()
    return None if text is None else json.loads(text)


def settings(connection: Connection) -> dict[str, Any]:
    """Return all settings."""
    return {row.name: json.loads(row.value) for row in connection.execute(select(schema.setting))}


def set_setting(connection: Connection, name: str, value: Any) -> None:
    """Set a setting, whatever it was."""
    connection.execute(delete(schema.setting).where(schema.setting.c.name == name))
    connection.execute(insert(schema.setting).values(name=name, value=value_text(value)))


def set_if_new(connection: Connection, name: str, value: Any) -> bool:
    """Set a setting that was never set; return whether it was so."""
    return insert_new(connection, schema.setting, [{"name": name, "value": value_text(value)}], "name") == 1


def moment(at: datetime) -> str:
    """Return a time as the store writes it."""
    return at.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def read_moment(text: str) -> datetime:
    """Return the time that `moment` wrote."""
    return datetime.fromisoformat(text)


def insert_new(connection: Connection, table: Any, rows: list[dict[str, Any]], key: str) -> int:
    """Insert the rows whose key isn't there yet; return how many."""
    put = _dialect(connection).insert(table).on_conflict_do_nothing(index_elements=[key]).returning(table.c[key])
    return sum(connection.execute(put, row).scalar() is not None for row in rows)


def _row(e: Entry) -> dict[str, Any]:
    return {
        "id": e.id,
        "visit": e.visit,
        "at": moment(e.at),
        "who": e.who,
        "device": e.device,
        "field": e.field,
        "value": value_text(e.value),
        "follows": " ".join(e.follows),
        "undoes": e.undoes,
    }


def _dialect(connection: Connection) -> Any:
    return {"sqlite": sqlite, "postgresql": postgresql}[connection.dialect.name]


def _entry(row: Row) -> Entry:
    return Entry(
        id=row.id,
        visit=row.visit,
        at=read_moment(row.at),
        who=row.who,
        device=row.device,
        field=row.field,
        value=json.loads(row.value),
        follows=tuple(row.follows.split()),
        undoes=row.undoes,
        seq=row.seq,
    )


def _card(row: Row) -> Card:
    shown = {name: getattr(row, name) for name in (*CARD_FIELDS.values(), "stage", "id", "demo", "created_by")}
    shown["day"] = read_day(row.day)
    return Card(created_at=read_moment(row.created_at), changed_at=read_moment(row.changed_at), **shown)


def read_day(text: str) -> date | None:
    """Return the day that a card shows; None where what was entered is none."""
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
