"""The findings of a visit file: the word, number or readings given for each check."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from valuation.core.rows import GRADES, KINDS, SECTIONS, CheckRow, Tables
from valuation.core.visit import Finding, Piano, Reading
from valuation.facts.declared import MOST_READINGS
from valuation.facts.kinds import TEXT, Words
from valuation.files.answer_checks import CANNOT_SEE, NOT_LOOKED_AT
from valuation.files.check_names import ALWAYS
from valuation.files.faults import did_you_mean, one_of, quoted
from valuation.files.reading_place import places_told_twice, read_reading
from valuation.files.visit_values import AnswerError, Section, read_quantity

_LISTS = (*SECTIONS, "readings")
NOTE = Words(TEXT, lines=True)


def read_findings(section: Section, piano: Piano, tables: Tables) -> tuple[Finding, ...]:
    """Return the findings in the order of the file; those at fault are told and left out.

    Parameters
    ----------
    section : Section
        The table ``findings``.
    piano : Piano
        The instrument; where its kind is not known (told elsewhere) the checks of both kinds will do.
    tables : Tables
        The checks and how they are answered.

    Returns
    -------
    tuple of Finding
        Without the checks not looked at.
    """
    checks = {}
    for kind in [piano.kind] if piano.kind else KINDS:
        checks |= tables.of_kind("checks", kind)
    findings = []
    for name in section.content:
        section.ask(name)
        if name not in checks:
            section.tell(name, _why_no_check(name, piano.kind, tables, checks))
        elif missing := _part_missing(checks[name], piano, tables):
            section.tell(name, missing)
        elif checks[name].readings_of:
            section.tell(name, f"it is worked out from the readings of {quoted(checks[name].readings_of)}; give those")
        elif (finding := _read_finding(section, checks[name], most_readings(checks, name))) is not None:
            findings.append(finding)
    return tuple(findings)


def most_readings(checks: Mapping[str, CheckRow], name: str) -> int:
    """Return how many readings of one check there can be: as many as there are in all, where the tables say."""
    of_all = [row.of_all for row in checks.values() if row.readings_of == name and row.of_all]
    return min(of_all, default=MOST_READINGS)


def too_many(count: int, most: int) -> list[str]:
    """Return a message where there are more readings than there can be."""
    return [f"{count} readings are given, but there are only {most} in all"] if count > most else []


def _read_finding(section: Section, check: CheckRow, most: int) -> Finding | None:
    """Return one finding; None where it was not looked at or something was told."""
    value = section.ask(check.id)
    if not isinstance(value, dict):
        return _read_answer(section, check.id, check, most)
    within = section.section(check.id)
    note = within.words("note", NOTE)
    unit = "" if check.answer == "choice" else within.words("unit")
    if check.answer == "readings" and "value" not in value:
        lists = {key: within.ask(key) for key in _LISTS}
        within.tell_unknown_keys()
        return _read_lists(within, {key: lists[key] for key in value if key in lists}, check, most, unit, note)
    there = within.need("value", "write { value = ..., note = ... }")
    within.ask("value")
    within.tell_unknown_keys()
    return _read_answer(within, "value", check, most, unit, note) if there else None


def _read_answer(
    section: Section, key: str, check: CheckRow, most: int, unit: str = "", note: str = ""
) -> Finding | None:
    """Return the finding given by one word, number or list; None where not looked at or told."""
    value = section.ask(key)
    said = _said(value)
    if said in CANNOT_SEE:
        return Finding(check=check.id, cannot_see=True, note=note)
    if said == NOT_LOOKED_AT:
        if note:
            section.tell(key, "a check that was not made has no note; put it into the story, or leave the check out")
        return None
    if check.answer == "choice":
        grade = _read_grade(section, key, value, check)
        return Finding(check=check.id, grade=grade, note=note) if grade else None
    if said in GRADES:
        section.tell(key, f"{quoted(value)} is a grade, which the tables give; give the number in {check.unit}")
        return None
    if isinstance(value, list) and check.answer == "number":
        section.tell(key, f"one number is asked, not a list; write it like '{check.lowest:g} {check.unit}'")
        return None
    return _read_lists(section, {key: value if isinstance(value, list) else [value]}, check, most, unit, note)


def _read_grade(section: Section, key: str, value: Any, check: CheckRow) -> str:
    words = {word: grade for grade, word in check.choices.items()}
    if not isinstance(value, str):
        section.tell(key, f"{quoted(value)} is no answer to this check, which is answered in words: {one_of(words)}")
        return ""
    grade = ({grade: grade for grade in check.choices} | words).get(_said(value), "")
    if not grade:
        section.tell(key, f"{quoted(value)} is not a choice{did_you_mean(_said(value), [*words, CANNOT_SEE[0]])}")
    return grade


def _read_lists(
    section: Section, lists: Mapping[str, Any], check: CheckRow, most: int, unit: str, note: str
) -> Finding | None:
    """Return a finding of readings, from lists by section or one list under any other key."""
    readings: list[Reading] = []
    faults: list[tuple[str, str]] = []
    for key, values in lists.items():
        if not isinstance(values, list):
            faults.append((key, f"{quoted(values)} is not a list; write it like [60, 55]"))
            continue
        for value in values[:most]:
            try:
                readings.append(_read_one(value, check, unit, key if key in SECTIONS else ""))
            except AnswerError as fault:
                faults.append((key, str(fault)))
    count = sum(len(values) for values in lists.values() if isinstance(values, list))
    first = next(iter(lists), "readings")
    faults += [(first, message) for message in too_many(count, most)]
    if count == 0 and not faults:
        faults.append((first, "no reading is given; give at least one, or leave the check out"))
    other = next((key for key in lists if key not in SECTIONS), first)
    faults += [(reading.section or other, message) for reading, message in places_told_twice(readings)]
    for key, message in faults:
        section.tell(key, message)
    return None if faults else Finding(check=check.id, readings=tuple(readings), note=note)


def _read_one(value: Any, check: CheckRow, unit: str, section: str) -> Reading:
    """Return one reading; only among several does it have a place."""
    if check.answer == "readings":
        return read_reading(value, check.unit, check.lowest, check.highest, unit, section)
    if isinstance(value, str) and ":" in value:
        raise AnswerError(f"{quoted(value)} has a place, but one number is asked for the whole piano; write it without")
    return Reading(value=read_quantity(value, check.unit, check.lowest, check.highest, unit))


def _said(value: Any) -> str:
    """Return what a text says, whatever its capitals and spaces; empty for anything else."""
    return " ".join(value.lower().replace("’", "'").split()) if isinstance(value, str) else ""


def _why_no_check(name: str, kind: str, tables: Tables, checks: Mapping[str, CheckRow]) -> str:
    if any(row.id == name for row in tables.checks):
        return f"this check is not for {kind}s; take it out"
    return f"{quoted(name)} is not a check{did_you_mean(name, checks)}"


def _part_missing(check: CheckRow, piano: Piano, tables: Tables) -> str:
    """Say which feature is lacking where a check looks at a part that only some pianos have."""
    part = next(family.part for family in tables.families if family.id == check.family)
    needed = next((row.present for row in tables.parts if row.id == part), ALWAYS)
    if needed == ALWAYS or needed in piano.features:
        return ""
    return f"it looks at {quoted(part)}, which only a piano with {quoted(needed)} has; add that to piano.features"
