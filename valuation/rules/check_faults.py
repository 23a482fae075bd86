"""Across tables: every fault can be seen, put right, and spoken of."""

from __future__ import annotations

from collections.abc import Iterator

from valuation.engine.rows.condition import FaultRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import AT_VISIT, SEVERITIES
from valuation.engine.rows.work import CureRow
from valuation.errors import Problem, quoted
from valuation.rules.pianos import first_without
from valuation.rules.places import kinds_of, lacking, plural, problem_at, with_id
from valuation.rules.row_checks import STOPS

NO_REMEDY = "No remedy:"
"""How the note of a fault begins that nothing cures."""


def check_faults_are_seen(book: Tables) -> Iterator[Problem]:
    """Every fault is read by a check of each of its kinds, or shows at a step of an opening."""
    for index, fault in enumerate(book.faults):
        if fault.seen_at == AT_VISIT:
            unseen_on = first_without(book, fault, (check for check in book.checks if check.reads == fault.id))
            if unseen_on:
                message = (
                    f"no check of {unseen_on} reads {quoted(fault.id)}; add one, or name in seen_at the step of "
                    "an opening that first shows it"
                )
                yield problem_at(book, "faults", index, "seen_at", message)
            continue
        steps = with_id(book.openings, fault.seen_at)
        if any(step.step == 0 for step in steps):
            message = f"{quoted(fault.seen_at)} opens nothing; write '{AT_VISIT}', or a step that does"
            yield problem_at(book, "faults", index, "seen_at", message)
        elif steps and (kinds := lacking(steps, fault.kinds)):
            message = f"there is no step {quoted(fault.seen_at)} for {plural(kinds)}; name one that there is for all"
            yield problem_at(book, "faults", index, "seen_at", message)


def check_faults_are_cured(book: Tables) -> Iterator[Problem]:
    """Every fault that counts as broken is cured by a remedy of each of its kinds, or its note says why by none."""
    for index, fault in enumerate(book.faults):
        none = fault.note.startswith(NO_REMEDY)
        for severity in SEVERITIES[SEVERITIES.index(fault.put_right_from) :]:
            curing = {cure.operation for cure in book.cures if cure.fault == fault.id and _cures(cure, fault, severity)}
            uncured_on = first_without(book, fault, (row for row in book.operations if row.id in curing))
            if uncured_on and not none:
                message = (
                    f"no remedy of {uncured_on} cures {quoted(fault.id)} where it is {severity}; add one to "
                    f"cures.csv, or begin the note with '{NO_REMEDY}' and say why"
                )
                yield problem_at(book, "faults", index, "id", message)
                break
            if none and curing:
                message = f"the note says '{NO_REMEDY}', but {quoted(min(curing))} cures it; change one of the two"
                yield problem_at(book, "faults", index, "note", message)
                break


def check_stops_are_said(book: Tables) -> Iterator[Problem]:
    """A fault that stops tuning, pulling up, playing or moving has a caution that says so, no later than it does."""
    said: dict[str, int] = {}
    for caution in book.cautions:
        if caution.fault and caution.rank != "note":
            since = SEVERITIES.index(caution.since)
            said[caution.fault] = min(since, said.get(caution.fault, since))
    for index, fault in enumerate(book.faults):
        for stop in STOPS:
            since = getattr(fault, stop)
            if since and SEVERITIES.index(since) < said.get(fault.id, len(SEVERITIES)):
                message = f"no stop or warning of cautions.csv says so from {since} on; add one, or change its since"
                yield problem_at(book, "faults", index, stop, message)


def check_conflicts(book: Tables) -> Iterator[Problem]:
    """Two faults that conflict occur on the same kind of piano."""
    for index, row in enumerate(book.conflicts):
        first, second = (with_id(book.faults, name) for name in (row.fault, row.with_fault))
        kinds = {kind for fault in first for kind in kinds_of(fault.kinds)}
        if first and second and not any(kind in kinds for fault in second for kind in kinds_of(fault.kinds)):
            message = f"{quoted(row.fault)} and {quoted(row.with_fault)} are never on one piano; delete the row"
            yield problem_at(book, "conflicts", index, "with_fault", message)


def _cures(cure: CureRow, fault: FaultRow, severity: str) -> bool:
    """Say whether the fault, so severe, no longer counts as broken after the cure."""
    left = getattr(cure, severity)
    return bool(left) and SEVERITIES.index(left) < SEVERITIES.index(fault.put_right_from)


FAULT_CHECKS = (check_faults_are_seen, check_faults_are_cured, check_stops_are_said, check_conflicts)
