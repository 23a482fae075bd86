"""What was entered for one check, into a finding or into words on what is wrong. Pure; knows no widgets.

The same reader takes it that takes a visit file, so both allow the same and say the same.
"""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from valuation.engine.rows import SECTIONS, CheckRow, Tables
from valuation.facts.answers import CANNOT_SEE
from valuation.facts.units import FACTORS
from valuation.facts.visit import Finding, Reading, Visit
from valuation.files.reading_place import place_text
from valuation.files.visit_findings import read_findings
from valuation.files.visit_values import Section
from valuation.language import ENGLISH, numeral, say, speaking
from valuation.report.format import plain_measure, shown_unit, typed_numeral
from valuation.report.labels import choice_word

ANYWHERE = "readings"
ROWS = (*SECTIONS, ANYWHERE)
"""Rows in which readings are entered; the last for those whose section isn't told."""

UNSEEN = ("x", "-")
"""Typed for 'can't be seen' where answers are typed short."""

_NOTHING = 1e-9
"""What is less than this, in any unit, stands as nought in a field: its digits would fill the line."""

Read = tuple[Finding | None, tuple[str, ...]]


def read_choice(check: CheckRow, said: str, note: str, visit: Visit, tables: Tables) -> Read:
    """Return the finding of a word, such as a choice, "can't be seen" or 'not looked at', and what is wrong."""
    return _read(check, {"value": said, "note": note}, visit, tables)


def read_short(check: CheckRow, text: str, note: str, visit: Visit, tables: Tables) -> Read:
    """Return the finding of a choice typed short: the number of its box, the beginning of its word, or x.

    Examples
    --------
    Of the boxes 'none', 'hairline' and 'cracked', ``1`` and ``n`` both mean 'none', ``x`` means "can't be seen".
    """
    said = " ".join(text.lower().split())
    words = list(check.choices.values())
    shown = [choice_word(check, grade).lower() for grade in check.choices]
    if said in UNSEEN:
        return read_choice(check, CANNOT_SEE[0], note, visit, tables)
    if said.isdecimal() and 0 < int(said) <= len(words):
        return read_choice(check, words[int(said) - 1], note, visit, tables)
    begin_so = [word for word, as_shown in zip(words, shown, strict=True) if as_shown.startswith(said)]
    return read_choice(check, begin_so[0] if len(begin_so) == 1 else text, note, visit, tables)


def read_number(check: CheckRow, text: str, note: str, visit: Visit, tables: Tables, system: str) -> Read:
    """Return the finding of a typed number, and what is wrong; without a unit it is taken in the unit shown."""
    try:
        text = typed_numeral(text.strip())
    except ValueError as fault:
        return None, (str(fault),)
    if re.search(r"\d,\d", text):
        return None, (say("'{text}': put a point before decimals", text=text[:40]),)
    return _read(check, {"value": text, "unit": shown_unit(check.unit, system), "note": note}, visit, tables)


def read_rows(check: CheckRow, rows: dict[str, str], note: str, visit: Visit, tables: Tables, system: str) -> Read:
    """Return the finding of readings typed in rows, and what is wrong.

    Parameters
    ----------
    rows : dict of str to str
        Section, or 'readings', to what was typed: numbers with a space between, perhaps with a unit at the end;
        each perhaps with its place before it, such as ``49.2:31``.
    """
    lists, faults = {}, []
    for section, text in rows.items():
        if not text.strip():
            continue
        numbers, fault = split_row(text)
        lists[section] = numbers
        if fault:
            faults.append(f"{say(section)}: {fault}" if section != ANYWHERE else fault)
    if faults:
        return None, tuple(faults)
    return _read(check, {**lists, "unit": shown_unit(check.unit, system), "note": note}, visit, tables)


def leave_untouched(
    before: Finding | None, after: Finding | None, check: CheckRow, rows: dict[str, str], system: str
) -> Finding | None:
    """Return a finding in which the rows that were not touched are as they were: what is shown is rounded."""
    if before is None or after is None:
        return after
    readings = []
    for row, text in rows.items():
        section = "" if row == ANYWHERE else row
        untouched = text == typed_row(before, check, row, system)
        readings += [r for r in (before if untouched else after).readings if r.section == section]
    return replace(after, readings=tuple(readings))


def split_row(text: str) -> tuple[list[str], str]:
    """Return the readings of one row as texts, each with its unit if one was given, and what is wrong.

    Examples
    --------
    >>> split_row("60 55.5 58 in-lb")
    (['60 in-lb', '55.5 in-lb', '58 in-lb'], '')
    >>> split_row("49.2: 31 A4.3:60 N.m")
    (['49.2:31 N.m', 'A4.3:60 N.m'], '')
    >>> split_row("60,5 55")[1]
    "'60,5': put a space between readings, and a point before decimals"
    """
    numbers: list[str] = []
    without_unit = 0
    for piece in re.split(r"[\s;]+|,(?=\s|$)", re.sub(r"\s*:\s*", ":", text.strip())):
        if not piece:
            continue
        try:
            place, colon, typed = piece.rpartition(":")
            piece = f"{place}{colon}{typed_numeral(typed)}"
        except ValueError as fault:
            return [], str(fault)
        if "," in piece:
            return [], say("'{text}': put a space between readings, and a point before decimals", text=piece[:40])
        if "/" in piece and without_unit < len(numbers) and re.fullmatch(r"(.*:)?\d+", numbers[-1]):
            return [], say("'{text}': write it as one number with a point", text=f"{numbers[-1]} {piece[:40]}")
        if re.search(r"\d", piece):
            numbers.append(piece)
        elif not numbers:
            return [], say("'{text}': write the numbers first, then the unit", text=piece[:40])
        else:
            numbers[without_unit:] = [
                n if re.search(r"[^\d./+-]", n.rpartition(":")[2]) else f"{n} {piece}" for n in numbers[without_unit:]
            ]
            without_unit = len(numbers)
    return numbers, ""


def typed_number(finding: Finding | None, check: CheckRow, system: str) -> str:
    """Return what stands in the field of a number."""
    if finding is None or not finding.readings:
        return ""
    return numeral(written(finding.readings[0].value, check, system))


def typed_row(finding: Finding | None, check: CheckRow, section: str, system: str) -> str:
    """Return what stands in the row of one section."""
    section = "" if section == ANYWHERE else section
    readings = finding.readings if finding else ()
    return " ".join(typed_reading(r, check, system) for r in readings if r.section == section)


def typed_reading(reading: Reading, check: CheckRow, system: str) -> str:
    """Return one reading as it stands in a row, with its place where that is told.

    The number is rounded for the eye, to three significant digits, and has the signs of the language.
    """
    place = place_text(reading)
    return f"{place}:{numeral(written(reading.value, check, system))}".removeprefix(":")


def one_of(check: CheckRow, system: str) -> float:
    """Return one of the unit shown, in the unit stored."""
    return FACTORS[check.unit][shown_unit(check.unit, system)]


def written(value: float, check: CheckRow, system: str) -> str:
    """Return a number to three significant digits as files have it: with a point in every language."""
    with speaking(ENGLISH):
        return plain_measure(value if abs(value) > _NOTHING else 0.0, check.unit, system)


def _read(check: CheckRow, content: dict[str, Any], visit: Visit, tables: Tables) -> Read:
    said: list[str] = []
    if check.answer == "choice":
        content.pop("unit", None)
    asked = Section({check.id: content}, "findings", lambda _key, message: said.append(message))
    found, _ = read_findings(asked, visit.piano, tables)
    return (found[0] if found and not said else None), tuple(dict.fromkeys(said))
