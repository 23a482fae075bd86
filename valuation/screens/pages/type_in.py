"""Type in what was written on a printed form, by keyboard alone: one field a line, in the order of the form."""

from __future__ import annotations

from itertools import groupby

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.language import say
from valuation.report.checks import checks_of
from valuation.report.inspection_form import form_order
from valuation.screens import answers, form_lines, frame, kit, page_list
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import QUICK_LOOK, Draft, held
from valuation.screens.what_stands import STATIONS


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.TYPE_IN)
    st.title(say("Type in a form"), anchor=False)
    saved_line(draft, book)
    st.markdown(
        say(
            "In the order of the printed form, with its numbers. Type the number of the box, the first letters of its "
            "word, or the figure; x where it can't be seen. Tab goes on and stores. "
            "A field left empty is 'not looked at'."
        )
    )
    possible = {check.id for check in checks_of(draft.visit, book)}
    numbered = enumerate(form_order(book, draft.visit.piano.kind), start=1)
    asked = [(number, check) for number, check in numbered if check.id in possible]
    for section, lines in groupby(asked, key=lambda line: section_of(line[1])):
        _section(draft, section, list(lines), book)
    frame.end(book)


def section_of(check: CheckRow) -> str:
    """Return in which section of the form a check stands: in the quick look, or at its place on the walk."""
    return QUICK_LOOK if check.quick else check.access


def _section(draft: Draft, section: str, lines: list[tuple[int, CheckRow]], book: Tables) -> None:
    """Draw the lines of one section where it is open; what of a closed one was not taken down is told all the same."""
    name, first, last = say(STATIONS[section]), lines[0][0], lines[-1][0]
    box = kit.folded(
        draft.key(f"form_{section}"), say("{name}: No. {first} to {last}", name=name, first=first, last=last)
    )
    if box is not None:
        with box:
            for number, check in lines:
                _line(draft, number, check, book)
    else:
        for number, check in lines:
            _faults(draft, check, say("No. {number} · {name}", number=number, name=say(check.name)))


def _line(draft: Draft, number: int, check: CheckRow, book: Tables) -> None:
    rows = answers.ROWS if check.answer == "readings" else ("",)
    keys = {row: draft.field_key(f"short_{check.id}_{row}_{draft.system}", f"finding.{check.id}") for row in rows}
    finding = draft.finding(check.id)
    for row, key in keys.items():
        stored = form_lines.stored(finding, check, row, draft.system)
        draft.watch(key, draft.typed.get(key, stored), _take, draft, check, keys, book)
        st.text_input(md(form_lines.label(number, check, row, draft.system)), key=key)
    _faults(draft, check)


def _faults(draft: Draft, check: CheckRow, name: str = "") -> None:
    for index, fault in enumerate(draft.faults.get(check.id, ())):
        with st.container(key=draft.key(f"fault_short_{check.id}_{index}")):
            st.markdown(f"{md(name)} **{say('Not taken down:')}** {md(fault)}.".strip())


def _take(draft: Draft, check: CheckRow, keys: dict[str, str], book: Tables) -> None:
    typed = {row: (held(key) or "").strip() for row, key in keys.items()}
    finding, faults = form_lines.read(draft, check, typed, book)
    draft.faults.pop(check.id, None)
    for key in keys.values():
        draft.typed.pop(key, None)
    if faults:
        draft.faults[check.id] = faults
        draft.typed |= {key: held(key) or "" for key in keys.values()}
    else:
        draft.record(check.id, finding)


if __name__ == "__main__":
    page()
