"""The fields of the page of tuning pins: rows to type, or a grid by key and string. What is typed is taken at once.

The finding is the only truth: fields are filled from it and follow it. What could not be read stays as it was typed,
with what is wrong beside it, and the readings before it keep counting.
"""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import SECTIONS
from valuation.facts.keys import KEYS
from valuation.files.reading_place import STRINGS
from valuation.language import say
from valuation.readings.pins import TORQUE
from valuation.report.format import unit_words
from valuation.report.labels import with_capital
from valuation.screens import answers, clashes
from valuation.screens.pins.entry import Asked, row_text, take_cells, take_row
from valuation.screens.pins.grid import cell_key, grid
from valuation.screens.pins.piano import ends_of
from valuation.screens.pins.widgets import FIELD, choose, tell
from valuation.screens.state import Draft, held

BY_ROW, BY_PIN = "rows", "grid"
_LIVE = "1s"
"""A row is taken down when typing pauses so long: shorter than between two pins, longer than between two digits."""


def units(draft: Draft) -> str:
    """Ask in which units the wrench reads; return 'metric' or 'imperial'."""
    return choose(
        draft, "pins_unit", say("The wrench reads in"),
        {system: unit_words("N.m", system) for system in ("metric", "imperial")}, usual=draft.system,
    )  # fmt: skip


def entry(draft: Draft, asked: Asked) -> None:
    """Draw the fields, whichever way was chosen, and tell what could not be taken down."""
    way = choose(
        draft, "pins_way", say("How to enter them"),
        {BY_ROW: say("Row by row"), BY_PIN: say("Pin by pin, on a grid")}, usual=BY_ROW, bare=True,
    )  # fmt: skip
    if way == BY_ROW:
        _rows(draft, asked)
    else:
        grid(draft, asked)
    _tell_faults(draft, asked)
    clashes.settle(draft, FIELD, draft.book)


def _rows(draft: Draft, asked: Asked) -> None:
    unit = unit_words(asked.check.unit, asked.system)
    example = say("such as 60 55 58, or with its place 49.2:31")
    for row in answers.ROWS:
        key = draft.field_key(f"pins_row_{row}_{asked.system}", FIELD)
        now = row_text(draft.finding(TORQUE), row, asked)
        draft.watch(key, draft.typed.get(_typed_in(draft, row, asked), now), _take_row, draft, asked, row, key)
        name = with_capital(say(row)) if row in SECTIONS else say("Anywhere")
        st.text_input(
            say("{section}, in {unit}", section=name, unit=unit), key=key, placeholder=example, live=_LIVE,
        )  # fmt: skip


def _typed_in(draft: Draft, row: str, asked: Asked) -> str:
    """Return where the text of a row is kept that could not be taken down."""
    return draft.key(f"pins_row_{row}_{asked.system}")


def _take_row(draft: Draft, asked: Asked, row: str, key: str) -> None:
    _take_text(draft, asked, row, held(key) or "")


def _take_text(draft: Draft, asked: Asked, row: str, text: str) -> tuple[str, ...]:
    """Take one row; what has a fault, or could not be stored, is kept as it was typed and tried again."""
    finding, faults = take_row(draft.finding(TORQUE), row, text, asked)
    if not faults:
        draft.record(TORQUE, finding)
    draft.typed.pop(_typed_in(draft, row, asked), None)
    if faults or FIELD in draft.unsaved:
        draft.typed[_typed_in(draft, row, asked)] = text
    return faults


def _tell_faults(draft: Draft, asked: Asked) -> None:
    """Tell what could not be taken down; what can by now, since something else was put right, is taken."""
    for row in answers.ROWS:
        text = draft.typed.get(_typed_in(draft, row, asked))
        faults = _take_text(draft, asked, row, text) if text is not None else ()
        for number, fault in enumerate(faults):
            tell(draft, f"row_{row}_{number}", f"{with_capital(say(row))}: {fault}" if row in SECTIONS else fault)
    ends = ends_of(draft, draft.finding(TORQUE))
    for place in [(key, string) for key in KEYS for string in STRINGS]:
        text = draft.typed.get(cell_key(draft, place, asked))
        if text is not None:
            _, refused = take_cells(draft.finding(TORQUE), {place: float(text)}, ends, asked)
            for fault in refused.values():
                tell(draft, f"cell_{place[0]}_{place[1]}", fault)
