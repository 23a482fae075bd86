"""The fields of the page of tuning pins: rows to type, or a grid by key and string. What is typed is taken at once.

The finding is the only truth: fields are filled from it and follow it. What could not be read stays as it was typed,
with what is wrong beside it, and the readings before it keep counting.
"""

from __future__ import annotations

from time import sleep

import pandas as pd
import streamlit as st

from valuation.core.keys import KEYS, key_name, key_number
from valuation.core.rows import SECTIONS, CheckRow
from valuation.core.visit import Finding
from valuation.files.reading_place import STRINGS
from valuation.language import say
from valuation.measure.pin_runs import Place
from valuation.readings.pin_field import pins_in_words
from valuation.readings.pins import TORQUE
from valuation.report.format import unit_words
from valuation.report.labels import with_capital
from valuation.screens import answers, clashes, shop
from valuation.screens.pin_entry import (
    Asked,
    cell,
    changed_cells,
    column_of,
    in_sections,
    row_text,
    section_ends,
    spans,
    take_cells,
    take_row,
)
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held

BY_ROW, BY_PIN = "rows", "grid"
_ROWS_SHOWN = 10
_ROW_HEIGHT = 44
_LIVE = "1s"
"""A row is taken down when typing pauses so long: shorter than between two pins, longer than between two digits."""

_PAUSE, _STEP = 0.8, 0.05
"""The page is drawn anew when nothing was typed into the grid for so long; looked at in steps [s]."""

_TYPING = "pins_typing"

FIELD = f"finding.{TORQUE}"
"""Where the readings stand in the store."""


def units(draft: Draft) -> str:
    """Ask in which units the wrench reads; return 'metric' or 'imperial'."""
    return _choose(
        draft, "pins_unit", say("The wrench reads in"),
        {system: unit_words("N.m", system) for system in ("metric", "imperial")}, usual=draft.system,
    )  # fmt: skip


def entry(draft: Draft, asked: Asked) -> None:
    """Draw the fields, whichever way was chosen, and tell what could not be taken down."""
    way = _choose(
        draft, "pins_way", say("How to enter them"),
        {BY_ROW: say("Row by row"), BY_PIN: say("Pin by pin, on a grid")}, usual=BY_ROW,
    )  # fmt: skip
    if way == BY_ROW:
        _rows(draft, asked)
    else:
        _grid(draft, asked)
    _tell_faults(draft, asked)
    clashes.settle(draft, FIELD, draft.book)


def _choose(draft: Draft, name: str, label: str, choices: dict[str, str], usual: str) -> str:
    key = draft.key(name)
    draft.watch(key, draft.typed.get(key, usual), _keep, draft, key)
    return st.pills(label, list(choices), format_func=choices.get, key=key, required=True, on_change=draft.catch_up)


def _keep(draft: Draft, key: str) -> None:
    draft.typed[key] = held(key) or ""


def wait_for_a_pause() -> None:
    """Hold the page back while somebody types into the grid; a further reading ends the wait and begins another.

    Readings are in the finding by now. But drawing a page holds up the keys, and a digit that comes while a cell is
    being closed is lost. To be called before anything is drawn.
    """
    steps = round(_PAUSE / _STEP) if held(_TYPING) else 0
    for _ in range(steps):
        sleep(_STEP)
        held(_TYPING)  # a look at the session lets a newer run take over
    fill(_TYPING, None)


# Rows.


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
            on_change=draft.catch_up,
        )  # fmt: skip


def _typed_in(draft: Draft, row: str, asked: Asked) -> str:
    """Return where the text of a row is kept that could not be taken down."""
    return draft.key(f"pins_row_{row}_{asked.system}")


@shop.in_its_language
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


# The grid.


