"""What concerns the shop's store as a whole: opening, settings, backup, photos' files, export and import, the demo."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any, Self
from uuid import NAMESPACE_URL, uuid4, uuid5

from sqlalchemy import Connection

from valuation import __version__, service
from valuation.errors import Problem, StoreError, VisitError
from valuation.facts import setting_fault
from valuation.facts.kinds import FIRST_DAY, last_day
from valuation.files.recorded_visit import from_visit
from valuation.record import Entry, first_id, one_line, plain_value, unfit, why_not_entry
from valuation.store import Store, backups, entries, open_store, photos, pictures, visits
from valuation.store.connect import from_environment
from valuation.store.faults import in_plain_words
from valuation.store.photos import PhotoReport
from valuation.store.zip_merge import ImportReport, import_zip
from valuation.store.zip_out import ExportReport, export_zip

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
    backup_fault : str
        Why the last backup could not be made, empty if it could.
    """

    store: Store
    backup_fault: str = ""
    _backed_up_on: date | None = field(default=None, repr=False)

    @classmethod
    def open(cls, environ: Mapping[str, str], today: date, *, with_demo: bool) -> Self:
        """Open it as `open_shop` says."""
        shop = cls(store=open_store(*from_environment(environ)))
        try:
            shop._begin(with_demo=with_demo)
            shop._keep_cards_within(today)
            shop.back_up(today)
        except BaseException:
            shop.close()
            raise
        return shop

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
        if fault := setting_fault(name, plain):
            raise StoreError([Problem("settings", 0, name, fault)])
        with self.store.writing() as connection:
            entries.set_setting(connection, name, plain)

    def back_up(self, day: date) -> Path | None:
        """Make the backup of a day if there is none; a failure is kept in `backup_fault`, for it must stop nobody."""
        self._backed_up_on = day
        if self.store.database is None:
            return None
        try:
            with in_plain_words("backups"):
                made = backups.daily(self.store.database, self.store.folder, day)
        except StoreError as fault:
            self.backup_fault = str(fault)
            return None
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

    def photo_report(self) -> PhotoReport:
        """Read every photo that a visit speaks of, and report those that are missing or damaged."""
        with self.store.reading() as connection:
            wanted = photos.spoken_of(connection)
        return photos.look_through(self.store.folder, wanted.items())

    # --- export, import

    def export_zip(self, path: Path, *, now: datetime) -> ExportReport:
        """Write everything to one file; see `valuation.store.zip_format`."""
        return export_zip(self.store, path, now=now, made_by=f"valuation {__version__}", own=_OWN)

    def import_zip(self, path: Path, *, now: datetime) -> ImportReport:
        """Take in such a file: what is new comes in, what is here stays."""
        return import_zip(self.store, path, now=now, own=_OWN)

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

    def _keep_cards_within(self, today: date) -> None:
        """Make the cards anew that show days which today's gate doesn't let through: older versions let them in."""
        bounds = FIRST_DAY, last_day(today)
        with self.store.reading() as connection:
            if not entries.cards_beyond(connection, *bounds):
                return
        with self.store.writing() as connection:
            for name in entries.cards_beyond(connection, *bounds):
                entries.make_card(connection, name)

    def _daily(self, now: datetime) -> None:
        if self._backed_up_on is None or now.date() > self._backed_up_on:
            self.back_up(now.date())


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
    names = {"who": one_line(who), "device": one_line(device)}
    entry = Entry(id=entry_id or uuid4().hex, visit=visit, at=now, field=name, value=plain, **names)
    if fault := why_not_entry(entry) or unfit(entry):
        raise VisitError([Problem("visit", 0, name, fault)])
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
        facts = from_visit(visit) | jobs.get(path.stem, {})
        new += start(connection, name, facts, who=visit.technician, device="demo", at=at, demo=True)
    return new
