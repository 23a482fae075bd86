"""What one session holds: one draft under one key. Nothing else in the page names a key of the session.

The draft is a window on a visit in the store. Every entry is stored at once and read back; the session holds only what
the store can't: text that could not be read, an entry that could not be stored, where one stands.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.visit import Finding, Visit
from valuation.screens import shop
from valuation.screens.catching_up import CatchingUp, fill, held, is_held
from valuation.service.visits import (
    Entry,
    Photo,
    RecordedVisit,
    Shop,
    StoreError,
    VisitError,
    allowed_levels,
    finding_value,
)

if TYPE_CHECKING:
    from valuation.service.sales import SalesBook  # loaded with the first sales, not with every page

__all__ = ["fill", "held", "is_held"]  # every page takes them from here, beside the draft

_KEY, _CATCHING_UP = "draft", "catching_up"
_WHO, _DEVICE = "who", "device"
_LEVEL = "pin."
QUICK_LOOK = "quick"
"""Where one begins: the quick look, which settles most cases; then the stations of the walk."""
STANDS = "stands"
"""Key of the box in which stands what was entered at a station."""


@dataclass(frozen=True)
class Unsaved:
    """An entry that the store did not take: kept, so that nobody has to type it again."""

    field: str
    value: object
    why: str


@dataclass
class Draft:
    """One visit on the table.

    Attributes
    ----------
    id : str
        Stands in the key of every widget. A fresh one for each opening, so that an old field's content never
        lands in another visit, nor in this one opened anew.
    visit_id : str
        The visit in the store.
    store : Shop
        Where it is stored.
    book : Tables
        The tables by which it is read.
    recorded : RecordedVisit
        The visit as it is stored now, with who entered what.
    demo : bool
        Invented data.
    typed : dict of str to str
        By field: text that could not be read, kept as it was typed.
    faults : dict of str to tuple of str
        By check or fact: what is wrong with what was typed.
    unsaved : dict of str to Unsaved
        By field of the store: what could not be stored.
    catching : CatchingUp
        What was entered or pressed and is still to be done.
    turns : dict of str to int
        By field of the store: how often it changed otherwise than by typing into its widget. Each time it gets a widget
        of its own: what an old one still sends from the browser then changes nothing.
    system : str
        Units shown: 'metric' or 'imperial'.
    place : str
        Where on the walk one stands.
    sales : SalesBook or None
        The shop's own sales, as far as they were put on the table; they stay when another piano is opened.
    use_sales : bool
        The prices of all pages come from them.
    said : str
        What was done last and is told once.
    made : str
        Id of the paper that was made last, which is handed out beside its button.
    just_read : bool
        The visit was read in this very run, so that nothing can be new in it.
    """

    id: str
    visit_id: str
    store: Shop
    book: Tables
    recorded: RecordedVisit
    demo: bool
    typed: dict[str, str] = field(default_factory=dict)
    faults: dict[str, tuple[str, ...]] = field(default_factory=dict)
    unsaved: dict[str, Unsaved] = field(default_factory=dict)
    catching: CatchingUp = field(default_factory=CatchingUp, repr=False)
    turns: dict[str, int] = field(default_factory=dict)
    system: str = "metric"
    place: str = QUICK_LOOK
    sales: SalesBook | None = None
    use_sales: bool = False
    said: str = ""
    made: str = ""
    just_read: bool = False
    _keys: dict[str, set[str]] = field(default_factory=dict)

    @property
    def visit(self) -> Visit:
        """The visit as it is stored now."""
        return self.recorded.visit

    @property
    def set_levels(self) -> dict[str, str]:
        """Parts whose level a person has set; one that today's tables or this piano don't allow is left out."""
        heads = self.recorded.counted.items()
        wanted = {name.removeprefix(_LEVEL): entry.value for name, entry in heads if name.startswith(_LEVEL)}
        return allowed_levels(wanted, self.visit, self.book)

    @property
    def name(self) -> str:
        """A name for files: the title in letters that every system takes."""
        kept = "".join(c if c.isalnum() else "_" for c in self.visit.title.lower())
        return "_".join(filter(None, kept.split("_")))[:60] or "visit"

    def key(self, name: str) -> str:
        """Return the key of one widget."""
        return f"{name}__{self.id}"

    def field_key(self, name: str, field: str) -> str:
        """Return the key of the widget in which a field of the store is entered now."""
        turn = self.turns.get(field, 0)
        key = self.key(f"{name}_{turn}" if turn else name)
        self._keys.setdefault(field, set()).add(key)
        return key

    def finding(self, check: str) -> Finding | None:
        """Return what was found by one check, None where it was not looked at."""
        return next((f for f in self.visit.findings if f.check == check), None)

    def tried(self, check: CheckRow) -> int:
        """Return how many readings a check is graded by, its own or another check's."""
        finding = self.finding(check.readings_of or check.id)
        return len(finding.readings) if finding else 0

    def photos(self, check: str) -> list[Photo]:
        """Return the photos of one check."""
        return [photo for photo in self.recorded.photos if photo.check == check]

    def record(self, check: str, finding: Finding | None) -> None:
        """Store a finding in the place of the one before; None means not looked at."""
        self.keep(f"finding.{check}", None if finding is None else finding_value(finding))

    def keep(self, field: str, value: object) -> None:
        """Store one entry at once; where the store can't take it, say why and keep it to be tried again."""
        seen = tuple(entry.id for entry in self._before(field))
        self.unsaved.pop(field, None)
        try:
            self.store.put(self.visit_id, field, value, follows=seen, who=who(), device=device(), now=shop.now())
            self._take_in(self.store.open_visit(self.visit_id, self.book), but=field)
        except StoreError as error:
            self.unsaved[field] = Unsaved(field, value, str(error))
        except VisitError as error:
            self.faults[field.removeprefix("finding.")] = tuple(problem.message for problem in error.problems)

    def stored(self, field: str) -> Any:
        """Return what stands in a field of the store; None where nothing is known."""
        entry = self.recorded.counted.get(field)
        return entry.value if entry else None

    def last_entry(self, device: str) -> Entry | None:
        """Return what a device entered last, of all that still stands."""
        own = [entry for entry in self.recorded.heads.values() if entry.device == device]
        return max(own, key=lambda entry: entry.order, default=None)

    def _before(self, field: str) -> tuple[Entry, ...]:
        """Return the entries of a field that the person has on the screen."""
        if field in self.recorded.clashes:
            return self.recorded.clashes[field]
        return (self.recorded.heads[field],) if field in self.recorded.heads else ()

    def try_again(self) -> None:
        """Store what could not be stored before."""
        for waiting in list(self.unsaved.values()):
            self.keep(waiting.field, waiting.value)

    def undo(self) -> Entry | None:
        """Take back this device's last entry; return what was entered for it."""
        undone = self.store.undo(self.visit_id, who=who(), device=device(), now=shop.now())
        if undone is not None:
            self.read(self.book)
        return undone

    def read(self, book: Tables) -> None:
        """Read the visit anew; what somebody else changed gets a widget of its own."""
        self.book = book
        self._take_in(self.store.open_visit(self.visit_id, book))

    def _take_in(self, recorded: RecordedVisit, but: str = "") -> None:
        """Show the visit as it was just read; `but` is the field that this device has entered itself."""
        before, after = self.recorded.heads, recorded.heads
        self.recorded = recorded
        for name in before.keys() | after.keys():
            if name != but and before.get(name) != after.get(name):
                self.turn(name)
                self.faults.pop(name.removeprefix("finding."), None)

    def watch(self, key: str, content: object, take: Callable[..., None], *args: object) -> None:
        """Fill a widget before it is first drawn, and have what changes in it taken over; see `CatchingUp.watch`."""
        self.catching.watch(key, content, take, *args)

    def press(self, act: Callable[..., object], *args: object) -> None:
        """Note what a button was pressed for: its ``on_click``. It is done at the start of the run."""
        self.catching.press(act, *args)

    def turn(self, field: str) -> None:
        """Give the widgets of a field up for fresh ones, filled from the store."""
        self.turns[field] = self.turns.get(field, 0) + 1
        for key in self._keys.pop(field, ()):
            self.catching.forget(key)

    def stand_at(self, place: str) -> None:
        """Go to a station of the walk otherwise than by its own widget, and open what was entered there."""
        self.place = place
        fill(self.key(STANDS), True)
        self.turn("place")

    def turn_units(self, system: str) -> None:
        """Show measures in other units; what could not be read goes, lest its numbers be taken in the new ones."""
        if system != self.system:
            self.system, self.typed, self.faults = system, {}, {}

    def set_level(self, part: str, level: str | None) -> None:
        """Set the level of a part by hand, or leave it to the tool again."""
        self.keep(f"{_LEVEL}{part}", level)

    def clear_levels(self) -> None:
        """Leave all parts to the tool again."""
        for part in self.set_levels:
            self.set_level(part, None)


