"""Between the history of a visit and the `Visit` that is appraised.

The fields are read by the same reader as a visit file, so what a file may hold, a history may hold, with the same
words where it may not.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from datetime import date
from typing import Any

from valuation.engine.rows import SECTIONS, Tables
from valuation.errors import Problem, VisitError
from valuation.facts import FACTS, why_unfit
from valuation.facts.answers import CANNOT_SEE
from valuation.facts.declared import FIRST_VISIT
from valuation.facts.keys import KEYS
from valuation.facts.visit import Client, Finding, Reading, Visit
from valuation.files.reading_place import STRINGS
from valuation.files.visit_file import read_fields
from valuation.files.visit_values import Tell
from valuation.record import Entry, by_field, clash, counted, present, unfit, value_text
from valuation.record.photo_fields import PHOTO, photo_hash

PLAIN = tuple(name for name in FACTS if "." not in name and name != "minutes")
PIANO = tuple(name.removeprefix("piano.") for name in FACTS if name.startswith("piano.") and not name.endswith("."))
CLIENT = tuple(field.name for field in fields(Client))

_OF_CLIENT = {name for name in FACTS if name.startswith("client.")} - {"client.phone"}  # nothing is worked out from it
_KNOWN = {*PLAIN, *(f"piano.{name}" for name in PIANO), *_OF_CLIENT}
_RENEWED, _FINDING = "piano.renewed.", "finding."
_FILE_KEYS = {"piano.size_mm": "piano.size"}
_NO_TITLE = "-"


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photo that belongs to a visit: hash of its file, check or part that it shows, and its caption."""

    hash: str
    check: str
    part: str
    caption: str
    entry: Entry


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedVisit:
    """A visit as it stands, and where it comes from.

    Attributes
    ----------
    visit : Visit
        What is appraised. The title is empty and the kind is empty only where a history from elsewhere lacks them;
        without a day it is that of the first entry. Findings stand in the order of the walk.
    heads : dict of field to Entry
        The present entry of every field ever entered; its value is None where it was taken away. Those set aside are
        among them: `counted` has the others.
    clashes : dict of field to tuple of Entry
        Fields where two people entered different things without seeing each other's; the last one counts until
        somebody settles it.
    photos : tuple of Photo
        In the order in which they were taken.
    set_aside : tuple of Entry
        Entries that count for nothing because they don't fit their field, or today's tables or the rest of the visit
        don't allow them. Kept.
    why_set_aside : dict of field to str
        The reason for each.
    minutes : float
        Time spent [min].
    """

    id: str
    visit: Visit
    heads: dict[str, Entry]
    clashes: dict[str, tuple[Entry, ...]]
    photos: tuple[Photo, ...]
    set_aside: tuple[Entry, ...]
    why_set_aside: dict[str, str]
    minutes: float

    @property
    def can_be_drawn(self) -> bool:
        """Whether its pages can be drawn: without the kind of piano nobody knows which checks and parts there are."""
        return bool(self.visit.piano.kind)

    @property
    def counted(self) -> dict[str, Entry]:
        """The present entry of every field but those set aside: what may be drawn and reckoned with."""
        return {name: entry for name, entry in self.heads.items() if name not in self.why_set_aside}


def from_visit(visit: Visit) -> dict[str, Any]:
    """Return the fields of a visit with what they hold; what is as it usually is, is left out.

    Parameters
    ----------
    visit : Visit
        As from the reader of visit files.

    Returns
    -------
    dict of field to value
        JSON values; numbers in stored units.
    """
    found: dict[str, Any] = {"title": visit.title, "date": visit.on.isoformat()}
    for name in ("technician", "place", "story", "humidity", "temperature"):
        found[name] = getattr(visit, name)
    found |= {f"piano.{name}": getattr(visit.piano, name) for name in PIANO}
    found["piano.features"] = list(visit.piano.features)
    found["piano.year_is_about"] = visit.piano.year_is_about or None
    found |= {f"{_RENEWED}{part}": year for part, year in visit.piano.renewed}
    for name in CLIENT:
        wish = getattr(visit.client, name)
        found[f"client.{name}"] = None if wish == getattr(Client(), name) else wish
    if (value := visit.finished_value) is not None:
        found["finished_value"] = {"low": value.low, "likely": value.likely, "high": value.high}
    found |= {f"{_FINDING}{finding.check}": finding_value(finding) for finding in visit.findings}
    return {name: value for name, value in found.items() if value is not None and value not in ("", [])}


def finding_value(finding: Finding) -> dict[str, Any]:
    """Return a finding as the history holds it."""
    value: dict[str, Any]
    if finding.cannot_see:
        value = {"cannot_see": True}
    elif finding.grade:
        value = {"grade": finding.grade}
    else:
        value = {"readings": [_reading_value(reading) for reading in finding.readings]}
    beside = {"count": finding.count, "sections": list(finding.sections), "note": finding.note}
    return value | {key: held for key, held in beside.items() if held not in (None, [], "")}


