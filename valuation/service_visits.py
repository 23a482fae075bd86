"""What can be done with the shop's visits: the screens and the command line call this and nothing below it.

Never reads the clock or draws chance but for fresh ids: `now` and `today` come in. Every entry is on the disk when
the call returns. A `Shop` may be used by several threads and sessions at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid4, uuid5

from sqlalchemy import Connection

from valuation import service
from valuation.core.rows import Tables
from valuation.core.visit import Visit
from valuation.errors import Problem, StoreError, UserError, VisitError
from valuation.files.recorded_visit import Photo, RecordedVisit, check_value, finding_value, from_visit, to_visit
from valuation.record import REQUIRED, Card, Entry, first_id, one_line, plain_value, why_not_entry
from valuation.store import Store, backups, entries, open_store, visits
from valuation.store.connect import from_environment
from valuation.store.faults import in_plain_words

__all__ = [
    "SORTS",
    "Card",
    "Entry",
    "Photo",
    "RecordedVisit",
    "Shop",
    "StoreError",
    "UserError",
    "VisitError",
    "check_value",
    "finding_value",
    "from_visit",
    "open_shop",
]

SORTS = entries.SORTS
"""By what a list may be sorted: ``changed`` and ``day`` newest first, the others rising, what is not known last."""

_OWN = "store."
"""Settings whose names begin so are the store's own and not exported."""

_STARTED = f"{_OWN}started"
_LATER = "later"
"""Stands for the field of an undo until it is known."""

_DEMO = uuid5(NAMESPACE_URL, "demo workshop of valuation")


def open_shop(environ: Mapping[str, str], today: date, *, with_demo: bool = True) -> Shop:
    """Open the shop's store, with the invented visits in it where it is opened for the very first time.

    Parameters
    ----------
    environ : mapping
        ``VALUATION_DATA`` is the folder, ``DATABASE_URL`` a PostgreSQL database; see `open_store` for neither.
    today : date
        For the backup of the day.
    with_demo : bool
        Whether a new store begins with the demo; if not, it never does by itself.

    Raises
    ------
    StoreError
        If the store can't be used; says what to do.
    """
    shop = Shop(store=open_store(*from_environment(environ)))
    try:
        shop._begin(with_demo=with_demo)
        shop.back_up(today)
    except BaseException:
        shop.close()
        raise
    return shop