def current() -> Draft | None:
    """Return the draft of this session, None before a visit was opened."""
    return st.session_state.get(_KEY)


def look_at(visit_id: str, store: Shop, book: Tables) -> Draft:
    """Read a visit without putting it on the table; the sales are those on the table."""
    draft = Draft(
        id=secrets.token_hex(4), visit_id=visit_id, store=store, book=book,
        recorded=store.open_visit(visit_id, book), demo=store.is_demo(visit_id),
        system=store.setting("units", "metric"),
    )  # fmt: skip
    if before := current():
        draft = replace(draft, sales=before.sales, use_sales=before.use_sales)
    return draft


def make_current(visit_id: str, store: Shop, book: Tables) -> Draft:
    """Open a visit in place of the one before; the sales stay."""
    draft = look_at(visit_id, store, book)
    st.session_state[_KEY] = draft
    return draft


def close_current() -> None:
    """Put the visit away; it stays in the store."""
    st.session_state.pop(_KEY, None)


def who() -> str:
    """Return the name of the person who enters; empty where nobody said."""
    return st.session_state.get(_WHO, "")


def enter_as(name: str) -> None:
    """Say who enters from now on."""
    st.session_state[_WHO] = " ".join(name.split())


def device() -> str:
    """Return a short mark of the device at the other end, by which it takes back its own entries."""
    return st.session_state.setdefault(_DEVICE, secrets.token_hex(6))


def session_catching() -> CatchingUp:
    """Return what is to be caught up on pages that need no visit."""
    return st.session_state.setdefault(_CATCHING_UP, CatchingUp())


def enter_on(mark: str) -> None:
    """Say which device this is, as the address remembers it after a reload."""
    if mark:
        st.session_state.setdefault(_DEVICE, mark[:12])