def _reading_value(reading: Reading) -> dict[str, Any]:
    place = {"key": reading.key, "string": reading.string} if reading.key else {}
    soft = {"soft": True} if reading.soft else {}
    return {"value": reading.value, "section": reading.section, **place, **soft}


def to_visit(entries: Sequence[Entry], tables: Tables) -> RecordedVisit:
    """Return the visit that a history comes to.

    Parameters
    ----------
    entries : sequence of Entry, at least one
        All of one visit, in any order.
    tables : Tables
        The shop's tables of today; what they don't know is set aside and told.
    """
    if not entries:
        raise ValueError("a visit has at least one entry")
    fields_of = by_field(entries)
    heads: dict[str, Entry] = {}
    for name in sorted(fields_of):
        if (head := present(fields_of[name])) is not None:
            heads[name] = head
    fit, unfitting = counted(fields_of)
    values = {name: entry.value for name, entry in fit.items() if entry.value is not None}
    began = min(entry.at for entry in entries).date()
    visit, faults = _read_values(values, tables, began)
    faults |= unfitting
    photos = []
    for name in heads:
        if name.startswith(PHOTO):
            # where two people said different things of it, it stays with both until that is settled
            said = clash(fields_of[name]) or (heads[name],)
            photos += [_photo(name, end) for end in said if end.value is not None]
    return RecordedVisit(
        id=entries[0].visit,
        visit=visit,
        heads=heads,
        clashes={name: ends for name, all_of_it in sorted(fields_of.items()) if (ends := clash(all_of_it))},
        photos=tuple(sorted(photos, key=lambda photo: min(entry.order for entry in fields_of[photo.entry.field]))),
        set_aside=tuple(heads[name] for name in sorted(faults)),
        why_set_aside=dict(sorted(faults.items())),
        minutes=float(values.get("minutes", 0)),
    )


def _photo(field: str, entry: Entry) -> Photo:
    told = {} if unfit(entry) else entry.value  # a photo stays, whatever was said of it
    words = {key: told.get(key) or "" for key in ("check", "part", "caption")}
    return Photo(hash=photo_hash(field), entry=entry, **words)


def visit_as_text(visit: Visit) -> str:
    """Return a visit as the one text of its fields that `visit_of_text` reads back; only letters of ASCII are in it."""
    return value_text(from_visit(visit))


def visit_of_text(text: str, tables: Tables) -> tuple[Visit, dict[str, str]]:
    """Return the visit that `visit_as_text` wrote, and why each field that these tables don't allow is left out of it.

    Raises
    ------
    ValueError
        If it is no such text.
    """
    values = json.loads(text)
    if not isinstance(values, dict):
        raise ValueError("a visit is a table of fields")
    told = {name: value for name, value in values.items() if value is not None}
    unfitting = {name: fault for name, value in told.items() if (fault := why_unfit(name, value, date.max))}
    fit = {name: value for name, value in told.items() if name not in unfitting}
    visit, faults = _read_values(fit, tables, FIRST_VISIT)
    return visit, faults | unfitting


def check_value(values: Mapping[str, Any], name: str, value: Any, tables: Tables) -> None:
    """Refuse a value that the reader of visit files would refuse; fields that it doesn't know may hold anything.

    Parameters
    ----------
    values : mapping of field to value
        What the visit holds so far.
    name : str
        The field.
    value : object
        What is to go in, as JSON.
    tables : Tables
        The shop's tables.

    Raises
    ------
    VisitError
        If it is refused; says what to write instead.
    """
    fresh = {field: held for field, held in {**values, name: value}.items() if held is not None}
    _, faults = _read_values(fresh, tables, date.max)
    if value is not None and name in faults:
        raise VisitError([Problem("visit", 0, name, faults[name])])


def _into(told: list[tuple[str, str]]) -> Tell:
    """Return what takes each fault with its key into a list."""
    return lambda key, fault: told.append((key, fault))


def _read_values(values: Mapping[str, Any], tables: Tables, began: date) -> tuple[Visit, dict[str, str]]:
    """Return the visit, and why each field that was left out of it was."""
    kept = {name: value for name, value in values.items() if _is_read(name, value)}
    faults: dict[str, str] = {}
    while True:
        told: list[tuple[str, str]] = []
        content = _content(kept, tables, max(began, FIRST_VISIT))
        visit = read_fields(content, _into(told), tables)
        wrong = {name: fault for key, fault in reversed(told) for name in kept if _stands_for(key, name)}
        if not wrong:
            break
        faults |= wrong
        kept = {name: value for name, value in kept.items() if name not in wrong}
    if visit is None:
        raise AssertionError("the day is given and right, so there is a visit")
    older = {now: old for old, now in visit.taken_over}
    findings = tuple(
        replace(f, readings=_readings(kept.get(_FINDING + f.check, kept.get(_FINDING + older.get(f.check, ""))), f))
        for f in visit.findings
    )
    title = visit.title if "title" in kept else ""
    return replace(visit, title=title, findings=findings), dict(sorted(faults.items()))


