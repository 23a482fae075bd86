"""What a device needs of a visit to go on alone: its checks with their words in every language, and the drawing."""

from __future__ import annotations

from typing import Any

from valuation.drawing import draw, drawn_parts
from valuation.engine.rows import HISTORY, SECTIONS, CheckRow, Tables
from valuation.facts.keys import key_name
from valuation.facts.units import FACTORS
from valuation.facts.visit import Visit
from valuation.language import LANGUAGES, say, speaking
from valuation.measure.pin_deal import USUAL_ENDS, deal_pins, pins_of, start_of
from valuation.readings.pins import TORQUE
from valuation.record import Entry
from valuation.report.checks import checks_of, part_of_checks
from valuation.report.format import shown_unit, unit_words
from valuation.report.labels import PLACE_NAMES, choice_looks, choice_word
from valuation.walk.sounds import notes_of

SYSTEMS = ("metric", "imperial")

_ROOM = "00/00"
"""Stands on the drawing where the device puts how many checks of a part were made."""

DEALT = 24
"""Pins that are dealt: twelve for a quick look, and as many more where one is slack [-]."""

_RANKS = ("stop", "warn")
"""Cautions that are told at once, at the piano; notes can wait for the paper."""


def content(visit: Visit, tables: Tables, language: str, visit_id: str = "") -> dict[str, Any]:
    """Return the checks of a piano with all that the first screens need in one language, as JSON.

    Reasons, tools and the other languages come after it: see `all_words`. Which pins are dealt hangs on the visit's id.
    """
    checks, part_of = checks_of(visit, tables), part_of_checks(tables)
    by_id = tables.of_kind("checks", visit.piano.kind)
    taken_from: dict[str, list[CheckRow]] = {}
    for row in by_id.values():
        if row.readings_of:
            taken_from.setdefault(row.readings_of, []).append(row)
    with speaking(language):
        words = {language: _words(visit, tables)}
    return {
        "kind": visit.piano.kind,
        "history": HISTORY,
        "checks": [
            _check(check, part_of[check.id], taken_from.get(check.id, []), tables)
            | ({"deal": _deal(visit_id)} if check.id == TORQUE else {})
            for check in checks
        ],
        "accesses": [{"id": row.id, "minutes": row.minutes} for row in tables.accesses],
        "gates": _gates(checks, part_of, tables),
        "words": words,
    }  # fmt: skip


def all_words(visit: Visit, tables: Tables, there: str = "") -> dict[str, Any]:
    """Return the words of a visit in every language, as JSON; of the language that is there, only what it lacks."""
    told, checks = {}, checks_of(visit, tables)
    for language in LANGUAGES:
        with speaking(language):
            told[language] = (
                {"checks": {check.id: {} for check in checks}} if language == there else _words(visit, tables)
            )
            for check in checks:
                beside = (("why", check.why), ("tool", check.tool), ("note", check.note))
                told[language]["checks"][check.id] |= {key: say(text) for key, text in beside if text}
    return told


def entry_told(entry: Entry) -> dict[str, Any]:
    """Return an entry as the device keeps it."""
    return {
        "id": entry.id, "at": entry.at.isoformat(), "who": entry.who, "device": entry.device, "field": entry.field,
        "value": entry.value, "follows": list(entry.follows), "undoes": entry.undoes, "seq": entry.seq,
    }  # fmt: skip


def _check(check: CheckRow, part: str, taken_from: list[CheckRow], tables: Tables) -> dict[str, Any]:
    told = {
        "id": check.id, "part": part, "access": check.access, "quick": check.quick, "must": check.must == "yes",
        "minutes": check.minutes, "answer": check.answer, "after": check.asked_after, "from": check.asked_from,
        "extent": check.extent, "sounds": [(key, name, _section(key)) for key, name in notes_of(check.id)],
        "reads": [_reading(row, tables) for row in (check, *taken_from)],
    }  # fmt: skip
    told = {key: value for key, value in told.items() if value not in ("", False, "none", [])}
    if check.answer == "choice":
        return told | {"choices": list(check.choices)}
    return told | {
        "unit": check.unit, "low": check.lowest, "high": check.highest, "pieces": check.summary == "pieces",
        "factors": {system: FACTORS[check.unit][shown_unit(check.unit, system)] for system in SYSTEMS},
        "whole": check.unit in ("count", "swings"),
    }  # fmt: skip


def _deal(visit_id: str) -> list[tuple[int, int, str, str]]:
    """Return the pins to try as key, string, section and the key's name: half of them along the keyboard, then more."""
    dealt = deal_pins(pins_of(USUAL_ENDS[0]), DEALT, start_of(visit_id))
    halves = sorted(dealt[: DEALT // 2]) + sorted(dealt[DEALT // 2 :])
    return [
        (key, string, _section(key), key_name(key)) for key, string in halves
    ]  # fmt: skip


def _section(key: int) -> str:
    return SECTIONS[sum(key > end for end in USUAL_ENDS)]


def _reading(row: CheckRow, tables: Tables) -> dict[str, Any]:
    """Return how a check's finding is read on the device, and which cautions that calls up."""
    cautions = [caution for caution in tables.cautions if caution.fault == row.reads and caution.rank in _RANKS]
    told: dict[str, Any] = {"summary": row.summary}
    if row.answer != "choice":
        told |= {"better": row.better, "cuts": [row.cut_slight, row.cut_marked, row.cut_severe]}
    if cautions:
        told["cautions"] = [{"id": row.id, "rank": row.rank, "since": row.since} for row in cautions]
    return told


def _gates(checks: list[CheckRow], part_of: dict[str, str], tables: Tables) -> list[dict[str, Any]]:
    """Return what has to be seen before any verdict: of each gate, the checks of which one at least is made."""
    found = []
    for part in tables.parts:
        musts = [check.id for check in checks if part_of[check.id] == part.id and check.must == "yes"]
        if part.gate and musts:
            found.append({"part": part.id, "checks": musts})
    return found


def _words(visit: Visit, tables: Tables) -> dict[str, Any]:
    checks, part_of = checks_of(visit, tables), part_of_checks(tables)
    parts = [part for part in drawn_parts(visit.piano.kind) if any(part_of[check.id] == part for check in checks)]
    names = {part.id: say(part.called or part.name) for part in tables.parts} | {HISTORY: say("how it has lived")}
    faults = {row.reads for row in tables.of_kind("checks", visit.piano.kind).values()}
    cautions = [row for row in tables.cautions if row.fault in faults and row.rank in _RANKS]
    drawn = draw(
        visit.piano.kind, dict.fromkeys(parts, ""), names={part: names[part] for part in parts},
        words=dict.fromkeys(parts, _ROOM), legend=False,
    )  # fmt: skip
    return {
        "drawing": drawn,
        "parts": names,
        "accesses": {access: say(name) for access, name in PLACE_NAMES.items()},
        "checks": {check.id: _check_words(check) for check in checks},
        "cautions": {row.id: say(row.text) for row in cautions},
    }


def _check_words(check: CheckRow) -> dict[str, Any]:
    told: dict[str, Any] = {"name": say(check.name), "how": say(check.how)}
    if check.answer == "choice":
        return told | {
            "choices": {grade: [choice_word(check, grade), choice_looks(check, grade)] for grade in check.choices}
        }
    return told | {"units": {system: unit_words(check.unit, system) for system in SYSTEMS}}
