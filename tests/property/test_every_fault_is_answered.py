"""Whatever can be found can be priced: each fault, from where it counts as broken, on the plainest piano that has it.

A technician sees the fault and nothing else wrong. Some scope then names it on a line, fixed or if found, or a caution
says what is not done about it.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from twelve_visits import ON, Case, Expected, grand, upright, visit_of

from valuation.engine.lines import lines_of, repairs_of
from valuation.engine.rows.tables import Tables
from valuation.engine.rows.words import SEVERITIES
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.rules import load_tables
from valuation.rules.pianos import pianos_with

TABLES = load_tables()
IN_THE_WALK = {row.reads for row in TABLES.checks if row.access != "strings"}
LIKELY = 0.5


def found_alone() -> Iterator[pytest.param]:
    """Yield (kind, features, fault, severity) of each fault that a walk can show, where it counts as broken."""
    for fault in TABLES.faults:
        if fault.id in IN_THE_WALK:
            kind, features = next(pianos_with(TABLES, fault))
            for severity in SEVERITIES[SEVERITIES.index(fault.put_right_from) :]:
                yield pytest.param(kind, features, fault.id, severity, id=f"{kind}-{fault.id}-{severity}")


def studied(kind: str, features: frozenset[str], fault: str, severity: str) -> tuple[Study, Answer]:
    more = {"features": tuple(sorted(features))}
    piano = upright(1925, "good", **more) if kind == "upright" else grand(1925, "good", 1800, **more)
    case = Case(id=fault, piano=piano, faults={fault: severity}, expected=Expected(verdicts=(), says=""))
    study = study_of(visit_of(case, TABLES), TABLES, on=ON)
    return study, decide_at(study)


def named(study: Study, answer: Answer) -> set[str]:
    """Return every fault that a line of a scope names, fixed or if found."""
    bench, faults = answer.bench, set()
    for scope in answer.decision.scopes:
        least = study.tables.settings.likely_from
        repairs = repairs_of(study.catalogue, bench, study.prices, scope, least)
        lines, if_found = lines_of(
            study.catalogue, bench, study.prices, study.tables.settings, scope, "", repairs, 1.0, {}
        )
        faults |= {name for line in (*lines, *if_found) for name in line.faults}
    return faults


def cautioned(tables: Tables, study: Study, fault: str) -> bool:
    """Tell whether a caution speaks of the fault as it was found."""
    severities = study.condition.severities[study.condition.network.index[fault]]
    return any(
        row.fault == fault and severities[SEVERITIES.index(row.since) :].sum() >= LIKELY for row in tables.cautions
    )


@pytest.mark.parametrize(("kind", "features", "fault", "severity"), list(found_alone()))
def test_what_is_found_broken_is_named_on_a_line_or_in_a_caution(kind, features, fault, severity):
    study, answer = studied(kind, features, fault, severity)
    found = study.condition.severities[study.condition.network.index[fault]]
    # One blunt look does not settle it: then nothing need be said yet.
    settled = found[SEVERITIES.index(severity) :].sum() >= LIKELY
    assert not settled or fault in named(study, answer) or cautioned(TABLES, study, fault)
