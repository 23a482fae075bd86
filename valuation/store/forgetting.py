"""Forgetting a person in a store whose history is otherwise only added to: by rewriting, not by destroying a key.

A key for each client, destroyed when the client is forgotten, would do only if all that names a person were encrypted
at rest: entries, the columns that lists and searches read, the view for the owner's own tools, photos, papers. Lists of
fifty thousand visits could then be neither sorted nor searched by the database, every file would need this program to
be opened, and a lost box of keys would lose the shop. And keys that lie beside the data lie in the same backups, so
that an old backup brings both back. So what names a person is taken out of the rows, and the rows are written anew.

That holds on the disk, too. SQLite leaves what was deleted in pages that are free and in its write-ahead log: here it
overwrites what is deleted (``secure_delete``), and after a person was forgotten the whole database is written anew
(``VACUUM``) and the log cut to nothing. PostgreSQL writes the tables anew (``VACUUM FULL``); its server's own log and
archives are the server's matter.

What was forgotten comes back with an old export, an old copy, or a device that was away. So a mark stays: the SHA-256
of the visit's id, which is 128 drawn bits and says nothing of anybody. Marks are in the table `forgotten`, in every
export, and in the file ``forgotten.jsonl`` beside the database, so that an old copy put in its place, by whatever
means, is made to forget again when it is next opened. Copies of before hold the person until they are let go; see
`valuation.store.copies` for how long that is.

What taught the shop's tables stays as a visit without a name, under other ids: see `valuation.record.nameless`.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import asdict
from datetime import date

from sqlalchemy import Connection, delete, func, insert, select, text, update

from valuation.errors import Problem, StoreError
from valuation.record import Entry, heads, value_text
from valuation.record.job_card import SOURCE
from valuation.record.nameless import mark_of, nameless, nameless_id
from valuation.record.photo_fields import photo_hash
from valuation.store import entries, photos
from valuation.store.connect import Store
from valuation.store.faults import LOCKED, in_plain_words
from valuation.store.law import KeptByLaw, take_what_law_keeps
from valuation.store.schema import entry, job, kept_by_law, ledger, paper, photo, visit
from valuation.store.stones import CORRECTED, THROWN_AWAY, Forgotten, read_file, remember, stones, write_file
from valuation.store.visits import no_visit

TO_SWEEP = "store.sweep"
"""Setting: photos whose files are still to go, while traces are still to be swept off the disk; else null."""

LEFT = (
    "what was to go is forgotten, but traces of it may still be in the files; they go at the next start, or with what"
    " is forgotten next"
)

COMMON = 3
"""A way in which clients come stays with what teaches where at least so many others came by it."""


def forget(
    connection: Connection, name: str, stone: Forgotten, *, reasons: Collection[str], kept: KeptByLaw | None = None
) -> None:
    """Forget the person of a visit within a transaction; `sweep` must follow it.

    Parameters
    ----------
    name : str
        Id of the visit.
    stone : Forgotten
        What stays instead; with `THROWN_AWAY` nothing else does.
    reasons : collection of str
        See `nameless`.
    kept : KeptByLaw, optional
        What tax law demands.
    """
    if entries.lock_visit(connection, name) is None:
        raise no_visit(name)
    history = entries.entries_of(connection, name)
    shown = _photos_of(connection, name, history)
    if stone.how != THROWN_AWAY:
        sources = {entry.value for entry in history if entry.field == SOURCE and isinstance(entry.value, str)}
        common = {source for source in sources if _others_from(connection, name, source) >= COMMON}
        _rewrite(connection, name, nameless(history, reasons=reasons, sources=common), history)
    for table in (job, ledger, paper, entry):
        connection.execute(delete(table).where(table.c.visit == name))
    connection.execute(delete(visit).where(visit.c.id == name))
    if kept is not None:
        connection.execute(insert(kept_by_law).values(asdict(kept)))
    remember(connection, [stone])
    _let_photos_go(connection, shown)


def forget_earlier(connection: Connection, name: str, field: str, day: date) -> int:
    """Forget what stood in a field of a visit before; return how many entries that were. `sweep` must follow it."""
    there = entries.entries_of(connection, name, field)
    ends = {head.id for head in heads(there)}
    old = [e.id for e in there if e.id not in ends]
    connection.execute(delete(entry).where(entry.c.id.in_(old)))
    stones = [Forgotten(mark=mark_of("entry", id_), how=CORRECTED, day=day.isoformat()) for id_ in old]
    remember(connection, stones)
    if old:
        note_sweep(connection)
    return len(old)


def _rewrite(connection: Connection, name: str, kept: list[Entry], history: list[Entry]) -> None:
    """Put what stays of a visit in its place, entry by entry, under another id of the visit."""
    row = connection.execute(
        select(visit.c.demo, visit.c.created_at, visit.c.created_by).where(visit.c.id == name)
    ).one()
    other = nameless_id("visit", name)
    midnight = entries.read_moment(row.created_at).replace(hour=0, minute=0, second=0, microsecond=0)
    new = entries.add_visit(connection, other, demo=row.demo, at=midnight, who=row.created_by, kept_as=entries.NAMELESS)
    if not new:
        return  # it is here already: an old copy of what was forgotten before came back
    by_seq = {e.seq: e.id for e in history}
    for e in kept:
        said = {"id": e.id, "visit": other, "at": entries.moment(e.at), "device": "", "field": e.field}
        said |= {"value": value_text(e.value), "follows": " ".join(e.follows), "undoes": e.undoes}
        connection.execute(update(entry).where(entry.c.id == by_seq[e.seq]).values(said))
    entries.renew_card(connection, other)


def _photos_of(connection: Connection, name: str, history: Iterable[Entry]) -> set[str]:
    rows = connection.execute(select(paper.c.photos).where(paper.c.visit == name)).scalars()
    return {photo_hash(e.field) for e in history} | {shown for row in rows for shown in row.split()}


def _others_from(connection: Connection, name: str, source: str) -> int:
    wanted = select(func.count()).select_from(job).where(job.c.source == source, job.c.visit != name)
    return connection.execute(wanted).scalar_one()


def _let_photos_go(connection: Connection, names: set[str]) -> None:
    """Take those photos off the list that nobody speaks of any more, and note that their files are to go."""
    spoken = photos.spoken_of(connection) if names else {}
    printed = " ".join(connection.execute(select(paper.c.photos)).scalars()) if names else ""
    gone = [name for name in names if photos.is_hash(name) and name not in spoken and name not in printed]
    connection.execute(delete(photo).where(photo.c.hash.in_(gone)))
    note_sweep(connection, gone)


def note_sweep(connection: Connection, gone: Iterable[str] = ()) -> None:
    """Note that traces are to be swept off the disk, and which photos' files are to go."""
    waiting = entries.setting(connection, TO_SWEEP) or []
    entries.set_setting(connection, TO_SWEEP, sorted({*waiting, *gone}))


