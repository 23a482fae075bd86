"""Lists of jobs: what stands where, what is due, and everything that is kept of each for questions over all of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, Connection, Row, and_, case, func, select, text

from valuation.engine.rows import FollowUpRow
from valuation.record import Entry
from valuation.store.entries import HIDDEN, OPEN, RESTRICTED, entries_of_fields, read_day
from valuation.store.schema import entry, forgotten, job, visit

SORTS = ("due", "since", "recent", "changed", "day", "title", "client")
"""``due`` and ``since``: the earliest first; ``recent``, by when the stage began, ``changed`` and ``day``: the latest
first."""

_AT_ONCE = 2000
"""Rows fetched in one go."""

_VISITS_AT_ONCE = 400
"""Visits in one question."""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One evaluation in a list; what is not known is empty or None.

    Attributes
    ----------
    day : date or None
        Of the visit.
    stage : str
        Empty where no event was entered.
    since : date or None
        When the stage began.
    due_on : date or None
        Day of what is to be done next.
    due : str
        Id of the table's follow-up that it is; empty where somebody set the step, or there is none.
    next_what : str
        The step that somebody set.
    """

    visit: str
    title: str
    client: str
    place: str
    kind: str
    maker: str
    year: int | None
    day: date | None
    stage: str
    since: date | None
    due_on: date | None
    due: str
    next_what: str
    demo: bool


def job_lines(
    connection: Connection,
    follow_ups: Sequence[FollowUpRow],
    *,
    words: str = "",
    stages: Sequence[str] | None = None,
    kind: str = "",
    due_by: date | None = None,
    sort: str = "due",
    limit: int | None = 50,
    offset: int = 0,
) -> list[JobLine]:
    """Return the evaluations that fit.

    Parameters
    ----------
    follow_ups : sequence of FollowUpRow
        The table; a step set by hand stands in their place until it is done.
    words : str
        Each stands in the title, the maker, the place, the client's name or the serial number.
    stages : sequence of str, optional
        Only those; '' is no stage yet.
    due_by : date, optional
        Only those with something to do by then.
    sort : str
        One of `SORTS`.
    """
    due = _due(follow_ups)
    wanted = select(visit, due.label("due_on"), _which(follow_ups).label("due"))
    chosen = wanted.where(*_fitting(due, words, stages, kind, due_by)).order_by(*_order(sort, due))
    return [_line(row) for row in connection.execute(chosen.limit(limit).offset(offset))]


def count_lines(
    connection: Connection,
    follow_ups: Sequence[FollowUpRow],
    *,
    words: str = "",
    stages: Sequence[str] | None = None,
    kind: str = "",
    due_by: date | None = None,
    most: int | None = None,
) -> int:
    """Return how many evaluations fit, or `most` as soon as there are so many; else as for `job_lines`."""
    fitting = select(visit.c.id).where(*_fitting(_due(follow_ups), words, stages, kind, due_by)).limit(most)
    return connection.execute(select(func.count()).select_from(fitting.subquery())).scalar_one()


def count_by_stage(connection: Connection, *, words: str = "", kind: str = "") -> dict[str, int]:
    """Return how many evaluations stand where; '' for those without a stage."""
    held = func.count().label("held")
    counted = select(visit.c.stage, held).where(*_matching(words, kind)).group_by(visit.c.stage)
    hidden = {row.stage: row.held for row in connection.execute(counted.where(HIDDEN))}
    counts = {row.stage: row.held - hidden.get(row.stage, 0) for row in connection.execute(counted)}
    return {stage: count for stage, count in counts.items() if count}


def all_jobs(connection: Connection, *, since: int = 0) -> Iterator[Row]:
    """Yield what is kept of every job, with its visit's title and kind, by visit; not of those that are restricted.

    With `since` only of those that have an entry after that number.
    """
    wanted = select(job, visit.c.kind, visit.c.title, visit.c.demo).join(visit, visit.c.id == job.c.visit)
    wanted = wanted.where(visit.c.kept_as != RESTRICTED)
    if since:
        wanted = wanted.where(visit.c.id.in_(select(entry.c.visit).where(entry.c.seq > since)))
    yield from connection.execute(wanted.order_by(job.c.visit), execution_options={"yield_per": _AT_ONCE})


