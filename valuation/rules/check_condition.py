"""Across tables: states, hidden causes, parts, systems, and the odds of every fault."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from valuation.engine.rows.condition import OddsRow
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import CAUSES, KINDS, LEVELS_OF_CAUSE, STATES, TILTS
from valuation.errors import Problem, quoted
from valuation.files.row_shapes import SUM_WITHIN
from valuation.rules.places import kinds_of, lacking, plural, problem_at, with_id


def check_states(book: Tables) -> Iterator[Problem]:
    """The four states stand in order, share out the score from 100 to 0, and hold the whole piano ever lower."""
    if tuple(row.id for row in book.states) != STATES:
        message = f"there must be exactly these rows, in this order: {', '.join(STATES)}"
        yield problem_at(book, "states", None, "id", message)
        return
    ends = [100.0, *(row.score_low for row in book.states)]
    for index, (row, end) in enumerate(zip(book.states, ends, strict=False)):
        if row.score_high != end:
            message = (
                f"the score of {row.id} ends at {row.score_high:g}; it must end at {end:g}, where the better one begins"
            )
            yield problem_at(book, "states", index, "score_high", message)
    if ends[-1] != 0:
        message = f"the score must begin at 0, not at {ends[-1]:g}"
        yield problem_at(book, "states", len(STATES) - 1, "score_low", message)
    for index, (better, worse) in enumerate(pairwise(book.states), start=1):
        if worse.whole_at_most > better.whole_at_most:
            message = f"it is more than with a gate that is {better.id}; a worse gate can't let the whole score higher"
            yield problem_at(book, "states", index, "whole_at_most", message)


def check_hidden(book: Tables) -> Iterator[Problem]:
    """Each hidden cause has its three levels in order, and their odds add to 1."""
    for cause in CAUSES:
        rows = [row for row in book.hidden if row.cause == cause]
        levels = LEVELS_OF_CAUSE[cause]
        if tuple(row.id for row in rows) != levels:
            message = f"{cause} needs exactly these rows, in this order: {', '.join(levels)}"
            yield problem_at(book, "hidden", None, "id", message)
            continue
        total = sum(row.odds for row in rows)
        if abs(total - 1) > SUM_WITHIN:
            yield problem_at(
                book, "hidden", None, "odds", f"the odds of {cause} add to {total:.6g}; they must add to 1"
            )


def check_tilts(book: Tables) -> Iterator[Problem]:
    """Each cause has every tilt, and a stronger one reaches at least as far."""
    for cause in CAUSES:
        rows = {row.id: (index, row) for index, row in enumerate(book.tilts) if row.cause == cause}
        missing = [tilt for tilt in TILTS if tilt not in rows]
        if missing:
            message = f"there is no row for {cause}, {' and '.join(missing)}; add it"
            yield problem_at(book, "tilts", None, "id", message)
            continue
        for (_, weaker), (index, stronger) in pairwise(rows[tilt] for tilt in TILTS):
            if stronger.hard - stronger.mild < weaker.hard - weaker.mild:
                message = f"from mild to hard it is less than {weaker.id}; a stronger tilt can't reach less far"
                yield problem_at(book, "tilts", index, "hard", message)


def check_parts(book: Tables) -> Iterator[Problem]:
    """Every component has parts, every part faults, and the worth hangs on the parts that are always there to 1."""
    used = {part.component for part in book.parts}
    for index, component in enumerate(book.components):
        if component.id not in used:
            message = f"no part belongs to {quoted(component.id)}; add one or delete it"
            yield problem_at(book, "components", index, "id", message)
    with_faults = {fault.part for fault in book.faults}
    for index, part in enumerate(book.parts):
        if part.id not in with_faults:
            message = f"nothing can be wrong with {quoted(part.id)}; add a fault of it, or delete the part"
            yield problem_at(book, "parts", index, "id", message)
    total = sum(part.value_weight for part in book.parts if not part.only_with)
    if abs(total - 1) > SUM_WITHIN:
        message = f"value_weight adds to {total:.6g} over the parts without only_with; it must add to 1"
        yield problem_at(book, "parts", None, "value_weight", message)
    if not any(part.score_weight for part in book.parts if not part.only_with):
        yield problem_at(book, "parts", None, "score_weight", "at least one part of every piano must count: above 0")


def check_gates(book: Tables) -> Iterator[Problem]:
    """A gate can be looked at before any verdict, on every kind of piano."""
    for index, part in enumerate(book.parts):
        if not part.gate:
            continue
        faults = {fault.id for fault in book.faults if fault.part == part.id}
        musts = [row for row in book.checks if row.must == "yes" and row.reads in faults and not row.asked_after]
        if kinds := lacking(musts, "both"):
            message = (
                f"{quoted(part.id)} is a gate, but no check of its faults for {plural(kinds)} must be made; "
                "set must to 'yes' for one, or gate to 'no'"
            )
            yield problem_at(book, "parts", index, "gate", message)


def check_systems(book: Tables) -> Iterator[Problem]:
    """No part belongs to two systems."""
    of: dict[str, str] = {}
    for index, system in enumerate(book.systems):
        for part in system.parts:
            if part in of:
                message = f"{quoted(part)} belongs to {quoted(of[part])} already; take it out of one of the two"
                yield problem_at(book, "systems", index, "parts", message)
            of.setdefault(part, system.id)


def check_odds(book: Tables) -> Iterator[Problem]:
    """Every fault has odds for all pianos or for each of its kinds, at all its ages."""
    by_fault: dict[str, dict[str, list[tuple[int, OddsRow]]]] = defaultdict(lambda: defaultdict(list))
    for index, odds in enumerate(book.fault_odds):
        by_fault[odds.fault][odds.build].append((index, odds))
    told: set[str] = set()
    for index, fault in enumerate(book.faults):
        builds = by_fault[fault.id]
        missing = [kind for kind in kinds_of(fault.kinds) if not builds.keys() & {"", kind}]
        if missing:
            message = (
                f"{quoted(fault.id)} has no odds for {plural(missing)}; add rows to fault_odds.csv, build empty for all"
            )
            yield problem_at(book, "faults", index, "id", message)
        if fault.id not in told:
            told.add(fault.id)
            yield from _check_ages(book, fault.id, builds)
    for index, odds in enumerate(book.fault_odds):
        if odds.build in KINDS and lacking(with_id(book.faults, odds.fault), odds.build):
            message = f"{quoted(odds.fault)} is no fault of {odds.build}s; delete the row"
            yield problem_at(book, "fault_odds", index, "build", message)


def _check_ages(book: Tables, fault: str, builds: dict[str, list[tuple[int, OddsRow]]]) -> Iterator[Problem]:
    """All pianos, and each kind, have every age that the fault has odds for; a narrower build has no gap."""
    ages = sorted({odds.age for rows in builds.values() for _, odds in rows})
    for build, rows in builds.items():
        there = {odds.age for _, odds in rows}
        first, last = (ages[0], ages[-1]) if build in ("", *KINDS) else (min(there), max(there))
        missing = [f"{age:g}" for age in ages if first <= age <= last and age not in there]
        if missing:
            which = f"build {quoted(build)}" if build else "all pianos"
            message = f"{quoted(fault)} has no row for {which} at {', '.join(missing)} years; add it"
            yield problem_at(book, "fault_odds", rows[0][0], "age", message)


CONDITION_CHECKS = (check_states, check_hidden, check_tilts, check_parts, check_gates, check_systems, check_odds)
