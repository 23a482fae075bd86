"""What can be done about a person whose data the shop keeps: find, hand out, correct, restrict, forget, clean up.

A person is found by words, and is the visits that somebody of the shop picks from what is found: the store has no list
of persons, and the tool never decides that two are one. The screens and the command line call this.

Nothing goes by itself when its time is up: a clock that is wrong by ten years would take what the law demands. What is
due is shown, and goes by one act, which a scheduler may do too (``people clean``).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from valuation.engine.pack import pack_of, said_country
from valuation.engine.rows import RetentionRow, Tables
from valuation.engine.rows.country import EVALUATION, INVOICE, ORDER
from valuation.errors import Problem, StoreError
from valuation.jobs.stages import YES
from valuation.record import by_field, one_line
from valuation.record.job_card import EventEntered, events_entered
from valuation.record.nameless import mark_of
from valuation.service.visits import Shop
from valuation.store import backups, entries, forgetting, law, people, unspoken, visits
from valuation.store.faults import in_plain_words
from valuation.store.law import KeptByLaw
from valuation.store.people import Holding
from valuation.store.stones import ERASED, THROWN_AWAY, Forgotten
from valuation.store.unspoken import Unspoken
from valuation.store.walk_links import WalkLinks

__all__ = [
    "CORRECTABLE",
    "YEARS",
    "Due",
    "Found",
    "Holding",
    "KeptByLaw",
    "clean",
    "correct",
    "due",
    "erase",
    "find",
    "holdings",
    "kept_by_law",
    "law_of",
    "let_old_copies_go",
    "lift",
    "restrict",
    "restricted",
    "throw_away",
    "unspoken_files",
    "years_of",
]

YEARS = "people.years"
"""Setting of the store: the shop's own years for what never became a job."""

CORRECTABLE = ("client.name", "client.phone", "place", "title", "story", "client.purpose", "client.wishes")
"""Fields that hold words about a person, and can be corrected from the page."""

