"""What one session holds: one draft under one key. Nothing else in the page names a key of the session."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import streamlit as st

from valuation.core.rows import CheckRow, Level
from valuation.core.visit import Finding, Visit

if TYPE_CHECKING:
    from valuation.service_sales import SalesBook  # loaded with the first sales, not with every page

_KEY = "draft"


@dataclass
class Draft:
    """One visit on the table, with what was typed but could not be read.

    Attributes
    ----------
    id : str
        Stands in the key of every widget. A fresh one for each opening, so that an old field's content never
        lands in another visit, nor in this one opened anew.
    name : str
        Name of the demo or of the file.
    demo : bool
        Invented data.
    visit : Visit
    changed : bool
        Something was changed since it was opened.
    pinned : dict of str to Level
        Parts whose level a person has set.
    typed : dict of str to str
        By field: text that could not be read, kept as it was typed.
    faults : dict of str to tuple of str
        By check: what is wrong with what was typed.
    system : str
        Units shown: 'metric' or 'imperial'.
    place : str
        Where on the walk one stands.
    sales : SalesBook or None
        The shop's own sales, as far as they were put on the table; they stay when another piano is opened.
    use_sales : bool
        The prices of all pages come from them.
    curved : bool
        By the curved model, where it does better.
    said : str
        What was done last and is told once.
    """

    id: str
    name: str
    demo: bool
    visit: Visit
    changed: bool = False
    pinned: dict[str, Level] = field(default_factory=dict)
    typed: dict[str, str] = field(default_factory=dict)
    faults: dict[str, tuple[str, ...]] = field(default_factory=dict)
    system: str = "metric"
    place: str = "outside"
    sales: SalesBook | None = None
    use_sales: bool = False
    curved: bool = False
    said: str = ""

    def key(self, name: str) -> str:
        """Return the key of one widget."""
        return f"{name}__{self.id}"

    def finding(self, check: str) -> Finding | None:
        """Return what was found by one check, None where it was not looked at."""
        return next((f for f in self.visit.findings if f.check == check), None)

    def tried(self, check: CheckRow) -> int:
        """Return how many readings a check is graded by, its own or another check's."""
        finding = self.finding(check.readings_of or check.id)
        return len(finding.readings) if finding else 0

    def record(self, check: str, finding: Finding | None) -> None:
        """Put a finding in the place of the one before; None means not looked at."""
        before = self.visit.findings
        if finding is None:
            after = tuple(f for f in before if f.check != check)
        elif self.finding(check):
            after = tuple(finding if f.check == check else f for f in before)
        else:
            after = (*before, finding)
        if after != before:
            self.visit = replace(self.visit, findings=after)
            self.changed = True

    def turn_units(self, system: str) -> None:
        """Show measures in other units; what could not be read goes, lest its numbers be taken in the new ones."""
        if system != self.system:
            self.system, self.typed, self.faults = system, {}, {}

    def pin(self, part: str, level: Level | None) -> None:
        """Set the level of a part by hand, or leave it to the tool again."""
        self.pinned = {p: pinned for p, pinned in self.pinned.items() if p != part}
        if level is not None:
            self.pinned[part] = level


def current() -> Draft | None:
    """Return the draft of this session, None before a piano was chosen."""
    return st.session_state.get(_KEY)


def put_on_the_table(visit: Visit, name: str, *, demo: bool) -> Draft:
    """Open a visit in place of the one before; the sales stay."""
    draft = Draft(id=secrets.token_hex(4), name=name, demo=demo, visit=visit)
    if before := current():
        draft.sales, draft.use_sales, draft.curved = before.sales, before.use_sales, before.curved
    st.session_state[_KEY] = draft
    return draft


def held(key: str) -> object:
    """Return what a widget holds now; None where it has not been drawn."""
    return st.session_state.get(key)


def fill(key: str, value: object) -> None:
    """Give a widget its content before it is drawn, or from a callback."""
    st.session_state[key] = value
