"""The fields for each thing that can be measured. What is typed stays with the draft, so one may leave the page."""

from __future__ import annotations

from collections.abc import Callable
from io import BytesIO
from typing import Any

import streamlit as st

from valuation.engine.rows import SECTIONS, Tables
from valuation.facts.units import FACTORS, parse_quantity
from valuation.language import language, later, say
from valuation.measure.wood import COEFFICIENTS
from valuation.readings.bearing import Gauge, read_bearing
from valuation.readings.climate import Wood, Year, read_climate
from valuation.readings.grade import ANYWHERE
from valuation.readings.pins import read_pins
from valuation.readings.read_scale import FLAT, NEEDED, read_scale
from valuation.readings.result import Reading, told_of
from valuation.readings.strings import Asked, read_strings
from valuation.report.format import shown_unit, typed_numeral
from valuation.report.labels import with_capital
from valuation.screens.answers import split_row
from valuation.screens.pins.widgets import keep
from valuation.screens.safe import md
from valuation.screens.state import Draft

_GAUGES = {"": later("none: sizes have units"), "american": later("American"), "european": later("European")}


def _text(draft: Draft, name: str, label: str, hint: str = "", usual: str = "") -> str:
    """Draw a field that keeps its content with the draft."""
    key = draft.key(f"measure_{name}")
    draft.watch(key, draft.typed.get(key, usual), keep, draft, key)
    return st.text_input(md(label), key=key, placeholder=hint or None).strip()


def _number(draft: Draft, name: str, label: str, unit: str, hint: str = "", usual: str = "") -> float | None:
    """Draw a field for a number; None where it is empty."""
    text = _text(draft, name, label, hint, usual)
    if not text:
        return None
    with told_of(label):
        return parse_quantity(typed_numeral(text), unit)


def _choose(draft: Draft, name: str, label: str, choices: dict[str, str]) -> str:
    key = draft.key(f"measure_{name}")
    draft.watch(key, draft.typed.get(key, next(iter(choices))), keep, draft, key)
    chosen = st.pills(label, list(choices), format_func=lambda one: say(choices[one]), key=key, required=True)
    return chosen or next(iter(choices))


def _section_names() -> dict[str, str]:
    return {section: with_capital(say(section)) for section in SECTIONS}


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
        say(
            "One row a key, a few keys of each section at least, below the line **{head}**. "
            "Key as number or name; wire as 0.975 mm or a gauge number; outside (over the winding) empty where plain; "
            "strings 1 to 3. A column **{flat}** may follow.",
            head=md(head),
            flat=md(FLAT),
        )
    )
    file = st.file_uploader(
        say("A CSV file of the scale"), type=["csv"], key=draft.key("scale_file"), max_upload_size=1
    )  # fmt: skip
    key = draft.key("measure_scale")
    draft.watch(key, draft.typed.get(key, ""), keep, draft, key)
    typed = st.text_area(say("Or typed"), key=key, placeholder=f"{head}\nC6,181,0.925 mm,,3")
    gauges = _choose(draft, "gauges", say("What wire numbers mean"), _GAUGES)
    flat = _number(draft, "flat", say("How flat it is now, in cents (for a pitch raise)"), "cents", say("left out"))
    kept = _number(draft, "kept", say("Strength that old wire has kept, in %"), "%", usual="100")
    in_all = _number(draft, "strings_in_all", say("Strings of the whole piano"), "count", say("left out"))
    if file is None and not typed.strip():
        return None
    data, name = (file.getvalue(), file.name) if file else (typed.encode(), say("typed"))
    asked = Asked(
        flat_cents=flat, strength_kept=100.0 if kept is None else kept,
        strings_in_all=None if in_all is None else round(in_all),
    )  # fmt: skip
    return read_strings(read_scale(data, name, gauges), asked, book, draft.visit.piano.kind)


def bearing(draft: Draft, book: Tables) -> Reading | None:
    """Ask for gauge, readings and crown."""
    how = _choose(
        draft, "gauge", say("What was read"),
        {
            "angle": later("Angle, degrees"),
            "gap": later("Gap under a gauge, mm"),
            "height": later("Height over a thread, mm"),
        },
    )  # fmt: skip
    sizes = {}
    if how == "gap":
        sizes["half_span_mm"] = _number(draft, "half_span", say("From the middle of the gauge to a foot, mm"), "mm")
        sizes["bridge_width_mm"] = _number(draft, "bridge_width", say("Width of the bridge, mm"), "mm")
    elif how == "height":
        sizes["front_mm"] = _number(draft, "front", say("Thread in front of the bridge, mm"), "mm")
        sizes["rear_mm"] = _number(draft, "rear", say("Thread behind the bridge, mm"), "mm")
    unit = say("degrees") if how == "angle" else "mm"
    readings = _rows(draft, f"bearing_{how}", unit, _section_names(), say("readings, a space between each"))
    crown = _number(draft, "crown", say("Crown of the board there, mm (may stay empty)"), "mm")
    if not readings or None in sizes.values():
        return None
    return read_bearing(readings, Gauge(**sizes), book, draft.visit.piano.kind, crown_mm=crown)


