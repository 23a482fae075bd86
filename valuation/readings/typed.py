"""Readings of many notes as they are typed: one place to begin with, then number after number. Pure; no widgets."""

from __future__ import annotations

import re
from collections.abc import Mapping

from valuation.engine.rows import HandoverRow
from valuation.facts.keys import KEYS, key_name
from valuation.facts.units import UnitError, convert, parse_quantity
from valuation.files.reading_place import read_place
from valuation.files.visit_values import AnswerError
from valuation.jobs.handover import Place
from valuation.language import say
from valuation.report.format import plain_measure, shown_unit, typed_numeral

SKIPPED = ("-", "x")
"""Typed where a note was not measured."""

_STRINGS = 3
_UNIT = re.compile(r"[^\d\s:/]+")


def read_run(text: str, row: HandoverRow, system: str) -> tuple[dict[Place, float], tuple[str, ...]]:
    """Return the readings of a text by their place, in stored units, and what is wrong with it.

    Parameters
    ----------
    text : str
        Numbers with a space between, each for the next key upwards; a name or number of a key and a colon begin
        somewhere else, ``-`` leaves a key out, a unit may stand at the end. At pins each number is for the next string
        of the key, and ``/`` or a new line goes to the next key.
    row : HandoverRow
        What is measured; it begins at the lowest key of the row.
    system : str
        'metric' or 'imperial': the unit where none is given.

    Examples
    --------
    >>> from valuation.rules import load_tables
    >>> rows = load_tables().of_kind("handover", "grand")
    >>> read_run("C4: 10.0 - 9.9", rows["key_dip"], "metric")
    ({Place(key=40, string=0): 10.0, Place(key=42, string=0): 9.9}, ())
    >>> list(read_run("A0: 12 12.5 / 13", rows["pin_torque"], "metric")[0])[-1]
    Place(key=2, string=1)
    """
    at_pins = row.taken == "pin"
    pieces = re.sub(r"\s*:\s*", ": ", re.sub(r"[/\n]", " / ", text.strip())).split()
    unit = shown_unit(row.unit, system)
    if pieces and _UNIT.fullmatch(pieces[-1]) and pieces[-1] not in SKIPPED:
        unit = pieces.pop()
    found: dict[Place, float] = {}
    faults: list[str] = []
    key, string = row.from_key, 1 if at_pins else 0
    for piece in pieces:
        if piece == "/":
            key, string = (key + 1, 1) if at_pins else (key, 0)
            continue
        if piece.endswith(":"):
            try:
                key, told = read_place(piece.removesuffix(":"))
                string = (told or 1) if at_pins else 0
            except AnswerError as fault:
                faults.append(str(fault))
                break
            continue
        if key not in KEYS or string > _STRINGS:
            faults.append(_beyond(key, string, piece))
            break
        if piece not in SKIPPED:
            try:
                value = convert(parse_quantity(typed_numeral(piece), unit), unit, row.unit)
            except (UnitError, ValueError) as fault:
                faults.append(say("at {note}: {fault}", note=key_name(key), fault=str(fault)))
                break
            place = Place(key=key, string=string)
            if place in found:
                faults.append(say("{note} stands twice; keep one", note=place_name(place)))
            found[place] = value
        key, string = (key, string + 1) if at_pins else (key + 1, 0)
    return found, tuple(faults)


def _beyond(key: int, string: int, piece: str) -> str:
    if string > _STRINGS:
        return say(
            "'{text}': {note} has three strings at most; put a / before the next key", text=piece, note=key_name(key)
        )
    return say("'{text}': there is no key above {note}", text=piece[:40], note=key_name(KEYS[-1]))


def run_text(readings: Mapping[Place, float], row: HandoverRow, system: str) -> str:
    """Return readings as `read_run` takes them, rounded for the eye; one line for each octave or so."""
    pieces: list[str] = []
    before: Place | None = None
    for place in sorted(readings, key=lambda p: (p.key, p.string)):
        text = plain_measure(readings[place], row.unit, system)
        if before is not None and place.key == before.key and place.string == before.string + 1:
            pieces.append(text)
        elif before is not None and place.key == before.key + 1 and place.string <= 1:
            pieces += ["/", text] if place.string else [text]
        else:
            name = f"{place.key}.{place.string}" if place.string > 1 else key_name(place.key)
            pieces += ["\n" if pieces else "", f"{name}:", text]
        before = place
    return re.sub(r" ?\n ?", "\n", " ".join(filter(None, pieces)))


def place_name(place: Place) -> str:
    """Return a place in words: the note, and at a pin which of its strings."""
    return say("{note}, string {string}", note=place.note, string=place.string) if place.string else place.note
