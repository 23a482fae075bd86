"""A `Visit` into the text of a visit file."""

from __future__ import annotations

import json
from collections.abc import Iterator

from valuation.engine.rows import CheckRow, Tables
from valuation.facts.answers import CANNOT_SEE
from valuation.facts.visit import Client, Finding, Piano, Reading, Visit
from valuation.files.reading_place import place_text


def write_visit(visit: Visit, tables: Tables) -> str:
    """Return the TOML text of a visit, which reads back equal.

    Parameters
    ----------
    visit : Visit
        The visit; the readings of a finding are grouped by section.
    tables : Tables
        The shop's tables, which give the words for each grade and the unit of each number.

    Returns
    -------
    str
        The text; numbers are in stored units, which stand beside them.
    """
    lines = [
        f"title = {_text(visit.title)}",
        f"date = {visit.on.isoformat()}",
        *_pairs(technician=visit.technician, place=visit.place, story=visit.story),
        *_pairs(humidity=visit.humidity, temperature=visit.temperature),
        "",
        "[piano]",
        *_piano_lines(visit.piano),
    ]
    if client := list(_client_lines(visit.client)):
        lines += ["", "[client]", *client]
    if visit.finished_value is not None:
        value = visit.finished_value
        lines += ["", "[finished_value]", *_pairs(low=value.low, likely=value.likely, high=value.high)]
    if visit.findings:
        checks = tables.of_kind("checks", visit.piano.kind)
        lines += ["", "[findings]", *(_finding_line(finding, checks[finding.check]) for finding in visit.findings)]
    return "\n".join(lines) + "\n"


def _piano_lines(piano: Piano) -> Iterator[str]:
    yield f"kind = {_text(piano.kind)}"
    if piano.size_mm is not None:
        yield f"size = {piano.size_mm!r}  # mm"
    yield from _pairs(maker=piano.maker, serial=piano.serial, finish=piano.finish, year=piano.year)
    if piano.year_is_about:
        yield "year_is_about = true"
    yield from _pairs(tier=piano.tier)
    if piano.features:
        yield f"features = [{', '.join(map(_text, piano.features))}]"
    if piano.renewed:
        yield ""
        yield "[piano.renewed]"
        yield from (f"{part} = {year}" for part, year in piano.renewed)


def _client_lines(client: Client) -> Iterator[str]:
    yield from _pairs(name=client.name, purpose=client.purpose, wishes=client.wishes)
    if not client.wants_to_play:
        yield "wants_to_play = false"
    yield from _pairs(to_have=client.to_have or None, to_hear=client.to_hear or None, budget=client.budget)
    yield from _pairs(playing_year=client.playing_year, horizon_years=client.horizon_years)


def _finding_line(finding: Finding, check: CheckRow) -> str:
    unit = ""
    if finding.cannot_see:
        value = _text(CANNOT_SEE[0])
    elif finding.grade:
        value = _text(check.choices[finding.grade])
    elif check.answer == "number":
        value, unit = repr(finding.readings[0].value), f"  # {check.unit}"
    else:
        by_section: dict[str, list[str]] = {}
        for reading in finding.readings:
            by_section.setdefault(reading.section or "readings", []).append(_reading(reading))
        lists = ", ".join(f"{section} = [{', '.join(values)}]" for section, values in by_section.items())
        return f"{finding.check} = {{ {lists}, unit = {_text(check.unit)}{_beside(finding)} }}"
    if beside := _beside(finding):
        return f"{finding.check} = {{ value = {value}{beside} }}{unit}"
    return f"{finding.check} = {value}{unit}"


def _beside(finding: Finding) -> str:
    """Return what stands beside an answer within its braces, each after a comma."""
    count = f", count = {finding.count!r}" if finding.count is not None else ""
    sections = f", sections = [{', '.join(map(_text, finding.sections))}]" if finding.sections else ""
    note = f", note = {_text(finding.note, one_line=True)}" if finding.note else ""
    return f"{count}{sections}{note}"


def _reading(reading: Reading) -> str:
    place = place_text(reading)
    return _text(f"{place}: {reading.value!r}") if place else repr(reading.value)


def _pairs(**values: str | float | None) -> Iterator[str]:
    for key, value in values.items():
        if value not in ("", None):
            yield f"{key} = {_text(value) if isinstance(value, str) else repr(value)}"


def _text(text: str, *, one_line: bool = False) -> str:
    """Return a TOML string; JSON's escapes are TOML's too, but for DEL."""

    def escaped(line: str) -> str:
        return json.dumps(line, ensure_ascii=False)[1:-1].replace("\x7f", "\\u007f")

    if one_line or "\n" not in text:
        return f'"{escaped(text)}"'
    return '"""\n' + "\n".join(map(escaped, text.split("\n"))) + '"""'
