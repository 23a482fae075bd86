"""Faults in words: what forbids an act, what a component's score hangs on, what a line of work answers. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_condition import ComponentResult, FaultResult, PartResult
from valuation.engine.appraised_work import Allowance, Line
from valuation.engine.rows import SEVERITIES, STATES, Tables
from valuation.engine.rows.words import AT_VISIT
from valuation.language import later, say

BAD = SEVERITIES[2:]
"""From here on a fault is told by its sentence for the client."""

_STOPS = {
    "play": later("It must not be played."),
    "move": later("It must not be moved."),
    "tune": later("It must not be tuned."),
    "raise": later("It must not be pulled up to pitch."),
}
_MOST_ANSWERED = 2
_ACCESS = "access"
_WORN, _LIKELY = STATES.index("worn"), 0.5


def stop_sentences(appraisal: Appraisal) -> tuple[str, ...]:
    """Return what must not be done today, with the faults behind it; what may not be tuned isn't pulled up either."""
    told = fault_sentences(appraisal)
    acts = [act for act in _STOPS if act in appraisal.stops and not (act == "raise" and "tune" in appraisal.stops)]
    return tuple(stop_sentence(act, appraisal.stops[act], told) for act in acts)


def stop_sentence(act: str, faults: Iterable[str], told: Mapping[str, str]) -> str:
    """Return that an act is forbidden, with the sentences of the faults behind it."""
    return " ".join((say(_STOPS[act]), *(told[fault] for fault in faults)))


def fault_sentences(appraisal: Appraisal) -> dict[str, str]:
    """Return the sentence of each fault that is likely or forbids something."""
    return {fault.fault: fault_sentence(fault) for part in appraisal.parts for fault in part.faults}


def fault_sentence(fault: FaultResult) -> str:
    """Return a fault in one sentence; a slight one by what it looks like, for its plain sentence says more."""
    if fault.severity in BAD:
        return say(fault.plain)
    told = f"{say(fault.name)}: {say(fault.looks).rstrip('.')}."
    return f"{told[:1].upper()}{told[1:]}"


def recorded_bad(part: PartResult) -> bool:
    """Tell whether anything found on a part reads marked or severe, whatever else was found."""
    return any(finding.grade in BAD for finding in part.findings)


def why_sentence(part: PartResult) -> str:
    """Return in one sentence what the state of a part hangs on."""
    if not part.faults:
        if recorded_bad(part):
            return say("What was found on it does not agree.")
        return say("Nothing wrong was found.") if part.looked_at else say("Nobody has looked at it.")
    worst = part.faults[0]
    if worst.checks:
        return fault_sentence(worst)
    return say("Not seen, but likely in such a piano: {fault}", fault=fault_sentence(worst))


def worst_part(component: ComponentResult, appraisal: Appraisal) -> PartResult:
    """Return the worst part of a component."""
    return next(part for part in appraisal.parts if part.part == component.worst_part)


def plain_faults(tables: Tables, kind: str) -> Mapping[str, str]:
    """Return the sentence for the client of every fault that such a piano can have."""
    return {row.id: say(row.plain) for row in tables.of_kind("faults", kind).values()}


def answered(faults: Iterable[str], plain: Mapping[str, str]) -> str:
    """Return what work answers: its likeliest faults, each sentence once."""
    return " ".join(list(dict.fromkeys(plain[fault] for fault in faults))[:_MOST_ANSWERED])


def line_answers(line: Line, appraisal: Appraisal, tables: Tables, kind: str) -> str:
    """Return what a fixed line is for: the faults that it answers, or that it comes with other work."""
    settings, plain = tables.settings, plain_faults(tables, kind)
    if line.operation == settings.raise_operation:
        return plain[settings.raise_fault]
    if line.operation in settings.keep_operations:
        return say("This comes with every job.")
    if not line.faults:
        opens = tables.of_kind("operations", kind)[line.operation].level == _ACCESS
        return say("So that what we may find can be put right.") if opens else say("This comes with the other work.")
    if line.part:
        states = next((part.states for part in appraisal.parts if part.part == line.part), ())
        needed = sum(states[_WORN:]) >= _LIKELY
        return answered(line.faults, plain) if needed else say("Needed for the other work.")
    likely = {fault.fault for part in appraisal.parts for fault in part.faults}
    first = [fault for fault in line.faults if fault in likely][:1]
    return answered(first, plain) if first else say("Needed for the other work.")


def seen_words(allowance: Allowance, tables: Tables, kind: str) -> str:
    """Return what would be seen for an if-found line to be called for."""
    return answered(allowance.faults, plain_faults(tables, kind))


def seen_when_words(allowance: Allowance, tables: Tables) -> str:
    """Return when it would be seen: at the piano, or once it is opened so far."""
    if allowance.seen_when == AT_VISIT:
        return say("at the piano")
    return say(next(row.name for row in tables.openings if row.id == allowance.seen_when))