def _grid(draft: Draft, asked: Asked) -> None:
    section = _choose(
        draft, "pins_section", say("Section"), {s: with_capital(say(s)) for s in SECTIONS}, usual=SECTIONS[0]
    )  # fmt: skip
    st.markdown(
        say(
            "Columns 1 to 3 are the strings of a key, from the left. Enter goes on to the next key, Tab to the next "
            "string. Open the first cell by Enter or a double tap before you type: the very first digit can be lost "
            "otherwise."
        )
    )
    if asked.system == "metric":
        st.markdown(say("If the keypad of a phone has no point, choose in-lb or enter the rows."))
    ends = ends_of(draft, draft.finding(TORQUE))
    keys = spans(ends)[section]
    name = _editor_key(draft, asked, section, ends)
    finding = draft.finding(TORQUE)
    now = {(key, string): cell(finding, (key, string), asked) for key in keys for string in STRINGS}
    if held(name) is None or _is_behind(draft, asked, keys, name, now):
        fill(draft.key("pins_drawn"), (held(draft.key("pins_drawn")) or 0) + 1)
        name = _editor_key(draft, asked, section, ends)
        fill(_start(name), now)
    start = held(_start(name))
    table = pd.DataFrame(
        {
            "key": [f"{key} {key_name(key)}" for key in keys],
            **{
                column_of(string): pd.Series([start[key, string] for key in keys], dtype="float64")
                for string in STRINGS
            },
        }
    )
    st.data_editor(
        table, key=name, hide_index=True, num_rows="fixed", row_height=_ROW_HEIGHT, placeholder="",
        height=_ROW_HEIGHT * (min(len(keys), _ROWS_SHOWN) + 1) + 2,
        alt=say("Torque of each pin by key and string"),
        column_config={
            "key": st.column_config.TextColumn(say("Key"), disabled=True, pinned=True),
            **{
                column_of(string): st.column_config.NumberColumn(f"{string}")
                for string in STRINGS
            },
        },
        on_change=draft.catch_up,
    )  # fmt: skip
    draft.watch(name, None, _take_grid, draft, asked, section, ends, name)
    fill(_TYPING, None)
    _beside_the_grid(finding, section, asked)


def _editor_key(draft: Draft, asked: Asked, section: str, ends: tuple[int, int]) -> str:
    drawn = held(draft.key("pins_drawn")) or 0
    return draft.key(f"pins_grid_{section}_{ends[0]}_{ends[1]}_{asked.system}_{drawn}")


def _seen(name: str) -> str:
    return f"{name}_seen"


def _start(name: str) -> str:
    """Return where the grid is kept as it was first drawn.

    An editor whose table changes under it loses what is being typed, so its table stays, and its edits lie over it.
    """
    return f"{name}_start"


def _edited(name: str) -> dict[int, dict[str, float | None]]:
    return (held(name) or {}).get("edited_rows", {})


@shop.in_its_language
@shop.in_its_language
def _take_grid(draft: Draft, asked: Asked, section: str, ends: tuple[int, int], name: str) -> None:
    """Take over what was edited since the grid was last looked at; what could not be stored counts as not looked at."""
    edited = {row: dict(columns) for row, columns in _edited(name).items()}
    _take_cells(draft, asked, changed_cells(edited, held(_seen(name)) or {}, spans(ends)[section]), ends)
    fill(_TYPING, name)
    if FIELD not in draft.unsaved:
        fill(_seen(name), edited)


def _take_cells(draft: Draft, asked: Asked, cells: dict[Place, float | None], ends: tuple[int, int]) -> None:
    finding, faults = take_cells(draft.finding(TORQUE), cells, ends, asked)
    for place, number in cells.items():
        draft.typed.pop(_cell_key(draft, place, asked), None)
        if place in faults:
            draft.typed[_cell_key(draft, place, asked)] = f"{number:.6g}"
    if cells:
        draft.record(TORQUE, finding)


def _cell_key(draft: Draft, place: Place, asked: Asked) -> str:
    return draft.key(f"pins_cell_{place[0]}_{place[1]}_{asked.system}")


def _is_behind(
    draft: Draft, asked: Asked, keys: range, name: str, now: dict[Place, float | None]
) -> bool:  # fmt: skip
    """Say whether the grid shows another reading than the finding has now, which was entered elsewhere since."""
    if FIELD in draft.unsaved:  # what was typed stays on the screen until it is stored
        return False
    edited = changed_cells(_edited(name), {}, keys)
    on_screen = held(_start(name)) | {place: _as_shown(number, asked) for place, number in edited.items()}
    return any(
        shown != now[place] and _cell_key(draft, place, asked) not in draft.typed
        for place, shown in on_screen.items()
    )  # fmt: skip


def _as_shown(number: float | None, asked: Asked) -> float | None:
    one = answers.one_of(asked.check, asked.system)
    return None if number is None else float(answers.written(number * one, asked.check, asked.system))


def _beside_the_grid(finding: Finding | None, section: str, asked: Asked) -> None:
    """Tell the readings of this section that have no cell; they count like the others."""
    no_cell = [r for r in (finding.readings if finding else ()) if not r.string and r.section in (section, "")]
    if no_cell:
        told = pins_in_words(no_cell, asked.check.unit, asked.system)
        st.markdown(say("**Not on the grid**, but counted: {pins}. Change them in the rows.", pins=md(told)))


# What is wrong, and facts of this piano.


