"""Readings of tuning pins as they are typed: rows of numbers, or cells of a grid by key and string. Pure; no widgets.

Both write the same finding. What was not touched stays as it was to the last digit, though the fields show it rounded,
and a reading keeps its place whichever way it is looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from valuation.engine.rows import SECTIONS, CheckRow, Tables
from valuation.facts.keys import KEYS
from valuation.facts.visit import Finding, Reading, Visit
from valuation.files.reading_place import STRINGS, places_told_twice
from valuation.files.visit_findings import most_readings, too_many
from valuation.language import numeral
from valuation.measure.pin_deal import USUAL_ENDS
from valuation.measure.pin_runs import Place
from valuation.screens import answers


def section_ends(readings: Iterable[Reading], told: tuple[int | None, int | None] = (None, None)) -> tuple[int, int]:
    """Return the last key of the bass and of the tenor: as told, else as usual and as fits the readings.

    Examples
    --------
    >>> section_ends([Reading(value=6.0, section="bass", key=31, string=1)])
    (31, 52)
    """
    placed = [reading for reading in readings if reading.key and reading.section]
    ends = []
    for i, usual in enumerate(USUAL_ENDS):
        low = max((r.key for r in placed if SECTIONS.index(r.section) <= i), default=0)
        high = min((r.key for r in placed if SECTIONS.index(r.section) > i), default=KEYS[-1] + 1)
        ends.append(told[i] or (min(max(usual, low), high - 1) if low < high else usual))
    bass = min(max(ends[0], KEYS[0]), KEYS[-1] - 2)
    return bass, min(max(ends[1], bass + 1), KEYS[-1] - 1)


def spans(ends: tuple[int, int]) -> dict[str, range]:
    """Return the keys of each section."""
    starts = (KEYS[0], ends[0] + 1, ends[1] + 1)
    lasts = (*ends, KEYS[-1])
    return {s: range(first, last + 1) for s, first, last in zip(SECTIONS, starts, lasts, strict=True)}


def in_order(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Return readings as they stand in the visit: by section; those with a place by it, the others as they came."""
    sections = {section: i for i, section in enumerate((*SECTIONS, ""))}
    return tuple(sorted(readings, key=lambda r: (sections[r.section], not r.key, r.key, r.string)))


