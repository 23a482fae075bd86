"""What belongs to one piano and not to its readings: where the sections end, and how many pins there are."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import SECTIONS
from valuation.facts.keys import KEYS, key_name, key_number
from valuation.facts.visit import Finding
from valuation.language import say
from valuation.readings.pins import PINS, TORQUE
from valuation.screens.pins.entry import in_sections, section_ends
from valuation.screens.pins.widgets import FIELD, keep, tell
from valuation.screens.state import Draft, held


def ends_of(draft: Draft, finding: Finding | None) -> tuple[int, int]:
    """Return the last key of bass and tenor, as told or as the readings have it."""
    bass, tenor = (draft.typed.get(draft.key(f"pins_end_{section}_key"), "") for section in SECTIONS[:2])
    told = int(bass) if bass else None, int(tenor) if tenor else None
    return section_ends(finding.readings if finding else (), told)


def this_piano(draft: Draft) -> int:
    """Ask for what belongs to the piano: where its sections end, how many pins it has.

    Returns
    -------
    int
        Pins in all: as told, else as many as a usual piano has.
    """
    key = draft.key("pins_in_all")
    told, fault = _whole(draft.typed.get(key, ""))
    # its label never changes: with another one it would be another expander, and closed
    with st.expander(
        say("Where the sections of this piano end, and how many pins it has"), key=draft.key("pins_piano")
    ):
        for section, end in zip(SECTIONS, ends_of(draft, draft.finding(TORQUE)), strict=False):
            _ask_end(draft, section, end)
        draft.watch(key, draft.typed.get(key, ""), keep, draft, key)
        st.text_input(
            say("Pins in all ({usual} where nobody counts)", usual=PINS), key=key,
            placeholder=f"{PINS}",
        )  # fmt: skip
        if fault:
            tell(draft, "in_all", fault)
    return told or PINS


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
    st.text_input(label, key=key, placeholder=hint)
    if kept in draft.typed:
        tell(draft, f"end_{section}", _key_of(draft.typed[kept], section)[1])


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
