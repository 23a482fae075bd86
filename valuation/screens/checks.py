"""Which checks can be made on a piano, what they tell about, and what each came to."""

from __future__ import annotations

from collections.abc import Iterable

from valuation.engine.appraisal import Appraisal, FindingResult
from valuation.engine.rows import HISTORY, CheckRow, Tables
from valuation.facts.visit import Visit
from valuation.language import say


def checks_of(visit: Visit, book: Tables) -> list[CheckRow]:
    """Return the checks that can be made on this piano, in the order of the walk."""
    present = {row.id for row in book.parts if row.present in ("always", *visit.piano.features)} | {HISTORY}
    family_part = {row.id: row.part for row in book.families}
    rows = book.of_kind("checks", visit.piano.kind).values()
    return [row for row in rows if not row.readings_of and family_part[row.family] in present]


def part_names(book: Tables) -> dict[str, str]:
    """Return by family of checks the name of the part that it tells about."""
    names = {row.id: say(row.name) for row in book.parts} | {HISTORY: say("how it has lived")}
    return {row.id: names[row.part] for row in book.families}


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
