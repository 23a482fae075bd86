"""What concerns the shop's store as a whole: opening, settings, backup, photos' files, export and import, the demo."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Self
from uuid import NAMESPACE_URL, uuid4, uuid5

from sqlalchemy import Connection

from valuation import __version__, service
from valuation.disk import require_place
from valuation.engine.rows import Tables
from valuation.errors import Problem, StoreError, VisitError
from valuation.facts import setting_fault
from valuation.facts.kinds import FIRST_DAY, last_day
from valuation.files.recorded_visit import from_visit
from valuation.record import Entry, first_id, one_line, plain_value, unfit, why_not_entry
from valuation.service import shop_tables
from valuation.service.shop_tables import InForce
from valuation.store import Store, backups, entries, forgetting, open_store, photos, pictures, visits
from valuation.store.connect import from_environment
from valuation.store.copies import Copy
from valuation.store.faults import in_plain_words
from valuation.store.photos import PhotoReport
from valuation.store.zip_merge import ImportReport, import_zip
from valuation.store.zip_out import ExportReport, export_zip
from valuation.waiting import Heard, nobody

TABLES_FOLDER = "VALUATION_TABLES"
"""Environment variable that names a folder of tables, to be taken over where the shop has none of its own yet."""

OWN_FOLDER = "tables"
"""Folder of the shop's own tables beside its store, as earlier versions of this program kept them."""

TAKEN_OVER = "tables_taken_over"
"""Name of that folder once the store has taken it over."""

_OWN = "store."
"""Settings whose names begin so are the store's own: they don't go out with an export."""

_DEMO_JOBS = service.DEMO.parent / "jobs" / "jobs.json"
"""What became of the invented evaluations, by the names of their visit files."""

_STARTED = f"{_OWN}started"
_DEMO = uuid5(NAMESPACE_URL, "demo workshop of valuation")