# --- what is here though it was forgotten


def marked_here(connection: Connection) -> dict[str, Forgotten]:
    """Return the visits that are here though they are forgotten, as where an old copy was put in place."""
    by_mark = {stone.mark: stone for stone in stones(connection)}
    if not by_mark:
        return {}
    names = connection.execute(select(visit.c.id)).scalars()
    return {name: by_mark[mark] for name in names if (mark := mark_of("visit", name)) in by_mark}


def drop_corrected(connection: Connection) -> int:
    """Remove the entries that are here though they were corrected away; return how many there were."""
    marks = {stone.mark for stone in stones(connection) if stone.how == CORRECTED}
    if not marks:
        return 0
    old = [name for name in connection.execute(select(entry.c.id)).scalars() if mark_of("entry", name) in marks]
    for name in old:
        connection.execute(delete(entry).where(entry.c.id == name))
    return len(old)


# --- off the disk, and again


def reconcile(store: Store, reasons: Callable[[], Collection[str]], today: date) -> int:
    """Forget again what an old copy, an import or a broken-off run brought back; return how many visits.

    Parameters
    ----------
    reasons : callable
        Gives what `forget` takes; asked only where there is something to forget. `sweep` must follow it.
    today : date
        What tax law keeps no longer by then is not kept again.
    """
    with store.reading() as connection:
        here = {stone.mark for stone in stones(connection)}
        waiting = entries.setting(connection, TO_SWEEP)
    beside = read_file(store.folder)
    new = [stone for stone in beside if stone.mark not in here]
    back: dict[str, Forgotten] = {}
    if new or waiting is not None:
        with store.writing() as connection:
            remember(connection, new)
            back = marked_here(connection)
            for name, stone in back.items():
                kept = take_what_law_keeps(connection, name, stone) if today.isoformat() <= stone.until else None
                forget(connection, name, stone, reasons=reasons(), kept=kept)
            if drop_corrected(connection):
                note_sweep(connection)
    if here - {stone.mark for stone in beside}:
        with store.reading() as connection:
            write_file(store.folder, stones(connection))
    return len(back)


def sweep(store: Store) -> str:
    """Take what was forgotten off the disk: files of photos, and what the database left in its own files.

    Returns
    -------
    str
        Empty if nothing is left; else why traces may be. They go when this is next called, as at the next start.
    """
    with store.reading() as connection:
        waiting = entries.setting(connection, TO_SWEEP)
        found = stones(connection)
    if waiting is None:
        return ""
    try:
        write_file(store.folder, found)
        with in_plain_words("photos"):
            for name in waiting:
                for small in (False, True):
                    photos.path_of(store.folder, name, thumbnail=small).unlink(missing_ok=True)
        _write_anew(store)
        with store.writing() as connection:
            if entries.setting(connection, TO_SWEEP) == waiting:  # else more came, and whoever brought it sweeps
                entries.set_setting(connection, TO_SWEEP, None)
    except StoreError as fault:
        return f"{LEFT}: {fault}"
    return ""


_OF_PEOPLE = (visit, entry, job, ledger, paper, photo, kept_by_law)


def _write_anew(store: Store) -> None:
    """Write the database anew, so that nothing deleted is left in its files."""
    if store.database is None:
        whole = store.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        with in_plain_words(store.place, disk=False), whole as connection:
            for table in _OF_PEOPLE:
                connection.execute(text(f"VACUUM (FULL, ANALYZE) {table.name}"))
            connection.execute(text("VACUUM (FULL) pg_catalog.pg_statistic"))  # the planner keeps samples of the cells
        return
    with in_plain_words(store.place, disk=False), store.one_at_a_time():
        raw = store.engine.raw_connection()
        try:
            cursor = raw.cursor()
            if cursor.execute("SELECT 1 FROM sqlite_master WHERE name = 'sqlite_stat4'").fetchone():
                cursor.execute("ANALYZE")  # somebody's tool asked for samples of the cells: take them anew
            cursor.execute("VACUUM").close()
            busy, *_ = raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        finally:
            raw.close()
    if busy:
        raise StoreError([Problem(store.place, 0, "", LOCKED)])