@dataclass(slots=True, kw_only=True)
class Shop:
    """An open shop.

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

    def close(self) -> None:
        """Let go of the store."""
        self.store.close()

    # --- visits

    def list_visits(
        self,
        search: str = "",
        kind: str = "",
        sort: str = "changed",
        limit: int = 50,
        offset: int = 0,
        demo: bool | None = None,
    ) -> tuple[list[Card], int]:
        """Return cards of visits, and how many fit in all.

        Parameters
        ----------
        search : str
            Words, each of which stands in the title, the maker, the place, the client's name or the serial number.
        kind : str
            ``upright`` or ``grand``; both if empty.
        sort : str
            One of `SORTS`.
        limit, offset : int
            How many, and after how many.
        demo : bool or None
            Only the invented ones, only the others, or both.
        """
        with self.store.reading() as connection:
            return entries.cards(connection, search=search, kind=kind, sort=sort, limit=limit, offset=offset, demo=demo)

    def start_visit(
        self,
        facts: Mapping[str, Any],
        *,
        who: str,
        device: str,
        now: datetime,
        visit_id: str = "",
        tables: Tables | None = None,
    ) -> str:
        """Start a visit with what is known, and return its id.

        Parameters
        ----------
        facts : mapping of field to value
            With ``piano.kind`` at least; the title and the date are made up from `now` if left out.
        who, device : str
            Person and device.
        now : datetime
            With its zone, in which the day is taken.
        visit_id : str, optional
            32 hexadecimal digits; a visit started twice under one id is started once.
        tables : Tables, optional
            The shop's tables, for a check of every fact.

        Raises
        ------
        VisitError
            If the kind is missing or a fact is refused; nothing is stored then.
        """
        day = now.date().isoformat()
        begun = {"date": day, "title": day} | {name: value for name, value in facts.items() if value not in (None, "")}
        if not begun.get("piano.kind"):
            raise VisitError([Problem("visit", 0, "piano.kind", "say whether it is an upright or a grand")])
        name = visit_id or uuid4().hex
        if tables is not None:
            for key, value in begun.items():
                check_value(begun, key, value, tables)
        with self.store.writing() as connection:
            self._start(connection, name, begun, who=who, device=device, at=now, demo=False)
        self._daily(now)
        return name

    def import_visit_text(
        self, text: str, name: str, tables: Tables, *, who: str, device: str, now: datetime, visit_id: str = ""
    ) -> str:
        """Start a visit from the text of a visit file called `name`, and return its id; faults as `service` tells."""
        visit = service.read_visit_text(text, name, tables, now.date())
        return self.start_visit(from_visit(visit), who=who, device=device, now=now, visit_id=visit_id)

    def import_visit(self, visit: Visit, *, who: str, device: str, now: datetime, visit_id: str = "") -> str:
        """Start a visit with all that a `Visit` holds, and return its id."""
        return self.start_visit(from_visit(visit), who=who, device=device, now=now, visit_id=visit_id)

    def open_visit(self, visit: str, tables: Tables) -> RecordedVisit:
        """Return a visit as it stands.

        Raises
        ------
        StoreError
            If there is no such visit.
        """
        return to_visit(self.history(visit), tables)

    def is_demo(self, visit: str) -> bool:
        """Tell whether a visit is an invented one of the demo."""
        with self.store.reading() as connection:
            return entries.is_demo(connection, visit)

    def history(self, visit: str, field: str = "") -> list[Entry]:
        """Return the entries of a visit, or of one of its fields, in the order in which they came."""
        with self.store.reading() as connection:
            return visits.history(connection, visit, field)

    # --- entries

    def put(
        self,
        visit: str,
        field: str,
        value: Any,
        *,
        follows: tuple[str, ...] | None = None,
        who: str,
        device: str,
        now: datetime,
        entry_id: str = "",
        tables: Tables | None = None,
    ) -> Entry | None:
        """Put a value into a field; it is on the disk when this returns.

        Parameters
        ----------
        visit, field : str
            Where; a field may have any name such as ``finding.plate_crack`` or ``wish.colour``.
        value : object
            A JSON value; None for not known, not looked at, or taken away.
        follows : tuple of str, optional
            Ids of the entries that the writer had before them. Left out: whatever stands there now.
        who, device, now : str, str, datetime
            Person, device, and the time with its zone.
        entry_id : str, optional
            32 hexadecimal digits; an entry put twice under one id is put once.
        tables : Tables, optional
            The shop's tables, for a check of the value. Without them it is stored as it is, and set aside on opening
            where it doesn't fit.

        Returns
        -------
        Entry or None
            The entry stored; the one that already says so where nothing changes; None where nothing was there and
            nothing is put.

        Raises
        ------
        VisitError
            If the value or name is refused; nothing is stored then.
        StoreError
            If there is no such visit, or the store can't be written.
        """
        entry = self._entry(visit, field, value, who=who, device=device, now=now, entry_id=entry_id)
        if entry.value in (None, "") and field in REQUIRED:
            raise VisitError([Problem("visit", 0, field, "a visit always has it; change it, but don't leave it empty")])
        check = None if tables is None else lambda values: check_value(values, field, entry.value, tables)
        with self.store.writing() as connection:
            stored = visits.put(connection, entry, follows, check)
        self._daily(now)
        return stored

    def undo(self, visit: str, *, who: str, device: str, now: datetime, entry_id: str = "") -> Entry | None:
        """Take back what a device entered last and what still counts; or one entry, which may itself be an undo.

        Parameters
        ----------
        visit : str
            The visit.
        who, device, now : str, str, datetime
            As for `put`.
        entry_id : str, optional
            Id of the very entry to take back, whoever made it.

        Returns
        -------
        Entry or None
            The new entry, with the value from before in its field; None where there is nothing to take back.
        """
        entry = self._entry(visit, _LATER, None, who=who, device=device, now=now)
        with self.store.writing() as connection:
            stored = visits.undo(connection, entry, entry_id)
        self._daily(now)
        return stored

    def settle(self, visit: str, field: str, chosen_entry_id: str, *, who: str, device: str, now: datetime) -> Entry:
        """Settle a clash: put the value of one of the entries that differ, over all of them.

        Raises
        ------
        StoreError
            If the field has no such entry any more; look again.
        """
        entry = self._entry(visit, field, None, who=who, device=device, now=now)
        with self.store.writing() as connection:
            stored = visits.settle(connection, entry, chosen_entry_id)
        self._daily(now)
        return stored

    # --- the demo, settings, backup

    def has_demo(self) -> bool:
        """Tell whether there are invented visits."""
        return self.list_visits(limit=1, demo=True)[1] > 0

    def load_demo(self) -> int:
        """Put in those invented visits that aren't there, marked as such; return how many."""
        with self.store.writing() as connection:
            return self._load_demo(connection)

    def remove_demo(self) -> int:
        """Remove the invented visits with all that was entered there, and nothing else; return how many."""
        with self.store.writing() as connection:
            return entries.remove_demo(connection)

    def setting(self, name: str, usual: Any = None) -> Any:
        """Return a setting; `usual` where it was never set."""
        with self.store.reading() as connection:
            value = entries.setting(connection, name)
        return usual if value is None else value

    def set_setting(self, name: str, value: Any) -> None:
        """Set a setting to a JSON value."""
        try:
            plain = plain_value(value)
        except ValueError as fault:
            raise StoreError([Problem("settings", 0, name, str(fault))]) from None
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

    # --- within

    def _daily(self, now: datetime) -> None:
        if self._backed_up_on is None or now.date() > self._backed_up_on:
            self.back_up(now.date())

    def _begin(self, *, with_demo: bool) -> None:
        with self.store.reading() as connection:
            if entries.setting(connection, _STARTED):
                return
        with self.store.writing() as connection:
            if entries.set_if_new(connection, _STARTED, True) and with_demo:
                self._load_demo(connection)

    def _load_demo(self, connection: Connection) -> int:
        tables = service.load_shop()
        new = 0
        for _, path in service.demo_visits():
            visit = service.read_visit_file(path, tables, date.max)  # whatever the clock says: they are invented
            at = datetime.combine(visit.on, time(12), UTC)
            name = uuid5(_DEMO, path.stem).hex
            facts = from_visit(visit)
            new += self._start(connection, name, facts, who=visit.technician, device="demo", at=at, demo=True)
        return new

    def _start(
        self,
        connection: Connection,
        name: str,
        facts: Mapping[str, Any],
        *,
        who: str,
        device: str,
        at: datetime,
        demo: bool,
    ) -> bool:
        """Start a visit within a transaction; return whether it is new. One that is there stays as it is."""
        begun = [
            self._entry(name, key, value, who=who, device=device, now=at, entry_id=first_id(name, key))
            for key, value in facts.items()
        ]
        return visits.start(connection, name, begun, demo=demo, at=at, who=one_line(who))

    def _entry(
        self, visit: str, field: str, value: Any, *, who: str, device: str, now: datetime, entry_id: str = ""
    ) -> Entry:
        """Return a checked entry, under a fresh id where none is given."""
        try:
            plain = plain_value(value)
        except ValueError as fault:
            raise VisitError([Problem("visit", 0, field, str(fault))]) from None
        names = {"who": one_line(who), "device": one_line(device)}
        entry = Entry(id=entry_id or uuid4().hex, visit=visit, at=now, field=field, value=plain, **names)
        if fault := why_not_entry(entry):
            raise VisitError([Problem("visit", 0, field, fault)])
        return entry