@dataclass(slots=True, kw_only=True)
class ShopStore:
    """The open store of a shop.

    Attributes
    ----------
    store : Store
        Where it is kept.
    tables_folder : Path or None
        A folder of tables that the environment names.
    backup_fault : str
        Why the last backup could not be made, empty if it could.
    traces : str
        Why what was forgotten may still be in files; empty if it isn't.
    """

    store: Store
    tables_folder: Path | None = None
    backup_fault: str = ""
    traces: str = ""
    _backed_up_on: date | None = field(default=None, repr=False)

    @classmethod
    def open(cls, environ: Mapping[str, str], today: date, *, with_demo: bool) -> Self:
        """Open it as `open_shop` says."""
        shop = cls.opened(environ)
        try:
            shop._begin(with_demo=with_demo)
            shop._take_tables_over(today)
            shop._keep_cards_within(today)
            shop.forget_again(today)
            shop.back_up(today)
        except BaseException:
            shop.close()
            raise
        return shop

    @classmethod
    def opened(cls, environ: Mapping[str, str]) -> Self:
        """Open it and do nothing else."""
        tables = environ.get(TABLES_FOLDER, "")
        return cls(store=open_store(*from_environment(environ)), tables_folder=Path(tables) if tables else None)

    def close(self) -> None:
        """Let go of the store."""
        self.store.close()

    # --- settings and backup

    def setting(self, name: str, usual: Any = None) -> Any:
        """Return a setting; `usual` where it was never set, or holds what can't stand there."""
        with self.store.reading() as connection:
            value = entries.setting(connection, name)
        return usual if value is None or setting_fault(name, value) else value

    def set_setting(self, name: str, value: Any) -> None:
        """Set a setting to a JSON value."""
        try:
            plain = plain_value(value)
        except ValueError as fault:
            raise StoreError([Problem("settings", 0, name, str(fault))]) from None
        if why := setting_fault(name, plain):
            raise StoreError([Problem("settings", 0, name, why)])
        with self.store.writing() as connection:
            entries.set_setting(connection, name, plain)

    def back_up(self, day: date) -> Copy | None:
        """Make the copy of a day if there is none; a failure is kept in `backup_fault`, for it must stop nobody.

        A PostgreSQL database is copied when somebody asks for it, as by `back_up_now`: its tools may be elsewhere.
        """
        self._backed_up_on = day
        if self.store.database is None or backups.copy_of_day(self.store.folder, day):
            return None
        try:
            return self._copied(day, backups.DAILY)
        except StoreError as fault:
            self.backup_fault = str(fault)
            return None

    def back_up_now(self, day: date) -> Copy:
        """Make a copy, whatever others there are.

        Raises
        ------
        StoreError
            If the database is damaged, or the copy can't be written; no copy was made, and none let go.
        """
        return self._copied(day, backups.ASKED)

    def _copied(self, day: date, why: str) -> Copy:
        database, url = self.store.database, self.store.engine.url
        write = backups.sqlite_file(database) if database else backups.postgres_database(url)
        with in_plain_words("backups"):
            made = backups.back_up(write, self.store.folder, day, why)
        self.backup_fault = ""
        return made

    # --- photos

    def photo_path(self, name: str, *, thumbnail: bool = False) -> Path | None:
        """Return the file of a photo, or of its thumbnail; None where it is missing or damaged."""
        if not photos.is_hash(name):
            return None
        whole, small = (photos.path_of(self.store.folder, name, thumbnail=side) for side in (False, True))
        if not thumbnail:
            return whole if whole.exists() else None
        if not small.exists():
            try:
                photos.write_whole(small, pictures.make_thumbnail(whole.read_bytes()))
            except (OSError, pictures.NoPhoto):
                return None
        return small

    def photo_report(self, heard: Heard = nobody) -> PhotoReport:
        """Read every photo that a visit speaks of, and report those that are missing or damaged."""
        with self.store.reading() as connection:
            wanted = photos.spoken_of(connection)
        return photos.look_through(self.store.folder, wanted, heard)

    # --- export, import

    def export_zip(self, path: Path, *, now: datetime, passphrase: str = "") -> ExportReport:
        """Write everything to one file; see `valuation.store.zip_format`. With a passphrase it is locked."""
        made_by = f"valuation {__version__}"
        if not passphrase:
            return export_zip(self.store, path, now=now, made_by=made_by, own=_OWN)
        # here, not above: whoever locks nothing needs none of it
        from valuation.store.locked import check_passphrase, lock

        check_passphrase(passphrase)
        database = self.store.database
        require_place(path, (".locked",), "a locked shop is", inputs=[database] if database else [])
        with in_plain_words(path.name), TemporaryDirectory() as place:
            plain = Path(place) / "export.zip"
            report = export_zip(self.store, plain, now=now, made_by=made_by, own=_OWN)
            lock(plain, path, passphrase)
        return report

    def import_zip(self, path: Path, *, now: datetime, passphrase: str = "", heard: Heard = nobody) -> ImportReport:
        """Take in such a file, with its passphrase if it is locked: what is new comes in, what is here stays."""
        if not passphrase:
            return self._taken_in(path, now, heard)
        from valuation.store.locked import unlock

        with in_plain_words(path.name), TemporaryDirectory() as place:
            plain = Path(place) / path.name
            unlock(path, plain, passphrase)
            return self._taken_in(plain, now, heard)

    def _taken_in(self, path: Path, now: datetime, heard: Heard) -> ImportReport:
        report = import_zip(self.store, path, now=now, own=_OWN, heard=heard)
        return report + ImportReport(visits_forgotten=self.forget_again(now.astimezone().date()))

    # --- what was forgotten

    def forget_again(self, today: date) -> int:
        """Forget what an old copy or an import brought back; return how many visits that were."""
        back = forgetting.reconcile(self.store, lambda: self.reasons(today), today)
        self.traces = forgetting.sweep(self.store)
        return back

    def reasons(self, today: date) -> frozenset[str]:
        """Return the ids of the reasons that the tables know, those of the shop and the packaged ones."""
        return frozenset(row.id for book in (service.load_shop(), self.tables(today)) for row in book.reasons)

    # --- the shop's tables

    def tables_in_force(self, on: date) -> InForce:
        """Return the shop's tables in force on a day, with all that is known of them."""
        return shop_tables.in_force(self.store, on)

    def tables(self, on: date) -> Tables:
        """Return the shop's tables in force on a day."""
        return self.tables_in_force(on).tables

    # --- the demo

    def has_demo(self) -> bool:
        """Tell whether there are invented visits."""
        with self.store.reading() as connection:
            return entries.has_demo(connection)

    def load_demo(self) -> int:
        """Put in those invented visits that aren't there, marked as such; return how many."""
        with self.store.writing() as connection:
            return _load_demo(connection)

    def remove_demo(self) -> int:
        """Remove the invented visits with all that was entered there, and nothing else; return how many."""
        with self.store.writing() as connection:
            return entries.remove_demo(connection)

    # --- within

    def _begin(self, *, with_demo: bool) -> None:
        """Load the demo where the store is opened for the very first time, by whichever process is quickest."""
        with self.store.reading() as connection:
            if entries.setting(connection, _STARTED):
                return
        with self.store.writing() as connection:
            if entries.set_if_new(connection, _STARTED, True) and with_demo:
                _load_demo(connection)

    def _take_tables_over(self, today: date) -> None:
        """Take over, once, a folder of tables that an earlier version left or the environment names."""
        left = self.store.folder / OWN_FOLDER
        folder = self.tables_folder or left
        if not folder.is_dir() or shop_tables.history(self.store):
            return
        shop_tables.take_over(self.store, folder, now=datetime.combine(today, time(12), UTC))
        if folder == left:
            with in_plain_words(OWN_FOLDER):
                left.rename(self.store.folder / TAKEN_OVER)

    def _keep_cards_within(self, today: date) -> None:
        """Make the cards anew that show days which today's gate doesn't let through: older versions let them in."""
        bounds = FIRST_DAY, last_day(today)
        with self.store.reading() as connection:
            if not entries.cards_beyond(connection, *bounds):
                return
        with self.store.writing() as connection:
            for name in entries.cards_beyond(connection, *bounds):
                entries.renew_card(connection, name)

    def _daily(self, now: datetime) -> None:
        today = now.astimezone().date()
        if today != self._backed_up_on:  # earlier, too: the clock may have been wrong
            self.back_up(today)