def _is_read(name: str, value: Any) -> bool:
    """Tell whether a field is one of a visit file's and holds anything for it; a note alone is no finding."""
    if name.startswith(_FINDING):
        return not (isinstance(value, dict) and set(value) <= {"note"})
    return name in _KNOWN or name.startswith(_RENEWED)


def _content(values: Mapping[str, Any], tables: Tables, began: date) -> dict[str, Any]:
    """Return the fields as the content of a visit file."""
    content: dict[str, Any] = {
        "title": _NO_TITLE,
        "date": began,
        "piano": {"renewed": {}},
        "client": {},
        "findings": {},
    }
    for name, value in values.items():
        section, _, key = _file_key(name).partition(".")
        if name.startswith(_FINDING):
            content[section][key] = _answer(value)
        elif name.startswith(_RENEWED):
            content["piano"]["renewed"][name.removeprefix(_RENEWED)] = value
        elif section in ("piano", "client") and key:
            content[section][key] = value
        else:
            content[name] = _day(value) if name == "date" else value
    walk = list(dict.fromkeys(row.id for row in tables.checks))
    content["findings"] = dict(sorted(content["findings"].items(), key=lambda item: _place(walk, item[0])))
    parts = [row.id for row in tables.parts]
    renewed = content["piano"]["renewed"]
    content["piano"]["renewed"] = dict(sorted(renewed.items(), key=lambda item: _place(parts, item[0])))
    return content


def _place(order: Sequence[str], name: str) -> tuple[int, str]:
    return (order.index(name) if name in order else len(order)), name


def _day(value: Any) -> Any:
    """Return a day written as text as a day; anything else as it is, to be told."""
    try:
        return date.fromisoformat(value)
    except (TypeError, ValueError):
        return value


def _answer(value: Any) -> Any:
    """Return a finding as a visit file writes it; what is not one as it is, to be told."""
    if not isinstance(value, dict):
        return [value] if isinstance(value, str) else value  # a bare word is no finding of a history
    note = {key: value[key] for key in ("note", "count", "sections") if key in value}
    if value.get("cannot_see") is True:
        return {"value": CANNOT_SEE[0], **note}
    if "grade" in value:
        return {"value": value["grade"], **note}
    readings = value.get("readings")
    if not isinstance(readings, list) or not all(isinstance(reading, dict) for reading in readings):
        return {"value": {"readings": readings}, **note}  # no list of readings: told as no answer
    numbers = [reading.get("value") for reading in readings]
    numbers = [[number] if isinstance(number, str) else number for number in numbers]  # no text: units are stored ones
    if len(numbers) == 1 and not any(readings[0].get(name) for name in ("section", "key", "soft")):
        return {"value": numbers[0], **note}
    by_section: dict[str, list[Any]] = {}
    for reading, number in zip(readings, numbers, strict=True):
        by_section.setdefault(str(reading.get("section") or "readings"), []).append(number)
    return {**by_section, **note}


def _readings(value: object, finding: Finding) -> tuple[Reading, ...]:
    """Return the readings of a finding in the order in which they were entered."""
    entered = value.get("readings") if isinstance(value, Mapping) else None  # a single number may stand by itself
    if not isinstance(entered, list) or len(entered) != len(finding.readings):
        return finding.readings
    sections = [reading.get("section") or "" for reading in entered]
    return tuple(
        Reading(
            value=float(reading["value"]),
            section=section if section in SECTIONS else "",
            **_place_of(reading),
            soft=reading.get("soft") is True,
        )
        for reading, section in zip(entered, sections, strict=True)
    )


def _place_of(reading: Mapping[str, Any]) -> dict[str, int]:
    """Return the key and string of a reading; one that no piano has is left out, the number stays."""
    key, string = reading.get("key"), reading.get("string", 0)
    if type(key) is not int or key not in KEYS or type(string) is not int or string not in (0, *STRINGS):
        return {}
    return {"key": key, "string": string}


def _stands_for(key: str, name: str) -> bool:
    """Tell whether a key of a visit file, or what lies above it, is a field."""
    return f"{key}.".startswith(f"{_file_key(name)}.")


def _file_key(name: str) -> str:
    """Return the key of a visit file that stands for a field."""
    if name.startswith(_FINDING):
        return f"findings.{name.removeprefix(_FINDING)}"
    return _FILE_KEYS.get(name, name)