def visits_in(
    connection: Connection, stages: Sequence[str], *, demo: bool | None = None, most: int | None = None
) -> dict[str, str]:
    """Return the visits that stand in some stages with their kind of piano, those that came there last first."""
    wanted = select(visit.c.id, visit.c.kind).where(visit.c.stage.in_(stages), visit.c.kept_as != RESTRICTED)
    if demo is not None:
        wanted = wanted.where(visit.c.demo == demo)
    chosen = wanted.order_by(visit.c.since.desc(), visit.c.id).limit(most)
    return dict(connection.execute(chosen).all())


def newest_visits(connection: Connection, *, demo: bool, most: int) -> list[str]:
    """Return the visits made last, invented ones or the others, the newest first."""
    wanted = select(visit.c.id).where(visit.c.demo == demo, visit.c.kept_as != RESTRICTED)
    return list(connection.execute(wanted.order_by(visit.c.day.desc(), visit.c.id).limit(most)).scalars())


def names(connection: Connection) -> Iterator[Row]:
    """Yield what the shop's own visits in use go by: id, title, client and serial number."""
    wanted = select(visit.c.id, visit.c.title, visit.c.client, visit.c.serial)
    own = wanted.where(visit.c.demo.is_(False), visit.c.kept_as == OPEN)
    yield from connection.execute(own, execution_options={"yield_per": _AT_ONCE})


def entries_of_jobs(connection: Connection, visits: Sequence[str], prefixes: Sequence[str]) -> Iterator[Entry]:
    """Yield the entries of some visits in fields that begin so; all of a visit one after the other."""
    for start in range(0, len(visits), _VISITS_AT_ONCE):
        yield from entries_of_fields(connection, prefixes, visits[start : start + _VISITS_AT_ONCE])


def marks_of(connection: Connection, visits: Sequence[str]) -> dict[str, tuple[int, int]]:
    """Return of some visits how many entries they have and the number of the last: both change with every entry."""
    found: dict[str, tuple[int, int]] = {}
    for start in range(0, len(visits), _VISITS_AT_ONCE):
        some = entry.c.visit.in_(visits[start : start + _VISITS_AT_ONCE])
        counted = select(entry.c.visit, func.count(), func.max(entry.c.seq)).where(some).group_by(entry.c.visit)
        found |= {name: (count, last) for name, count, last in connection.execute(counted)}
    return found


def count(connection: Connection) -> int:
    """Return how many jobs there are, restricted ones too."""
    return connection.execute(select(func.count()).select_from(job)).scalar_one()


def last_entry(connection: Connection) -> int:
    """Return the number of the last entry; 0 if there is none."""
    return connection.execute(select(func.max(entry.c.seq))).scalar() or 0


def out_of_use(connection: Connection) -> str:
    """Return a text that changes with all that is forgotten, restricted, or in use again."""
    gone = connection.execute(select(func.count()).select_from(forgotten)).scalar_one()
    restricted = select(visit.c.id).where(HIDDEN, visit.c.kept_as == RESTRICTED).order_by(visit.c.id)
    return " ".join([str(gone), *connection.execute(restricted).scalars()])


def marked(connection: Connection) -> str:
    """Return a text that changes with every entry, and with all that is forgotten, restricted, or in use again."""
    return f"{last_entry(connection)} {out_of_use(connection)}"


def has_jobs(connection: Connection) -> bool:
    """Tell whether any evaluation has got anywhere."""
    return connection.execute(select(job.c.visit).where(job.c.stage != "").limit(1)).scalar() is not None


def has_own_jobs(connection: Connection) -> bool:
    """Tell whether any evaluation that is not invented has got anywhere."""
    own = select(visit.c.id).where(visit.c.demo.is_(False), visit.c.stage != "").limit(1)
    return connection.execute(own).scalar() is not None