def climate(draft: Draft, book: Tables) -> Reading | None:
    """Ask for the air, and for what of the wood is to be followed."""
    dry = _number(draft, "dry", say("Humidity of the driest month, %"), "%", say("such as 25"))
    wet = _number(draft, "wet", say("Humidity of the dampest month, %"), "%", say("such as 70"))
    warm = _number(draft, "warm", say("Temperature, °C"), "count", usual="20")
    wood = _choose(draft, "wood", say("Wood of the board"), {name: name for name in COEFFICIENTS})
    across = _number(draft, "across", say("Board across its grain, mm"), "mm", usual="1000")
    with st.expander(say("A crack, the crown, the pinblock, or holding the humidity")):
        now = _number(draft, "now", say("Humidity of the last weeks, %"), "%", say("belongs to any size measured now"))
        crack = _number(draft, "crack", say("Width of a crack now, mm"), "mm")
        panel = _number(
            draft, "panel", say("Wood that the crack takes up, mm"), "mm", say("half way to the next on both sides")
        )
        sizes: dict[str, Any] = {
            "crown_mm": _number(
                draft, "year_crown", say("Crown of the board now, mm"), "mm", say("needs the three below")
            ),
            "rib_length_mm": _number(draft, "rib_length", say("Length of its rib, mm"), "mm"),
            "rib_height_mm": _number(draft, "rib_height", say("Height of its rib, mm"), "mm"),
            "thickness_mm": _number(draft, "thickness", say("Thickness of the board, mm"), "mm"),
        }
        pin = _number(draft, "pin", say("Diameter of the tuning pins, mm"), "mm")
        block = _number(draft, "block", say("Pinblock across its grain, mm"), "mm")
        low = _number(draft, "held_low", say("Held from, %"), "%")
        high = _number(draft, "held_high", say("Held to, %"), "%")
    if dry is None or wet is None or warm is None or across is None:
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
    unit = _choose(draft, f"pin_unit_{draft.system}", say("Unit"), {unit: unit.replace(".", "·") for unit in units})
    rows = {**_section_names(), ANYWHERE: say("Anywhere")}
    readings = _rows(draft, "pins", "", rows, say("readings, a space between each"))
    in_all = _number(draft, "pins_in_all", say("Pins of the piano"), "count", say("as in the tables"))
    if not readings:
        return None
    whole = None if in_all is None else round(in_all)
    return read_pins(readings, unit, book, draft.visit.piano.kind, in_all=whole)


def sound(draft: Draft, book: Tables) -> Reading | None:
    """Ask for recordings of single notes, each with its key."""
    from valuation.readings.sound import key_in_name, read_sound  # slow to import, and needed here only

    st.markdown(
        say(
            "One strike of one key in each file, WAV or FLAC, all processing of the device off, about a metre away: "
            "a second of quiet, one firm note, the key held, no pedal, ten seconds. "
            "About a dozen notes tell of the whole piano: A1 E2 A2 E3 A3 C4 A4 C5 E5 A5 C6 A6."
        )
    )
    files = st.file_uploader(
        say("Recordings, one by one or many at once"), type=["wav", "flac"], accept_multiple_files=True,
        key=draft.key("sound_files"), max_upload_size=12,
    )  # fmt: skip
    notes, refused = [], []
    for number, file in enumerate(files):
        label = say("Key of {file}", file=file.name)
        key = _text(draft, f"key_{file.name}_{number}", label, say("as heard"), key_in_name(file.name) or "")
        named = int(key) if key.isdecimal() else key or None
        heard, not_read = _analysed(file.name, file.getvalue(), named, language())
        notes += heard
        refused += not_read
    return read_sound(notes, refused, book, draft.visit.piano.kind) if files else None


@st.cache_resource(max_entries=64, show_spinner=False)
def _analysed(name: str, data: bytes, key: str | int | None, spoken: str) -> tuple:  # noqa: ARG001
    """Return what a recording says; what it warns of is told in the language spoken, so that belongs to the key."""
    from valuation.readings.sound import read_notes

    return read_notes([(name, BytesIO(data), key)])


SUBJECTS: dict[str, Callable[[Draft, Tables], Reading | None]] = {
    later("Tuning pins"): pins,
    later("Strings"): strings,
    later("Bearing and crown"): bearing,
    later("Air and wood"): climate,
    later("Sound"): sound,
}
"""What can be measured, by the name it has on the page."""
