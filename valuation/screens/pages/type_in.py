"""Type in what was written on a printed form, by keyboard alone: one field a line, in the order of the form."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.visit import Finding
from valuation.language import later, say
from valuation.report.checks import checks_of
from valuation.report.format import unit_words
from valuation.report.inspection_form import form_order
from valuation.report.labels import choice_word
from valuation.screens import answers, frame, page_list
from valuation.screens.safe import md
from valuation.screens.saved import saved_line
from valuation.screens.state import Draft, held

_SECTION_NAMES = {
    "bass": later("bass"),
    "tenor": later("tenor"),
    "treble": later("treble"),
    answers.ANYWHERE: later("anywhere"),
}


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
    for number, check in enumerate(form_order(book, draft.visit.piano.kind), start=1):
        if check.id in possible:
            _line(draft, number, check, book)
    frame.end(book)


def _line(draft: Draft, number: int, check: CheckRow, book: Tables) -> None:
    rows = answers.ROWS if check.answer == "readings" else ("",)
    keys = {row: draft.field_key(f"short_{check.id}_{row}_{draft.system}", f"finding.{check.id}") for row in rows}
    finding = draft.finding(check.id)
    for row, key in keys.items():
        stored = _stored(finding, check, row, draft.system)
        draft.watch(key, draft.typed.get(key, stored), _take, draft, check, keys, book)
        st.text_input(md(_label(number, check, row, draft.system)), key=key)
    for index, fault in enumerate(draft.faults.get(check.id, ())):
        with st.container(key=draft.key(f"fault_short_{check.id}_{index}")):
            st.markdown(f"**{say('Not taken down:')}** {md(fault)}.")


def _label(number: int, check: CheckRow, row: str, system: str) -> str:
    name = say("No. {number} · {name}", number=number, name=say(check.name))
    if row:
        return f"{name}, {say(_SECTION_NAMES[row])} ({unit_words(check.unit, system)})"
    if check.answer == "number":
        unit = unit_words(check.unit, system)
        return f"{name} ({unit})" if unit else name
    words = (choice_word(check, grade) for grade in check.choices)
    return f"{name}: {', '.join(f'{box} {word}' for box, word in enumerate(words, start=1))}"


def _stored(finding: Finding | None, check: CheckRow, row: str, system: str) -> str:
    if finding is None:
        return ""
    if finding.cannot_see:
        return answers.UNSEEN[0] if row in ("", answers.ROWS[0]) else ""
    if finding.grade:
        return str(list(check.choices).index(finding.grade) + 1)
    return answers.typed_row(finding, check, row, system) if row else answers.typed_number(finding, check, system)


def _take(draft: Draft, check: CheckRow, keys: dict[str, str], book: Tables) -> None:
    typed = {row: (held(key) or "").strip() for row, key in keys.items()}
    finding, faults = _read(draft, check, typed, book)
    draft.faults.pop(check.id, None)
    for key in keys.values():
        draft.typed.pop(key, None)
    if faults:
        draft.faults[check.id] = faults
        draft.typed |= {key: held(key) or "" for key in keys.values()}
    else:
        draft.record(check.id, finding)


def _read(draft: Draft, check: CheckRow, typed: dict[str, str], book: Tables) -> answers.Read:
    """Return what a line of the form says; a note that was made on the check stays."""
    filled = [text for text in typed.values() if text]
    if not filled:
        return None, ()
    before = draft.finding(check.id)
    note = before.note if before else ""
    if check.answer == "choice":
        return answers.read_short(check, filled[0], note, draft.visit, book)
    if len(filled) == 1 and filled[0].lower() in answers.UNSEEN:
        return Finding(check=check.id, cannot_see=True, note=note), ()
    if check.answer == "number":
        return answers.read_number(check, filled[0], note, draft.visit, book, draft.system)
    finding, faults = answers.read_rows(check, typed, note, draft.visit, book, draft.system)
    return answers.leave_untouched(before, finding, check, typed, draft.system), faults


if __name__ == "__main__":
    page()
