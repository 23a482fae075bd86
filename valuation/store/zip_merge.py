"""Taking in an export: what is new comes in, what is there stays, and both are told. All or nothing."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, fields, replace
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from valuation.errors import Problem, StoreError
from valuation.record import Entry, Paper, by_field, clash, unfit, value_text
from valuation.record.nameless import mark_of
from valuation.record.photo_fields import photo_hash
from valuation.record.shop_tables import BROUGHT, COUNTS
from valuation.store import entries, law, papers, photos, shop_tables
from valuation.store.connect import Store
from valuation.store.faults import in_plain_words
from valuation.store.forgetting import note_sweep
from valuation.store.stones import CORRECTED, remember, stones
from valuation.store.zip_format import SHOP_TABLES
from valuation.store.zip_in import VisitIn, ZipIn, opened
from valuation.store.zip_papers import paper_to_plain
from valuation.waiting import Heard, between, nobody

_PHOTOS_SHARE = 0.6
"""So much of the time of an import is taken for its photos [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ImportReport:
    """What was new in an export, and what was there.

    Attributes
    ----------
    visits_new, visits_merged, visits_there : int
        Visits that were not here; that were, and have new entries now; that had all entries already.
    visits_forgotten : int
        Visits that were forgotten here: nothing of them came in; or there, and were forgotten here, too.
    clashes : int
        Fields of merged visits in which what came in and what was here differ: somebody must settle them.
    photos_lost : int
        Photos that some visit speaks of and that are neither in the file nor here.
    papers_alike : int
        Papers that came in and bear a number that another paper of the visit bears too: they were made without
        knowing of each other.
    set_aside : int
        Entries that came in with a value that doesn't fit its field: kept, and counted nowhere.
    tables_new : int
        Tables that came in with the days from which they were in force, where this store had none of its own.
    tables_brought : int
        Tables that came in and are not in force, since this store has its own.
    settings_new, settings_there : int
        Settings that were set here already stay as they are.
    """

    visits_new: int = 0
    visits_forgotten: int = 0
    visits_merged: int = 0
    visits_there: int = 0
    entries_new: int = 0
    entries_there: int = 0
    clashes: int = 0
    photos_new: int = 0
    photos_there: int = 0
    photos_lost: int = 0
    papers_new: int = 0
    papers_there: int = 0
    papers_alike: int = 0
    set_aside: int = 0
    tables_new: int = 0
    tables_brought: int = 0
    settings_new: int = 0
    settings_there: int = 0

    def __add__(self, other: ImportReport) -> ImportReport:
        names = [field.name for field in fields(self)]
        return ImportReport(**{name: getattr(self, name) + getattr(other, name) for name in names})


def import_zip(store: Store, path: Path, *, now: datetime, own: str, heard: Heard = nobody) -> ImportReport:
    """Take in an export; a visit that is here too is merged entry by entry.

    Parameters
    ----------
    store : Store
        Where it goes.
    path : Path
        The file.
    now : datetime
        When the photos came.
    own : str
        Settings whose names begin so are never taken in.
    heard : callable
        Is told how far it is: first the photos come in, then the visits.

    Returns
    -------
    ImportReport
        What was new and what was there.

    Raises
    ------
    StoreError
        If the file is no export, is damaged, or contradicts what is here; nothing is taken in then.
    """
    with in_plain_words(path.name), opened(path) as file:
        with store.reading() as connection:  # before the photos, which are no part of what can be taken back
            coming = _coming(connection, file)
            for paper in (file.paper(name)[0] for name in file.papers):
                if paper.visit not in coming.gone:
                    _check_paper(connection, file, paper, path.name)
        report, sizes = _keep_photos(store, file, coming.photos, between(heard, 0, _PHOTOS_SHARE))
        with store.writing() as connection:
            for name, (size, width, height) in sizes.items():
                photos.remember(connection, name, size, width, height, now)
            corrected = {stone.mark for stone in stones(connection) if stone.how == CORRECTED}
            merging = between(heard, _PHOTOS_SHARE, 1)
            for number, name in enumerate(file.visits):
                merging(number / len(file.visits))
                if entries.is_forgotten(connection, "visit", name):
                    report += ImportReport(visits_forgotten=1)
                    continue
                report += _merge(connection, file.visit(name), path.name, corrected)
                report += ImportReport(photos_lost=_lost_photos(store, file, name))
            report += _add_papers(connection, file, path.name, now)
            report += _add_shop_tables(connection, file, path.name)
            if remember(connection, file.stones):
                note_sweep(connection)  # whoever opened the store forgets what of it is here
            law.add_new(connection, [file.kept(name) for name in file.law])
            for name, value in file.settings.items():
                if not name.startswith(own):
                    new = entries.set_if_new(connection, name, value)
                    report += ImportReport(settings_new=new, settings_there=not new)
    return report


@dataclass(frozen=True, slots=True, kw_only=True)
class _Coming:
    """What of a file may come in: the visits that may not, because they were forgotten here; the photos that may."""

    gone: frozenset[str]
    photos: tuple[str, ...]


def _coming(connection: Connection, file: ZipIn) -> _Coming:
    gone = frozenset(name for name in file.visits if entries.is_forgotten(connection, "visit", name))
    if not gone:
        return _Coming(gone=gone, photos=tuple(file.photos))
    spoken = {photo_hash(e.field) for name in file.visits if name not in gone for e in file.visit(name).entries}
    made = [file.paper(name)[0] for name in file.papers]
    spoken |= {shown for paper in made if paper.visit not in gone for shown in paper.photos}
    return _Coming(gone=gone, photos=tuple(name for name in file.photos if name in spoken))


def _keep_photos(
    store: Store, file: ZipIn, names: Sequence[str], heard: Heard
) -> tuple[ImportReport, dict[str, tuple[int, int, int]]]:
    """Write the photos that aren't here, before anything speaks of them; return how many, and the sizes of all."""
    report, sizes = ImportReport(), {}
    for number, name in enumerate(names):
        heard(number / len(names))
        jpeg, width, height = file.photo(name)
        there = photos.is_whole(store.folder, name)
        with in_plain_words("photos"):
            photos.keep(store.folder, jpeg)
        report += ImportReport(photos_new=not there, photos_there=there)
        sizes[name] = (len(jpeg), width, height)
    return report, sizes


def _lost_photos(store: Store, file: ZipIn, visit: str) -> int:
    """Return how many photos of a visit are neither in the file nor here."""
    fields_in = {entry.field for entry in file.visit(visit).entries}
    names = {photo_hash(field) for field in fields_in}
    return sum(photos.is_hash(name) and not photos.is_whole(store.folder, name) for name in names)


def _merge(connection: Connection, visit: VisitIn, name: str, corrected: Collection[str]) -> ImportReport:
    new = entries.add_visit(
        connection, visit.id, demo=visit.demo, at=visit.created_at, who=visit.created_by, kept_as=visit.kept_as
    )
    if entries.lock_visit(connection, visit.id) == entries.NAMELESS and not new:
        return ImportReport(visits_there=1, entries_there=len(visit.entries))
    there = entries.entries_with(connection, [entry.id for entry in visit.entries])
    for entry in visit.entries:
        if entry.id in there and not _same(entry, there[entry.id]):
            message = (
                f"entry {entry.id} says something else than the one of this id that is here; nothing was taken in."
                " One of the two was changed from outside"
            )
            raise StoreError([Problem(name, 0, f"visits/{visit.id}.json", message)])
    fresh = [entry for entry in visit.entries if entry.id not in there]
    if corrected:
        fresh = [entry for entry in fresh if mark_of("entry", entry.id) not in corrected]
    if fresh:
        entries.add_entries(connection, fresh)
    touched = {entry.field for entry in fresh}
    clashes = 0
    if touched and not new:
        fields_of = by_field(entries.entries_of(connection, visit.id))
        clashes = sum(bool(clash(fields_of[field])) for field in touched)
    return ImportReport(
        visits_new=new,
        visits_merged=bool(fresh) and not new,
        visits_there=not fresh and not new,
        entries_new=len(fresh),
        entries_there=len(there),
        clashes=clashes,
        set_aside=sum(bool(unfit(entry)) for entry in fresh),
    )


def _add_papers(connection: Connection, file: ZipIn, name: str, now: datetime) -> ImportReport:
    """Add the papers that aren't here, with the tables that they were made with."""
    for tables in file.tables:
        papers.keep_tables(connection, tables, file.tables_files(tables), now)
    report = ImportReport()
    for id_ in file.papers:
        paper, pdf = file.paper(id_)
        if entries.is_forgotten(connection, "visit", paper.visit):
            continue
        _check_paper(connection, file, paper, name)
        if papers.with_id(connection, id_) is not None:
            report += ImportReport(papers_there=1)
            continue
        alike = any(other.number == paper.number for other in papers.of_visit(connection, paper.visit))
        papers.add(connection, paper, pdf)
        report += ImportReport(papers_new=1, papers_alike=alike)
    return report


def _add_shop_tables(connection: Connection, file: ZipIn, name: str) -> ImportReport:
    """Add which tables were in force there; here nothing else is in force for it, but where nothing was yet."""
    shop_tables.lock(connection)
    there = shop_tables.changes(connection)
    missing = [c for c in file.changes if c.hash not in file.tables and not papers.has_tables(connection, c.hash)]
    if missing:
        message = f"the tables {missing[0].hash[:8]} are neither in the file nor here; nothing was taken in"
        raise StoreError([Problem(name, 0, SHOP_TABLES, message)])
    known, hashes = {change.id for change in there}, {change.hash for change in there}
    fresh = [change for change in file.changes if change.id not in known]
    if there:
        fresh = [replace(c, state=BROUGHT) for c in fresh if c.state == COUNTS and c.hash not in hashes]
    for change in fresh:
        shop_tables.add_change(connection, change)
    for edit, done in file.edits:
        if shop_tables.add_edits(connection, [edit]) and done:
            shop_tables.close_edits(connection, [edit.id], done)
    return ImportReport(tables_brought=len(fresh)) if there else ImportReport(tables_new=len(fresh))


def _check_paper(connection: Connection, file: ZipIn, paper: Paper, name: str) -> None:
    """Refuse a paper that says something else than the one here, or whose visit or tables are nowhere."""
    there = papers.with_id(connection, paper.id)
    if there is not None and value_text(paper_to_plain(there)) != value_text(paper_to_plain(paper)):
        fault = "it says something else than the one of this id that is here"
    elif paper.visit not in file.visits and not entries.has_visit(connection, paper.visit):
        fault = "its visit is neither in the file nor here"
    elif paper.tables_hash not in file.tables and not papers.has_tables(connection, paper.tables_hash):
        fault = "the tables that it was made with are neither in the file nor here"
    else:
        return
    raise StoreError([Problem(name, 0, f"papers/{paper.id}.json", f"{fault}; nothing was taken in")])


def _same(one: Entry, other: Entry) -> bool:
    """Tell whether two entries say the same; 1, 1.0 and true are not the same."""
    return one == other and value_text(one.value) == value_text(other.value)