def new_entry(visit: str, name: str, value: Any, *, who: str, device: str, now: datetime, entry_id: str = "") -> Entry:
    """Return a checked entry, under a fresh id where none is given.

    Raises
    ------
    VisitError
        If the value or a name can't be stored, or the value doesn't fit its field.
    """
    try:
        plain = plain_value(value)
    except ValueError as fault:
        raise VisitError([Problem("visit", 0, name, str(fault))]) from None
    entry = Entry(
        id=entry_id or uuid4().hex,
        visit=visit,
        at=now,
        who=one_line(who),
        device=one_line(device),
        field=name,
        value=plain,
    )
    if why := why_not_entry(entry) or unfit(entry):
        raise VisitError([Problem("visit", 0, name, why)])
    return entry


def start(
    connection: Connection, visit: str, facts: Mapping[str, Any], *, who: str, device: str, at: datetime, demo: bool
) -> bool:
    """Start a visit within a transaction; return whether it is new. One that is there stays as it is."""
    begun = [
        new_entry(visit, key, value, who=who, device=device, now=at, entry_id=first_id(visit, key))
        for key, value in facts.items()
    ]
    return visits.start(connection, visit, begun, demo=demo, at=at, who=one_line(who))


def _load_demo(connection: Connection) -> int:
    tables = service.load_shop()
    jobs = json.loads(_DEMO_JOBS.read_text(encoding="utf-8"))
    new = 0
    for _, path in service.demo_visits():
        visit = service.read_visit_file(path, tables, date.max)  # whatever the clock says: they are invented
        at = datetime.combine(visit.on, time(12), UTC)
        name = uuid5(_DEMO, path.stem).hex
        if entries.is_forgotten(connection, "visit", name):
            continue  # as somebody may have tried it on the demo
        facts = from_visit(visit) | jobs.get(path.stem, {})
        new += start(connection, name, facts, who=visit.technician, device="demo", at=at, demo=True)
    return new
