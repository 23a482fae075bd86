"""The fields for each thing that can be measured. What is typed stays with the draft, so one may leave the page."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import streamlit as st

from valuation.core.rows import SECTIONS, Tables
from valuation.core.units import FACTORS, parse_quantity
from valuation.measure.wood import COEFFICIENTS
from valuation.readings.bearing import Gauge, read_bearing
from valuation.readings.climate import Wood, Year, read_climate
from valuation.readings.grade import ANYWHERE
from valuation.readings.pins import read_pins
from valuation.readings.read_scale import NEEDED, read_scale
from valuation.readings.result import Reading, told_of
from valuation.readings.strings import Asked, read_strings
from valuation.report.format import shown_unit
from valuation.report.labels import with_capital
from valuation.screens.answers import split_row
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held

_ROWS = {**{section: with_capital(section) for section in SECTIONS}, ANYWHERE: "Anywhere"}
_GAUGES = {"": "none: sizes have units", "american": "American", "european": "European"}


def _text(draft: Draft, name: str, label: str, hint: str = "", usual: str = "") -> str:
    """Draw a field that keeps its content with the draft."""
    key = draft.key(f"measure_{name}")
    if held(key) is None:
        fill(key, draft.typed.get(key, usual))

    def keep() -> None:
        draft.typed[key] = held(key)

    return st.text_input(md(label), key=key, placeholder=hint or None, on_change=keep).strip()


def _number(draft: Draft, name: str, label: str, unit: str, hint: str = "", usual: str = "") -> float | None:
    """Draw a field for a number; None where it is empty."""
    text = _text(draft, name, label, hint, usual)
    if not text:
        return None
    with told_of(label):
        return parse_quantity(text, unit)


def _choose(draft: Draft, name: str, label: str, choices: dict[str, str]) -> str:
    key = draft.key(f"measure_{name}")
    if held(key) is None:
        fill(key, draft.typed.get(key, next(iter(choices))))

    def keep() -> None:
        draft.typed[key] = held(key)

    return st.pills(label, list(choices), format_func=choices.get, key=key, required=True, on_change=keep)


def _rows(draft: Draft, name: str, unit: str, rows: dict[str, str], hint: str) -> dict[str, list[float]]:
    """Draw a field of readings for each section; return those that hold any."""
    found = {}
    for section, label in rows.items():
        pieces, fault = split_row(_text(draft, f"{name}_{section}", f"{label}, {unit}" if unit else label, hint))
        with told_of(label):
            if fault:
                raise ValueError(fault)
            if pieces:
                found[section] = [parse_quantity(piece, "count") for piece in pieces]
    return found


def strings(draft: Draft, book: Tables) -> Reading | None:
    """Ask for the scale, as a file or typed."""
    head = ",".join(NEEDED)
    st.markdown(
        f"One row a key, a few keys of each section at least, below the line **{md(head)}**. "
        "Key as number or name; wire as 0.975 mm or a gauge number; outside (over the winding) empty where plain; "
        "strings 1 to 3. A column **flat\\_cents** may follow."
    )
    file = st.file_uploader("A CSV file of the scale", type=["csv"], key=draft.key("scale_file"), max_upload_size=1)
    key = draft.key("measure_scale")
    if held(key) is None:
        fill(key, draft.typed.get(key, ""))

    def keep() -> None:
        draft.typed[key] = held(key)

    typed = st.text_area("Or typed", key=key, placeholder=f"{head}\nC6,181,0.925 mm,,3", on_change=keep)
    gauges = _choose(draft, "gauges", "What wire numbers mean", _GAUGES)
    flat = _number(draft, "flat", "How flat it is now, in cents (for a pitch raise)", "cents", "left out")
    kept = _number(draft, "kept", "Strength that old wire has kept, in %", "%", usual="100")
    in_all = _number(draft, "strings_in_all", "Strings of the whole piano", "count", "left out")
    if file is None and not typed.strip():
        return None
    data, name = (file.getvalue(), file.name) if file else (typed.encode(), "typed")
    asked = Asked(
        flat_cents=flat, strength_kept=100.0 if kept is None else kept,
        strings_in_all=None if in_all is None else round(in_all),
    )  # fmt: skip
    return read_strings(read_scale(data, name, gauges), asked, book, draft.visit.piano.kind)


def bearing(draft: Draft, book: Tables) -> Reading | None:
    """Ask for gauge, readings and crown."""
    how = _choose(
        draft, "gauge", "What was read",
        {"angle": "Angle, degrees", "gap": "Gap under a gauge, mm", "height": "Height over a thread, mm"},
    )  # fmt: skip
    sizes = {}
    if how == "gap":
        sizes["half_span_mm"] = _number(draft, "half_span", "From the middle of the gauge to a foot, mm", "mm")
        sizes["bridge_width_mm"] = _number(draft, "bridge_width", "Width of the bridge, mm", "mm")
    elif how == "height":
        sizes["front_mm"] = _number(draft, "front", "Thread in front of the bridge, mm", "mm")
        sizes["rear_mm"] = _number(draft, "rear", "Thread behind the bridge, mm", "mm")
    sections = {section: _ROWS[section] for section in SECTIONS}
    unit = "degrees" if how == "angle" else "mm"
    readings = _rows(draft, f"bearing_{how}", unit, sections, "readings, a space between each")
    crown = _number(draft, "crown", "Crown of the board there, mm (may stay empty)", "mm")
    if not readings or None in sizes.values():
        return None
    return read_bearing(readings, Gauge(**sizes), book, draft.visit.piano.kind, crown_mm=crown)


def climate(draft: Draft, book: Tables) -> Reading | None:
    """Ask for the air, and for what of the wood is to be followed."""
    dry = _number(draft, "dry", "Humidity of the driest month, %", "%", "such as 25")
    wet = _number(draft, "wet", "Humidity of the dampest month, %", "%", "such as 70")
    warm = _number(draft, "warm", "Temperature, °C", "count", usual="20")
    wood = _choose(draft, "wood", "Wood of the board", {name: name for name in COEFFICIENTS})
    across = _number(draft, "across", "Board across its grain, mm", "mm", usual="1000")
    with st.expander("A crack, the crown, the pinblock, or holding the humidity"):
        now = _number(draft, "now", "Humidity of the last weeks, %", "%", "belongs to any size measured now")
        crack = _number(draft, "crack", "Width of a crack now, mm", "mm")
        panel = _number(draft, "panel", "Wood that the crack takes up, mm", "mm", "half way to the next on both sides")
        sizes = {
            "crown_mm": _number(draft, "year_crown", "Crown of the board now, mm", "mm", "needs the three below"),
            "rib_length_mm": _number(draft, "rib_length", "Length of its rib, mm", "mm"),
            "rib_height_mm": _number(draft, "rib_height", "Height of its rib, mm", "mm"),
            "thickness_mm": _number(draft, "thickness", "Thickness of the board, mm", "mm"),
        }
        pin = _number(draft, "pin", "Diameter of the tuning pins, mm", "mm")
        block = _number(draft, "block", "Pinblock across its grain, mm", "mm")
        low = _number(draft, "held_low", "Held from, %", "%")
        high = _number(draft, "held_high", "Held to, %", "%")
    if None in (dry, wet, warm, across):
        return None
    held_between = None if low is None or high is None else (low, high)
    year = Year(dry=dry, wet=wet, now=now, temperature_c=warm, held=held_between)
    asked = Wood(
        board=wood, across_mm=across, crack_mm=crack, panel_mm=panel, pin_mm=pin, block_mm=block, **sizes
    )  # fmt: skip
    return read_climate(year, asked, book, draft.visit.piano.kind)


def pins(draft: Draft, book: Tables) -> Reading | None:
    """Ask for the torque of the pins tried."""
    units = dict.fromkeys(sorted(FACTORS["N.m"], key=lambda unit: unit != shown_unit("N.m", draft.system)))
    unit = _choose(draft, f"pin_unit_{draft.system}", "Unit", {unit: unit.replace(".", "·") for unit in units})
    readings = _rows(draft, "pins", "", _ROWS, "readings, a space between each")
    in_all = _number(draft, "pins_in_all", "Pins of the piano", "count", "as in the tables")
    if not readings:
        return None
    whole = None if in_all is None else round(in_all)
    return read_pins(readings, unit, book, draft.visit.piano.kind, in_all=whole)


def sound(draft: Draft, book: Tables) -> Reading | None:
    """Ask for recordings of single notes, each with its key."""
    from valuation.readings.sound import key_in_name, read_sound  # slow to import, and needed here only

    st.markdown(
        "One strike of one key in each file, WAV or FLAC, all processing of the device off, about a metre away: "
        "a second of quiet, one firm note, the key held, no pedal, ten seconds. "
        "About a dozen notes tell of the whole piano: A1 E2 A2 E3 A3 C4 A4 C5 E5 A5 C6 A6."
    )
    files = st.file_uploader(
        "Recordings, one by one or many at once", type=["wav", "flac"], accept_multiple_files=True,
        key=draft.key("sound_files"), max_upload_size=12,
    )  # fmt: skip
    notes, refused = [], []
    for number, file in enumerate(files):
        key = _text(draft, f"key_{file.name}_{number}", f"Key of {file.name}", "as heard", key_in_name(file.name) or "")
        heard, not_read = _analysed(file.name, file.getvalue(), int(key) if key.isdecimal() else key or None)
        notes += heard
        refused += not_read
    return read_sound(notes, refused, book, draft.visit.piano.kind) if files else None


@st.cache_resource(max_entries=64, show_spinner="Listening")
def _analysed(name: str, data: bytes, key: str | int | None) -> tuple:
    from valuation.readings.sound import read_notes

    return read_notes([(name, BytesIO(data), key)])


SUBJECTS: dict[str, Callable[[Draft, Tables], Reading | None]] = {
    "Tuning pins": pins,
    "Strings": strings,
    "Bearing and crown": bearing,
    "Air and wood": climate,
    "Sound": sound,
}
"""What can be measured, by the name it has on the page."""