NO_COUNTRY = (
    "say first in the shop's tables in which country it works: that decides what tax law demands of an agreed job"
)
STILL_OPEN = "work was agreed on and is not finished; finish or cancel it first, the contract needs this data"
AGREED = "work was agreed on: this was no mistake. Forget the person instead, so that what tax law demands is kept"


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A visit in which all words stand somewhere.

    Attributes
    ----------
    fields : tuple of str
        Where they stand, also in what was entered before and no longer counts.
    """

    holding: Holding
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Due:
    """A visit whose time is up.

    Attributes
    ----------
    row : RetentionRow
        Why, with the shop's own years where it has set any.
    """

    visit: str
    row: RetentionRow


# --- find


def find(shop: Shop, words: str) -> list[Found]:
    """Return the visits in which every word stands, in whatever field and however long ago, the newest first.

    Parameters
    ----------
    words : str
        Parts of words will do; large and small letters are alike. No words find nothing.
    """
    wanted = one_line(words).casefold().split()
    if not wanted:
        return []
    with shop.store.reading() as connection:
        hits = [people.fields_with(connection, word) for word in wanted]
        names = set.intersection(*(set(hit) for hit in hits))
        fields = {name: tuple(sorted(set().union(*(hit[name] for hit in hits)))) for name in names}
        return [Found(holding=h, fields=fields[h.visit]) for h in people.holdings(connection, names)]


def holdings(shop: Shop, names: Collection[str]) -> list[Holding]:
    """Return what is kept of some visits, the newest first."""
    with shop.store.reading() as connection:
        return people.holdings(connection, names)


def restricted(shop: Shop) -> list[Holding]:
    """Return the visits that are kept and used for nothing."""
    with shop.store.reading() as connection:
        return people.holdings(connection, people.kept_as(connection, entries.RESTRICTED))


def kept_by_law(shop: Shop) -> list[KeptByLaw]:
    """Return what tax law keeps of people who were forgotten, what goes first coming first."""
    with shop.store.reading() as connection:
        return law.all_kept(connection)


# --- how long


def years_of(shop: Shop, book: Tables, what: str) -> RetentionRow | None:
    """Return how long something is kept; None where nobody has said in which country. The shop's own years go first.

    Parameters
    ----------
    book : Tables
        Of the shop.
    what : str
        `EVALUATION`, `ORDER` or `INVOICE`.

    Returns
    -------
    RetentionRow or None
        Without a source where the years are the shop's own.
    """
    if not said_country(book):
        return None
    row = pack_of(book).retentions[what]
    own = shop.setting(YEARS)
    if what == EVALUATION and type(own) is int and 0 <= own <= 30:
        return replace(row, years=own, source="")
    return row


def law_of(shop: Shop, book: Tables) -> tuple[RetentionRow, ...]:
    """Return all rows that hold."""
    return tuple(row for what in (EVALUATION, ORDER, INVOICE) if (row := years_of(shop, book, what)))


def due(shop: Shop, book: Tables, today: date) -> list[Due]:
    """Return the visits whose time is up: those that never became a job, and jobs that tax law needs no more."""
    found = []
    with shop.store.reading() as connection:
        for what in (EVALUATION, ORDER):
            row = years_of(shop, book, what)
            if row is None:
                continue
            old = people.unchanged_since(connection, f"{today.year - row.years}-01-01", _yes(book))
            found += [Due(visit=name, row=row) for name, agreed in old.items() if agreed == (what == ORDER)]
    return found


def _steps(connection, name: str) -> tuple[EventEntered, ...]:
    fields = by_field(entries.entries_of_fields(connection, ["job.event."], [name]))
    return events_entered(fields)[0]


def _agreed(steps: Sequence[EventEntered], book: Tables) -> bool:
    return any(step.agreed or step.stage in _yes(book) for step in steps)


def _yes(book: Tables) -> frozenset[str]:
    return frozenset(row.id for row in book.stages if row.outcome == YES)


# --- acts


def correct(shop: Shop, visit: str, field: str, value: str, *, forget_earlier: bool, who: str, now: datetime) -> int:
    """Put another value into a field of a visit; return how many earlier entries of it were forgotten.

    Parameters
    ----------
    visit, field : str
        One of `CORRECTABLE`.
    value : str
        Empty for nothing at all.
    forget_earlier : bool
        Whether what stood there before goes for good: where it was wrong, and not only changed.
    """
    if field not in CORRECTABLE:
        raise StoreError([Problem("people", 0, field, f"it is one of {', '.join(CORRECTABLE)}")])
    text = one_line(value) if field != "story" else value.strip()
    shop.put(visit, field, text or None, who=who, device="", now=now)
    if not forget_earlier:
        return 0
    with shop.store.writing() as connection:
        count = forgetting.forget_earlier(connection, visit, field, now.astimezone().date())
    shop.traces = forgetting.sweep(shop.store)
    return count


def restrict(shop: Shop, names: Collection[str]) -> None:
    """Keep visits and use them for nothing: no list, search, calendar or learning has them, and nobody enters."""
    with shop.store.writing() as connection:
        people.keep_as(connection, names, entries.OPEN, entries.RESTRICTED)
    for name in names:
        WalkLinks(shop.store.folder).revoke(name)


def lift(shop: Shop, names: Iterable[str]) -> None:
    """Use restricted visits again."""
    with shop.store.writing() as connection:
        people.keep_as(connection, names, entries.RESTRICTED, entries.OPEN)


def erase(shop: Shop, names: Collection[str], book: Tables, today: date) -> int:
    """Forget the people of some visits; return for how many tax law keeps something. `Shop.traces` tells what is left.

    Parameters
    ----------
    names : collection of str
        Ids of the visits.
    book : Tables
        Tells which stages mean that work was agreed on, or is still open.

    Raises
    ------
    StoreError
        If a job is still open, or no country is set and a job was agreed on. Nothing was forgotten then.
    """
    reasons = shop.reasons(today)
    with shop.store.writing() as connection:
        stones = {name: _stone(shop, connection, name, book, today) for name in names}
        kept = 0
        for name, stone in stones.items():
            demanded = law.take_what_law_keeps(connection, name, stone) if stone.until >= today.isoformat() else None
            kept += demanded is not None
            forgetting.forget(connection, name, stone, reasons=reasons, kept=demanded)
    WalkLinks(shop.store.folder).forget(names)
    shop.traces = forgetting.sweep(shop.store)
    return kept


def _stone(shop: Shop, connection, name: str, book: Tables, today: date) -> Forgotten:
    """Return the mark that stays of a visit, with what tax law demands of its job."""
    title = people.title_of(connection, name)
    if title is None:
        raise visits.no_visit(name)
    stone = Forgotten(mark=mark_of("visit", name), how=ERASED, day=today.isoformat())
    steps = _steps(connection, name)
    if not _agreed(steps, book) or entries.is_demo(connection, name):
        return stone
    row = years_of(shop, book, ORDER)
    if row is None:
        raise StoreError([Problem("people", 0, title, NO_COUNTRY)])
    if steps[-1].stage in {stage.id for stage in book.stages if stage.in_hand}:
        raise StoreError([Problem("people", 0, title, STILL_OPEN)])
    until = date(steps[-1].day.year + row.years, 12, 31)
    return replace(stone, until=until.isoformat(), law=row.source)


def throw_away(shop: Shop, name: str, book: Tables, today: date) -> None:
    """Throw a visit away that was made by mistake, with all that was entered there; nothing of it stays.

    Raises
    ------
    StoreError
        If work was agreed on there.
    """
    with shop.store.writing() as connection:
        title = people.title_of(connection, name)
        if title is None:
            raise visits.no_visit(name)
        if _agreed(_steps(connection, name), book):
            raise StoreError([Problem("people", 0, title, AGREED)])
        stone = Forgotten(mark=mark_of("visit", name), how=THROWN_AWAY, day=today.isoformat())
        forgetting.forget(connection, name, stone, reasons=())
    WalkLinks(shop.store.folder).forget([name])
    shop.traces = forgetting.sweep(shop.store)


def unspoken_files(shop: Shop, now: datetime) -> Unspoken:
    """Return the files of photos and the like that nobody speaks of, and databases that were set aside long ago."""
    with shop.store.reading() as connection:
        return unspoken.unspoken(connection, shop.store.folder, now)


def clean(shop: Shop, now: datetime) -> tuple[int, int]:
    """Let go what tax law keeps no longer, and files nobody speaks of; return how many of each."""
    with shop.store.writing() as connection:
        over = law.let_go(connection, now.astimezone().date())
        if over:
            forgetting.note_sweep(connection)
    shop.traces = forgetting.sweep(shop.store)
    found = unspoken_files(shop, now)
    with in_plain_words("photos"):
        unspoken.remove(found)
    return over, found.count


def let_old_copies_go(shop: Shop, today: date) -> tuple[int, int]:
    """Make a copy of the store as it is now, then remove all older ones, which still hold who was forgotten.

    Returns
    -------
    number : int
        Of the new copy.
    gone : int
        How many older ones were removed.

    Raises
    ------
    StoreError
        If the copy can't be made, or isn't sound; nothing is removed then.
    """
    made = shop.back_up_now(today)
    with in_plain_words("backups"):
        return made.number, backups.remove_older(shop.store.folder, made)