def _tell_faults(draft: Draft, asked: Asked) -> None:
    """Tell what could not be taken down; what can by now, since something else was put right, is taken."""
    for row in answers.ROWS:
        text = draft.typed.get(_typed_in(draft, row, asked))
        for fault in _take_text(draft, asked, row, text) if text is not None else ():
            _tell(draft, f"row_{row}", f"{with_capital(say(row))}: {fault}" if row in SECTIONS else fault)
    ends = ends_of(draft, draft.finding(TORQUE))
    for place in [(key, string) for key in KEYS for string in STRINGS]:
        text = draft.typed.get(_cell_key(draft, place, asked))
        if text is not None:
            _, faults = take_cells(draft.finding(TORQUE), {place: float(text)}, ends, asked)
            for fault in faults.values():
                _tell(draft, f"cell_{place[0]}_{place[1]}", fault)


def _tell(draft: Draft, name: str, fault: str) -> None:
    with st.container(key=draft.key(f"fault_pins_{name}")):
        st.markdown(say("**Not taken down:** {fault}. What was entered before still counts.", fault=md(fault)))


def ends_of(draft: Draft, finding: Finding | None) -> tuple[int, int]:
    """Return the last key of bass and tenor, as told or as the readings have it."""
    told = [draft.typed.get(draft.key(f"pins_end_{section}_key"), "") for section in SECTIONS[:2]]
    return section_ends(finding.readings if finding else (), tuple(int(key) if key else None for key in told))


def this_piano(draft: Draft, loose: CheckRow | None) -> int | None:
    """Ask for what belongs to the piano: where its sections end, how many pins it has.

    Returns
    -------
    int or None
        Pins in all: as told, else as the tables have it; None where they have no check for the share of loose ones.
    """
    key = draft.key("pins_in_all")
    told, fault = _whole(draft.typed.get(key, ""))
    # its label never changes: with another one it would be another expander, and closed
    with st.expander(
        say("Where the sections of this piano end, and how many pins it has"), key=draft.key("pins_piano")
    ):
        for section, end in zip(SECTIONS, ends_of(draft, draft.finding(TORQUE)), strict=False):
            _ask_end(draft, section, end)
        if loose is None:
            return None
        draft.watch(key, draft.typed.get(key, ""), _keep, draft, key)
        st.text_input(
            say("Pins in all (the verdict goes by the {usual} of the tables)", usual=loose.of_all), key=key,
            placeholder=f"{loose.of_all}", on_change=draft.catch_up,
        )  # fmt: skip
        if fault:
            _tell(draft, "in_all", fault)
    return told or loose.of_all


def _whole(text: str) -> tuple[int | None, str]:
    """Return a count of pins, and what is wrong with it."""
    text = text.strip()
    if not text:
        return None, ""
    if text.isdecimal() and len(text) < 5 and int(text) > 0:
        return int(text), ""
    return None, say("'{text}' is no number of pins; write it like 225", text=text[:20])


def _ask_end(draft: Draft, section: str, end: int) -> None:
    kept = draft.key(f"pins_end_{section}")
    key = draft.key(f"pins_end_{section}_{end}")
    draft.watch(key, draft.typed.get(kept, f"{end} {key_name(end)}"), _take_end, draft, section, key)
    label = {"bass": say("Last key of the bass"), "tenor": say("Last key of the tenor")}[section]
    hint = say("its number or name, such as 28 or C3")
    st.text_input(label, key=key, placeholder=hint, on_change=draft.catch_up)
    if kept in draft.typed:
        _tell(draft, f"end_{section}", _key_of(draft.typed[kept], section)[1])


@shop.in_its_language
def _take_end(draft: Draft, section: str, key: str) -> None:
    """Put the readings that have a place into the section where they lie now."""
    kept, text = draft.key(f"pins_end_{section}"), held(key) or ""
    number, _ = _key_of(text, section)
    if number is None:
        draft.typed[kept] = text
        return
    draft.typed.pop(kept, None)
    draft.typed[draft.key(f"pins_end_{section}_key")] = f"{number}"
    finding = draft.finding(TORQUE)
    if finding:
        draft.record(TORQUE, in_sections(finding, ends_of(draft, finding)))
        draft.turn(FIELD)


def _key_of(text: str, section: str) -> tuple[int | None, str]:
    """Return the last key of a section from its number or its name, and what is wrong."""
    first = text.split()[0] if text.split() else ""
    try:
        number = key_number(int(first) if first.isdecimal() and len(first) < 4 else first)
    except ValueError as fault:
        return None, str(fault)
    if number > KEYS[-1] - (2 if section == SECTIONS[0] else 1):
        return None, say("'{text}' leaves no key for the sections after it", text=first)
    return number, ""