def _due(follow_ups: Sequence[FollowUpRow]) -> ColumnElement:
    """Return the day of what is to be done next, as a number."""
    return func.coalesce(visit.c.next_on, _first_open(follow_ups, lambda row: visit.c.since + row.after_days))


def _which(follow_ups: Sequence[FollowUpRow]) -> ColumnElement:
    return case((visit.c.next_on.is_not(None), ""), else_=_first_open(follow_ups, lambda row: row.id))


def _first_open(follow_ups: Sequence[FollowUpRow], then) -> ColumnElement:
    """Return something of the first follow-up of the stage that was neither made nor dropped."""
    rows = sorted(follow_ups, key=lambda row: row.after_days)
    open_ = [
        (
            and_(
                visit.c.stage == row.stage,
                visit.c.since.is_not(None),
                ~visit.c.followed.contains(f" {row.id} ", autoescape=True),
            ),
            then(row),
        )
        for row in rows
    ]
    return case(*open_, else_=None) if open_ else case((visit.c.id == "", None), else_=None)


def _fitting(due, words: str, stages: Sequence[str] | None, kind: str, due_by: date | None) -> list[ColumnElement]:
    wanted = [*_matching(words, kind), visit.c.kept_as == OPEN]
    if stages is not None:
        wanted.append(visit.c.stage.in_(stages))
    if due_by is not None:
        wanted.append(due <= due_by.toordinal())
    return wanted


def _matching(words: str, kind: str) -> list[ColumnElement]:
    wanted = [visit.c.search.contains(word, autoescape=True) for word in words.casefold().split()]
    return [*wanted, visit.c.kind == kind] if kind else wanted


def _order(sort: str, due: ColumnElement) -> tuple[ColumnElement, ...]:
    columns = {
        "due": (case((due.is_(None), 1), else_=0), due),
        "since": (case((visit.c.since.is_(None), 1), else_=0), visit.c.since),
        "recent": (visit.c.since.desc(),),
        "changed": (visit.c.changed_at.desc(),),
        "day": (visit.c.day.desc(),),
        "title": (visit.c.title_key,),
        "client": (visit.c.client_key, visit.c.title_key),
    }
    return (*columns[sort], visit.c.id.desc() if sort == "recent" else visit.c.id)


def _line(row: Row) -> JobLine:
    plain = {
        name: getattr(row, name) for name in ("title", "client", "place", "kind", "maker", "year", "stage", "demo")
    }
    return JobLine(
        visit=row.id,
        day=read_day(row.day),
        since=date.fromordinal(row.since) if row.since else None,
        due_on=date.fromordinal(row.due_on) if row.due_on else None,
        due=row.due or "",
        next_what=row.next_what if row.next_on else "",
        **plain,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What was set or done about the next step of one evaluation."""

    visit: str
    title: str
    next_on: date | None
    next_what: str
    followed: tuple[str, ...]


def steps(connection: Connection) -> list[Steps]:
    """Return every evaluation with a step that somebody set, or with follow-ups that were made."""
    columns = visit.c["id", "title", "next_on", "next_what", "followed"]
    wanted = select(*columns).where((visit.c.next_on.is_not(None)) | (visit.c.followed != "")).order_by(visit.c.id)
    wanted = wanted.where(visit.c.kept_as == OPEN)
    return [
        Steps(
            visit=row.id,
            title=row.title,
            next_on=date.fromordinal(row.next_on) if row.next_on else None,
            next_what=row.next_what,
            followed=tuple(row.followed.split()),
        )
        for row in connection.execute(wanted)
    ]


def evaluations(connection: Connection) -> Iterator[Row]:
    """Yield the rows of the view for the owner's own tools, the visit made first coming first."""
    wanted = text("SELECT * FROM evaluations ORDER BY visited_on, visit")
    yield from connection.execute(wanted, execution_options={"yield_per": _AT_ONCE})
