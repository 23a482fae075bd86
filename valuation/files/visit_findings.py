"""The findings of a visit file: the word, number or readings given for each check."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import inf
from typing import Any

from valuation.engine.rows import KINDS, SECTIONS, SEVERITIES, CheckRow, Tables, TakenOverRow
from valuation.errors import quoted
from valuation.facts import fact
from valuation.facts.answers import CANNOT_SEE, NOT_LOOKED_AT
from valuation.facts.declared import FINDING, MOST_READINGS
from valuation.facts.kinds import Number, Words
from valuation.facts.visit import Finding, Piano, Reading
from valuation.facts.words import GRADES
from valuation.files.faults import did_you_mean, one_of
from valuation.files.reading_place import places_told_twice, read_reading
from valuation.files.visit_values import AnswerError, Section, read_quantity

_LISTS = (*SECTIONS, "readings")


def read_findings(
    section: Section, piano: Piano, tables: Tables
) -> tuple[tuple[Finding, ...], tuple[tuple[str, str], ...]]:
    """Return the findings in the order of the file, and what became of older checks; faults are told and left out.

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
    findings : tuple of Finding
        Without the checks not looked at.
    taken_over : tuple of (str, str)
        Checks of older tables, and the check that each counts for today; empty where it is passed over.
    """
    checks: dict[str, CheckRow] = {}
    for kind in [piano.kind] if piano.kind else KINDS:
        checks |= tables.of_kind("checks", kind)
    findings: list[Finding] = []
    taken: list[tuple[str, str]] = []
    for name in section.content:
        value = section.ask(name)
        older = take_over(tables, checks, name, value)
        if older is not None:
            taken.append((name, older.check if older.check in checks else ""))
            if (finding := _older_finding(section, checks, name, older)) is not None:
                findings.append(finding)
        elif name not in checks:
            section.tell(name, _why_no_check(name, piano.kind, tables, checks))
        elif missing := _feature_missing(checks[name], piano):
            section.tell(name, missing)
        elif checks[name].readings_of:
            section.tell(name, f"it is worked out from the readings of {quoted(checks[name].readings_of)}; give those")
        elif (finding := _read_finding(section, name, checks[name], most_readings(checks, name))) is not None:
            findings.append(finding)
    first = {finding.check: finding for finding in reversed(findings)}
    return tuple(first[check] for check in dict.fromkeys(f.check for f in findings)), tuple(taken)


def take_over(tables: Tables, checks: Mapping[str, CheckRow], name: str, value: Any) -> TakenOverRow | None:
    """Return what became of an answer of older tables; None where it is one of today's."""
    rows = [row for row in tables.taken_over if row.old_check == name]
    said = _said(value.get("value") if isinstance(value, dict) else value)
    for row in rows:
        if row.old_word and row.old_word == said:
            return row
    whole = next((row for row in rows if not row.old_word), None)
    if name in checks:
        return whole if whole is not None and said not in (*CANNOT_SEE, NOT_LOOKED_AT, *SEVERITIES) else None
    if whole is not None:
        return whole
    now = next((row.id for row in checks.values() if name in row.replaces), None)
    return TakenOverRow(old_check=name, check=now) if now else None


def _older_finding(section: Section, checks: Mapping[str, CheckRow], name: str, older: TakenOverRow) -> Finding | None:
    """Return the finding of an older check as today's check has it; None where it is passed over."""
    value = section.ask(name)
    note = ""
    if isinstance(value, dict):
        note = section.section(name).words("note", fact("note", Words, FINDING.keys))
    if older.check not in checks:
        return None
    check = checks[older.check]
    if older.severity:
        return Finding(check=check.id, grade=older.severity, note=note)
    return _read_finding(section, name, check, most_readings(checks, check.id))


def most_readings(checks: Mapping[str, CheckRow], name: str) -> int:
    """Return how many readings of one check there can be: as many as there are in all, where the tables say."""
    of_all = [row.of_all for row in checks.values() if row.readings_of == name and row.of_all]
    return min(of_all, default=MOST_READINGS)


def too_many(count: int, most: int) -> list[str]:
    """Return a message where there are more readings than there can be."""
    return [f"{count} readings are given, but there are only {most} in all"] if count > most else []


def _read_finding(section: Section, name: str, check: CheckRow, most: int) -> Finding | None:
    """Return one finding; None where it was not looked at or something was told."""
    value = section.ask(name)
    if not isinstance(value, dict):
        return _read_answer(section, name, check, most)
    within = section.section(name)
    note = within.words("note", fact("note", Words, FINDING.keys))
    count = within.number("count", fact("count", Number, FINDING.keys))
    sections = within.names("sections", list(SECTIONS), "section")
    unit = "" if check.answer == "choice" else within.words("unit")
    if check.answer == "readings" and "value" not in value:
        lists = {key: within.ask(key) for key in _LISTS}
        within.tell_unknown_keys()
        read = _read_lists(within, {key: lists[key] for key in value if key in lists}, check, most, unit, note)
    else:
        there = within.need("value", "write { value = ..., note = ... }")
        within.ask("value")
        within.tell_unknown_keys()
        read = _read_answer(within, "value", check, most, unit, note) if there else None
    return replace(read, count=count, sections=sections) if read is not None else None


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
    if said in (*SEVERITIES, *GRADES):
        section.tell(key, f"{quoted(value)} is a severity, which the tables give; give the number in {check.unit}")
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
    older = {old: severity for old, severity in zip(GRADES, SEVERITIES, strict=True) if severity in check.choices}
    grade = (older | {severity: severity for severity in check.choices} | words).get(_said(value), "")
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
    low = -inf if check.lowest is None else check.lowest
    high = inf if check.highest is None else check.highest
    if check.answer == "readings":
        return read_reading(value, check.unit, low, high, unit, section)
    if isinstance(value, str) and ":" in value:
        raise AnswerError(f"{quoted(value)} has a place, but one number is asked for the whole piano; write it without")
    return Reading(value=read_quantity(value, check.unit, low, high, unit))


def _said(value: Any) -> str:
    """Return what a text says, whatever its capitals and spaces; empty for anything else."""
    return " ".join(value.lower().replace("’", "'").split()) if isinstance(value, str) else ""


def _why_no_check(name: str, kind: str, tables: Tables, checks: Mapping[str, CheckRow]) -> str:
    if any(row.id == name for row in tables.checks):
        return f"this check is not for {kind}s; take it out"
    return f"{quoted(name)} is not a check{did_you_mean(name, checks)}"


def _feature_missing(check: CheckRow, piano: Piano) -> str:
    """Say which feature is lacking, or in the way, where a check is for some pianos only."""
    if check.only_with and not set(check.only_with) & set(piano.features):
        return f"it is only for a piano with {one_of(check.only_with)}; add that to piano.features"
    if in_the_way := sorted(set(check.not_with) & set(piano.features)):
        return f"it is not for a piano with {one_of(in_the_way)}; take it out"
    return ""
