"""The grid of tuning pins: one cell for each string of each key, filled from the finding and taken over at once.

Three traps of Streamlit's editor are met here. Its table must not change under it, or what is being typed is lost. It
tells all edits since it was drawn, so only those not seen before are written. And a digit typed while the browser draws
the page can be lost, so the page waits for a pause.
"""

from __future__ import annotations

from time import sleep

import pandas as pd
import streamlit as st

from valuation.engine.rows import SECTIONS
from valuation.facts.keys import key_name
from valuation.facts.visit import Finding
from valuation.files.reading_place import STRINGS
from valuation.language import say
from valuation.measure.pin_runs import Place
from valuation.readings.pin_field import pins_in_words
from valuation.readings.pins import TORQUE
from valuation.report.labels import with_capital
from valuation.screens import answers
from valuation.screens.pins.entry import Asked, cell, changed_cells, column_of, spans, take_cells
from valuation.screens.pins.piano import ends_of
from valuation.screens.pins.widgets import FIELD, choose
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held

_ROWS_SHOWN = 10
_ROW_HEIGHT = 44
_PAUSE, _STEP = 0.8, 0.05
"""The page is drawn anew when nothing was typed into the grid for so long; looked at in steps [s]."""

_TYPING = "pins_typing"


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


def grid(draft: Draft, asked: Asked) -> None:
    """Draw the grid of one section, and what of it has no cell."""
    section = choose(
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
        draft.typed.pop(cell_key(draft, place, asked), None)
        if place in faults:
            draft.typed[cell_key(draft, place, asked)] = f"{number:.6g}"
    if cells:
        draft.record(TORQUE, finding)


def cell_key(draft: Draft, place: Place, asked: Asked) -> str:
    """Return where a number is kept that could not be taken down."""
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
        shown != now[place] and cell_key(draft, place, asked) not in draft.typed
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
