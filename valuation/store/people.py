"""What the store keeps of people: where words stand, what is kept of a visit, and how a visit is kept."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Connection, func, select, update

from valuation.store.entries import NAMELESS, OPEN, read_day
from valuation.store.schema import entry, job, paper, visit
from valuation.store.visits import no_visit

_PLAIN = re.compile(r"[a-z0-9]+")
_AT_ONCE = 400


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """How much is kept of one visit.

    Attributes
    ----------
    day : date or None
        Of the visit.
    changed : date
        When the last entry was made.
    """

    visit: str
    title: str
    client: str
    place: str
    day: date | None
    changed: date
    stage: str
    kept_as: str
    demo: bool
    entries: int
    photos: int
    papers: int


def fields_with(connection: Connection, word: str) -> dict[str, set[str]]:
    """Return by visit the fields in which a word stands, in any entry; `word` is in small letters.

    Values are JSON, in which a letter beyond the plain ones is written by its number: so the database looks for the
    longest run of plain letters, and what it finds is read.
    """
    found: dict[str, set[str]] = defaultdict(set)
    wanted = select(entry.c.visit, entry.c.field, entry.c.value)
    if runs := _PLAIN.findall(word.replace("ss", " ")):  # 'ss' may be one letter of German there
        wanted = wanted.where(entry.c.value.icontains(max(runs, key=len), autoescape=True))
    for name, field, value in connection.execute(wanted, execution_options={"yield_per": _AT_ONCE}):
        if word in _text(json.loads(value)).casefold():
            found[name].add(field)
    return found


def _text(value: object) -> str:
    """Return all text and numbers in a JSON value."""
    if isinstance(value, dict):
        return "\n".join(map(_text, value.values()))
    if isinstance(value, list):
        return "\n".join(map(_text, value))
    return "" if value is None else str(value)


def holdings(connection: Connection, names: Collection[str]) -> list[Holding]:
    """Return what is kept of some visits, those that changed last first."""
    found, wanted = [], sorted(names)
    for start in range(0, len(wanted), _AT_ONCE):
        some = wanted[start : start + _AT_ONCE]
        count = _counts(connection, entry, some)
        photos = _counts(connection, entry, some, entry.c.field.startswith("photo."))
        papers = _counts(connection, paper, some)
        for row in connection.execute(select(visit).where(visit.c.id.in_(some))):
            shown = {name: getattr(row, name) for name in ("title", "client", "place", "stage", "kept_as", "demo")}
            found.append(
                Holding(
                    visit=row.id, day=read_day(row.day), changed=date.fromisoformat(row.changed_at[:10]), **shown,
                    entries=count.get(row.id, 0), photos=photos.get(row.id, 0), papers=papers.get(row.id, 0),
                )
            )  # fmt: skip
    return sorted(found, key=lambda holding: (holding.changed, holding.visit), reverse=True)


def _counts(connection: Connection, table, names: Collection[str], *where) -> dict[str, int]:
    counted = select(table.c.visit, func.count()).where(table.c.visit.in_(names), *where).group_by(table.c.visit)
    return dict(connection.execute(counted).all())


def kept_as(connection: Connection, how: str) -> list[str]:
    """Return the visits that are kept in a way."""
    return list(connection.execute(select(visit.c.id).where(visit.c.kept_as == how)).scalars())


def keep_as(connection: Connection, names: Iterable[str], before: str, after: str) -> None:
    """Keep visits in another way; `StoreError` if one isn't there, or is kept otherwise than `before`."""
    for name in names:
        change = update(visit).where(visit.c.id == name, visit.c.kept_as == before).values(kept_as=after)
        if connection.execute(change).rowcount == 0:
            raise no_visit(name)


def title_of(connection: Connection, name: str) -> str | None:
    """Return the title of a visit that names somebody; None where there is none of this id."""
    wanted = select(visit.c.title).where(visit.c.id == name, visit.c.kept_as != NAMELESS)
    return connection.execute(wanted).scalar()


def unchanged_since(connection: Connection, day: str, yes: Collection[str]) -> dict[str, bool]:
    """Return the visits in use in which nothing was entered since a day, and whether work was ever agreed on.

    Parameters
    ----------
    yes : collection of str
        Stages that say so.

    Notes
    -----
    Invented visits are nobody's, and left out.
    """
    wanted = select(visit.c.id, job.c.agreed_on, job.c.events).outerjoin(job, job.c.visit == visit.c.id)
    old = wanted.where(visit.c.changed_at < day, visit.c.kept_as == OPEN, visit.c.demo.is_(False))
    return {
        name: agreed_on is not None or any(stage in yes for _, _, stage, *_ in json.loads(events or "[]"))
        for name, agreed_on, events in connection.execute(old)
    }
