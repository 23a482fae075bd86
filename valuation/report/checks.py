"""Which checks can be made on a piano, what they tell about, and what each came to."""

from __future__ import annotations

from collections.abc import Iterable

from valuation.drawing import NOT_LOOKED_AT, UNSEEN, drawn_parts
from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_condition import FindingResult
from valuation.engine.network import fits
from valuation.engine.rows import CAUSES, HISTORY, SEVERITIES, STATES, CheckRow, Tables
from valuation.facts.visit import Visit
from valuation.language import say


def checks_of(visit: Visit, book: Tables) -> list[CheckRow]:
    """Return the checks that can be made on this piano, in the order of the walk."""
    kind, features = visit.piano.kind, visit.piano.features
    read = {row.id for row in book.faults if fits(row, kind, features)} | set(CAUSES)
    return [row for row in book.checks if fits(row, kind, features) and not row.readings_of and row.reads in read]


def is_called_for(check: CheckRow, checks: dict[str, CheckRow], visit: Visit, reads: dict[str, FindingResult]) -> bool:
    """Tell whether a check is asked at once, was answered, or follows from the answer to the one before it."""
    if not check.asked_after or any(finding.check == check.id for finding in visit.findings):
        return True
    before = reads.get(check.asked_after)
    return (
        check.asked_after in checks
        and before is not None
        and SEVERITIES.index(before.grade) >= SEVERITIES.index(check.asked_from)
    )


def part_of_checks(book: Tables) -> dict[str, str]:
    """Return by check the part that it tells about, or that it tells of the piano's life."""
    part = {row.id: row.part for row in book.faults}
    return {row.id: part.get(row.reads, HISTORY) for row in book.checks}


def part_names(book: Tables) -> dict[str, str]:
    """Return by check the name of the part that it tells about."""
    names = {row.id: say(row.name) for row in book.parts} | {HISTORY: say("how it has lived")}
    return {check: names[part] for check, part in part_of_checks(book).items()}


def results_of(found: Appraisal, book: Tables, visit: Visit) -> dict[str, list[FindingResult]]:
    """Return by check what its finding came to: its own result first, then those taken from its readings."""
    return by_check((finding for part in found.parts for finding in part.findings), book, visit)


def by_check(found: Iterable[FindingResult], book: Tables, visit: Visit) -> dict[str, list[FindingResult]]:
    """Return by check what its finding came to: its own result first, then those taken from its readings."""
    results = {finding.check: finding for finding in found}
    sorted_: dict[str, list[FindingResult]] = {name: [result] for name, result in results.items()}
    for row in book.of_kind("checks", visit.piano.kind).values():
        if row.readings_of and row.id in results:
            sorted_.setdefault(row.readings_of, []).append(results[row.id])
    return sorted_


def states_seen(found: Iterable[FindingResult], book: Tables, visit: Visit) -> dict[str, str]:
    """Return by part how it looks by what was found alone, as the drawing shows it; no reckoning of odds.

    A part is as bad as its worst finding. Of a part without one it is said whether it could not be seen, or nobody has
    looked.
    """
    part_of, grades = part_of_checks(book), {finding.check: finding.grade for finding in found}
    states = dict.fromkeys((part_of[check.id] for check in checks_of(visit, book)), NOT_LOOKED_AT)
    hidden = {part_of[finding.check] for finding in visit.findings if finding.cannot_see and finding.check in part_of}
    states |= dict.fromkeys(hidden & states.keys(), UNSEEN)
    for part in states:
        worst = max(
            (SEVERITIES.index(grade) for check, grade in grades.items() if part_of[check] == part), default=None
        )
        if worst is not None:
            states[part] = STATES[worst]
    return {part: state for part, state in states.items() if part in drawn_parts(visit.piano.kind)}
