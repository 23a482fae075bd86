"""What stands in the store, in words: for the quiet line after each entry, for clashes and for the history."""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import Any

from valuation.engine.rows import CheckRow, Tables
from valuation.errors import quoted
from valuation.facts import why_unfit
from valuation.facts.visit import Visit
from valuation.language import later, numeral, say, say_many
from valuation.report.format import plain_measure, unit_words
from valuation.report.job_words import job_field_words, job_value_words
from valuation.report.labels import choice_word

FACT_NAMES = {
    "title": later("Name of the visit"),
    "date": later("Day of the visit"),
    "technician": later("Technician"),
    "place": later("Where it stands"),
    "story": later("Its story"),
    "humidity": later("Humidity at the piano, in %"),
    "temperature": later("Temperature at the piano, in °C"),
    "piano.kind": later("Kind of piano"),
    "piano.size_mm": later("Height or length"),
    "piano.maker": later("Maker, as written on it"),
    "piano.serial": later("Serial number"),
    "piano.finish": later("Finish, as it looks"),
    "piano.year": later("Year built"),
    "piano.year_is_about": later("The year is a guess"),
    "piano.tier": later("Reputation of the maker"),
    "piano.features": later("Features of build"),
    "client.name": later("Who asks"),
    "client.phone": later("Telephone"),
    "client.purpose": later("Why they ask"),
    "client.wishes": later("What they wish for"),
    "client.wants_to_play": later("A piano to play is wanted"),
    "client.to_have": later("What it is worth to them to have this very piano"),
    "client.to_hear": later("What it is worth to them to hear it played"),
    "client.premium": later("What keeping this very piano is worth to them"),
    "client.budget": later("Most they can spend, tax included"),
    "client.playing_year": later("What a year of good playing is worth to them"),
    "client.horizon_years": later("Years to look ahead"),
    "finished_value": later("What it would fetch with every part sound"),
    "minutes": later("Minutes spent at the piano"),
}
"""What is known of a visit besides its findings, by its field in the store."""

_IN_A_WORD = ("piano.kind", "piano.tier")
"""Fields that hold one of a few words, which is said in the language spoken; all else is somebody's own text."""

_SHOWN = 6
"""So many readings are shown of a long row."""


def field_words(visit: Visit, field: str, book: Tables) -> str:
    """Return what a field of the store is called: the check's name, or the fact's."""
    section, _, name = field.partition(".")
    if section == "finding":
        check = _check(visit, name, book)
        return say(check.name) if check else name
    if section == "photo":
        return say("a photo")
    if section == "job":
        return job_field_words(field, book)
    if field.startswith("piano.renewed."):
        part = field.removeprefix("piano.renewed.")
        named = next((row.name for row in book.parts if row.id == part), part)
        return say("{part} renewed in", part=say(named))
    return say(FACT_NAMES[field]) if field in FACT_NAMES else field


def value_words(visit: Visit, field: str, value: Any, book: Tables, system: str) -> str:
    """Return what was entered, in words; of what can't stand in the field, as much as can be shown."""
    if why_unfit(field, value, date.max):
        return quoted(json.dumps(value))  # letters of ASCII alone
    section, _, name = field.partition(".")
    if section == "finding":
        check = _check(visit, name, book)
        return say("not looked at") if value is None else _finding_words(value, check, system)
    if section == "photo":
        return say("taken away") if value is None else say("kept")
    if section == "job":
        return job_value_words(field, value, book)
    if value is None or value == "":
        return say("not known")
    if value is True or value is False:
        return say("yes") if value else say("no")
    if field == "piano.size_mm":
        return f"{plain_measure(value, 'mm', system)} {unit_words('mm', system)}"
    if isinstance(value, dict):
        return ", ".join(f"{say(key)} {_plain(item)}" for key, item in value.items())
    if isinstance(value, list):
        return ", ".join(map(str, value))
    return say(value) if field in _IN_A_WORD else _plain(value)


def _plain(value: object) -> str:
    return numeral(f"{value:g}") if isinstance(value, float) else str(value)


def clock_words(at: datetime) -> str:
    """Return the time of an entry, at the place where the tool runs."""
    return f"{at.astimezone():%H:%M:%S}"


def _check(visit: Visit, name: str, book: Tables) -> CheckRow | None:
    return book.of_kind("checks", visit.piano.kind).get(name)


def _finding_words(value: dict | float, check: CheckRow | None, system: str) -> str:
    """Return a finding as the store holds it; today's tables may not know its check any more."""
    if not isinstance(value, dict):
        value = {"readings": [{"value": value}]}
    readings = value.get("readings") or []
    if value.get("cannot_see"):
        words = say("can't be seen")
    elif grade := value.get("grade"):
        words = choice_word(check, grade) if check and grade in check.choices else say(grade)
    elif check is None or check.answer == "choice":
        words = say_many("{count} reading", "{count} readings", len(readings))
    else:
        shown = " ".join(plain_measure(reading["value"], check.unit, system) for reading in readings[:_SHOWN])
        more = " ..." if len(readings) > _SHOWN else ""
        words = f"{shown}{more} {unit_words(check.unit, system)}".strip()
    return f"{words} ({value['note']})" if value.get("note") else words
