"""What can be done with the shop's visits: the screens and the command line call this and nothing below it.

Never reads the clock or draws chance but for fresh ids: `now` and `today` come in. Every entry is on the disk when
the call returns. A `Shop` may be used by several threads and sessions at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import uuid4

from valuation.engine.rows import Tables
from valuation.errors import Problem, StoreError, UserError, VisitError
from valuation.facts.visit import Visit
from valuation.files.recorded_visit import Photo, RecordedVisit, check_value, finding_value, from_visit, to_visit
from valuation.files.set_levels import allowed_levels, offered_levels
from valuation.record import REQUIRED, Card, Entry
from valuation.record.photo_fields import PHOTO, photo_field
from valuation.service.store import ShopStore, new_entry, start
from valuation.store import entries, photos, pictures, visits
from valuation.store.faults import in_plain_words
from valuation.store.photos import LostPhoto, PhotoReport
from valuation.store.zip_format import SHORTEST_PASSPHRASE, is_locked
from valuation.store.zip_merge import ImportReport
from valuation.store.zip_out import ExportReport

__all__ = [
    "PHOTO_ENDINGS",
    "PHOTO_MOST_BYTES",
    "SHORTEST_PASSPHRASE",
    "SORTS",
    "Card",
    "Entry",
    "ExportReport",
    "ImportReport",
    "LostPhoto",
    "Photo",
    "PhotoReport",
    "RecordedVisit",
    "Shop",
    "StoreError",
    "UserError",
    "VisitError",
    "allowed_levels",
    "check_value",
    "finding_value",
    "from_visit",
    "is_locked",
    "offered_levels",
    "open_shop",
]

SORTS = entries.SORTS
"""By what a list may be sorted: ``changed`` and ``day`` newest first, the others rising, what is not known last."""

PHOTO_ENDINGS, PHOTO_MOST_BYTES = pictures.ENDINGS, pictures.MOST_BYTES
"""What a field for photos may take, to be said before it hurts."""

_LATER = "later"
"""Stands for the field of an undo until it is known."""


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
    return Shop.open(environ, today, with_demo=with_demo)


@dataclass(slots=True, kw_only=True)
class Shop(ShopStore):
    """An open shop: its visits and what is entered there."""

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
            start(connection, name, begun, who=who, device=device, at=now, demo=False)
        self._daily(now)
        return name

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

    def has_visit(self, visit: str) -> bool:
        """Tell whether there is such a visit."""
        with self.store.reading() as connection:
            return entries.has_visit(connection, visit)

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
        entry = new_entry(visit, field, value, who=who, device=device, now=now, entry_id=entry_id)
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
        entry = new_entry(visit, _LATER, None, who=who, device=device, now=now)
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
        entry = new_entry(visit, field, None, who=who, device=device, now=now)
        with self.store.writing() as connection:
            stored = visits.settle(connection, entry, chosen_entry_id)
        self._daily(now)
        return stored

    def add_photo(
        self,
        visit: str,
        data: bytes,
        *,
        name: str,
        check: str = "",
        part: str = "",
        caption: str = "",
        who: str,
        device: str,
        now: datetime,
    ) -> Entry | None:
        """Keep a photo and enter what it shows; the same photo of the same thing twice is the same entry.

        The first thing that it shows is the field ``photo.HASH``, another one ``photo.HASH.CHECK``.

        Parameters
        ----------
        visit : str
            The visit.
        data : bytes
            The file as the camera wrote it; what it tells of place and device is left out of what is kept.
        name : str
            Name of the file, under which faults are told.
        check, part, caption : str
            What it shows.
        who, device, now : str, str, datetime
            As for `put`.

        Raises
        ------
        VisitError
            If it can't be kept as a photo; says what to do.
        StoreError
            If the disk can't take it, or there is no such visit.
        """
        try:
            picture = pictures.make_picture(data)
        except pictures.NoPhoto as fault:
            raise VisitError([Problem(name, 0, "", str(fault))]) from None
        with in_plain_words("photos"):
            kept = photos.keep(self.store.folder, picture.jpeg)
            photos.write_whole(photos.path_of(self.store.folder, kept, thumbnail=True), picture.thumbnail)
        value = {"check": check, "part": part, "caption": caption}
        with self.store.writing() as connection:
            there = visits.present_values(connection, visit, f"{PHOTO}{kept}")
            entry = new_entry(visit, photo_field(kept, value, there), value, who=who, device=device, now=now)
            photos.remember(connection, kept, len(picture.jpeg), picture.width, picture.height, entry.at)
            stored = visits.put(connection, entry, None, None)
        self._daily(now)
        return stored