def in_sections(finding: Finding, ends: tuple[int, int]) -> Finding:
    """Return the finding with each reading that has a place in the section where its key lies now."""
    section_of = {key: section for section, keys in spans(ends).items() for key in keys}
    readings = (replace(r, section=section_of[r.key]) if r.key else r for r in finding.readings)
    return replace(finding, readings=in_order(readings))


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked, of which piano, in which units: 'metric' or 'imperial'."""

    check: CheckRow
    visit: Visit
    tables: Tables
    system: str


def row_text(finding: Finding | None, row: str, asked: Asked) -> str:
    """Return what stands in the row of one section, or in `answers.ANYWHERE`."""
    return answers.typed_row(finding, asked.check, row, asked.system)


def take_row(finding: Finding | None, row: str, text: str, asked: Asked) -> answers.Read:
    """Return the finding with one row as it is typed now, and what is wrong; with a fault the finding is as before.

    Parameters
    ----------
    finding : Finding or None
        As it is so far.
    row : str
        Section, or `answers.ANYWHERE`.
    text : str
        Numbers with a space between, each perhaps with its place before it and its unit behind it.
    asked : Asked
        What the row belongs to.
    """
    section = "" if row == answers.ANYWHERE else row
    others = [reading for reading in _readings(finding) if reading.section != section]
    own: Sequence[Reading] = ()
    if text.strip():
        typed, faults = answers.read_rows(asked.check, {row: text}, "", asked.visit, asked.tables, asked.system)
        if typed is None:
            return finding, faults
        own = _as_exact_as_before(answers.split_row(text)[0], typed.readings, finding, section, asked)
    return _whole(finding, [*others, *own], asked)


def _as_exact_as_before(
    typed: Sequence[str], read: Sequence[Reading], finding: Finding | None, section: str, asked: Asked
) -> list[Reading]:
    """Put back the readings whose text was not touched: what is shown is rounded."""
    before: dict[str, list[Reading]] = {}
    for reading in _readings(finding):
        if reading.section == section:
            [shown], _ = answers.split_row(answers.typed_reading(reading, asked.check, asked.system))
            before.setdefault(shown, []).append(reading)
    return [
        before[text].pop(0) if before.get(text) else reading for text, reading in zip(typed, read, strict=True)
    ]  # fmt: skip


def cell(finding: Finding | None, place: Place, asked: Asked) -> float | None:
    """Return the number in one cell, rounded for the eye; None where that pin has no reading."""
    reading = next((r for r in _readings(finding) if (r.key, r.string) == place), None)
    return None if reading is None else float(answers.written(reading.value, asked.check, asked.system))


def take_cells(
    finding: Finding | None, cells: Mapping[Place, float | None], ends: tuple[int, int], asked: Asked
) -> tuple[Finding | None, dict[Place, str]]:
    """Return the finding with some cells as they are typed now, and what is wrong with others, which are left out.

    Parameters
    ----------
    finding : Finding or None
        As it is so far.
    cells : mapping of (key, string) to number
        In the unit shown; None takes a reading away [unit].
    ends : tuple of int
        Last key of the bass and of the tenor.
    asked : Asked
        What the grid belongs to.
    """
    section_of = {key: section for section, keys in spans(ends).items() for key in keys}
    faults: dict[Place, str] = {}
    for place, number in cells.items():
        if number == cell(finding, place, asked):
            continue
        others = [reading for reading in _readings(finding) if (reading.key, reading.string) != place]
        if number is None:
            finding, told = _whole(finding, others, asked)
        else:
            shown = numeral(repr(number).removesuffix(".0"))
            text = {answers.ANYWHERE: f"{place[0]}.{place[1]}:{shown}"}
            typed, told = answers.read_rows(asked.check, text, "", asked.visit, asked.tables, asked.system)
            if typed:
                soft = any(r.soft for r in _readings(finding) if (r.key, r.string) == place)
                own = replace(typed.readings[0], section=section_of[place[0]], soft=soft)
                finding, told = _whole(finding, [*others, own], asked)
        if told:
            faults[place] = told[0]
    return finding, faults


def changed_cells(
    edited: Mapping[int, Mapping[str, float | None]],
    seen: Mapping[int, Mapping[str, float | None]],
    keys: Sequence[int],
) -> dict[Place, float | None]:
    """Return the cells that were edited since the editor was last looked at.

    An editor tells all edits since it was drawn. Those seen before are in the finding already, or somebody has
    changed them since on another device; so they must not be written again.

    Parameters
    ----------
    edited, seen : mapping of row to mapping of column to number
        Edits now and when last looked at; columns are strings, by `column_of`.
    keys : sequence of int
        Key of each row.
    """
    return {
        (keys[int(row)], string): columns[column_of(string)]
        for row, columns in edited.items()
        for string in STRINGS
        if column_of(string) in columns
        and columns[column_of(string)] != seen.get(row, {}).get(column_of(string), _UNTOUCHED)
    }


_UNTOUCHED = object()


def column_of(string: int) -> str:
    """Return the name of a column of the grid."""
    return f"string_{string}"


def _whole(finding: Finding | None, readings: Sequence[Reading], asked: Asked) -> answers.Read:
    """Return the finding of all readings, None where there are none left; with a fault the one before."""
    ordered = in_order(readings)
    faults = [message for _, message in places_told_twice(ordered)]
    checks = asked.tables.of_kind("checks", asked.visit.piano.kind)
    faults += too_many(len(ordered), most_readings(checks, asked.check.id))
    if faults:
        return finding, tuple(faults)
    note = finding.note if finding else ""
    return (Finding(check=asked.check.id, readings=ordered, note=note) if ordered else None), ()


def _readings(finding: Finding | None) -> tuple[Reading, ...]:
    return finding.readings if finding else ()
