"""What a person has set for a part by hand holds in every plan of work, or there is no such plan."""

from __future__ import annotations

from datetime import date

import pytest

from valuation import service
from valuation.engine.decision import KEEP
from valuation.engine.rows.words import LEVELS
from valuation.engine.study import Answer, Study, decide_at, study_of

PATHS = {path.stem: path for _, path in service.demo_visits()}
PARTS = ("soundboard", "pinblock", "strings", "hammers", "dampers")


def decided(stem: str, pinned: dict[str, str]) -> tuple[Study, Answer]:
    tables = service.load_shop()
    visit = service.read_visit_file(PATHS[stem], tables, date.max)
    study = study_of(visit, tables, on=visit.on, draws=1024, pinned=pinned)
    return study, decide_at(study)


def holds(study: Study, answer: Answer, choices: tuple[int, ...], part: str, level: str) -> bool:
    """Whether a plan's choice for a part is of a level, told by what it does at once."""
    p = study.condition.network.part_index[part]
    ladder = answer.bench.weighed[p].menu.ladders[choices[p]]
    if level == "replace":
        return bool(ladder.fixed)
    return not ladder.fixed and len(ladder.rungs) == 1 and (level == "repair") == (ladder.policy != "nothing")


@pytest.mark.parametrize("stem", ["2_parlour_upright", "6_heirloom"])
@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("level", LEVELS)
def test_no_scope_of_work_goes_against_what_was_set_by_hand(stem, part, level):
    study, answer = decided(stem, {part: level})
    worked = [scope for scope in answer.decision.scopes if scope.verdict != KEEP]
    assert worked or level != "replace"
    assert all(holds(study, answer, scope.plan.choices, part, level) for scope in worked)


@pytest.mark.parametrize("stem", ["2_parlour_upright", "6_heirloom"])
def test_the_piano_can_be_left_as_it_is_whatever_was_set(stem):
    for level in LEVELS:
        _, answer = decided(stem, dict.fromkeys(PARTS, level))
        safe = answer.decision.best[KEEP]
        assert not any(answer.bench.weighed[p].menu.ladders[n].fixed for p, n in enumerate(safe.plan.choices))


def test_where_pins_leave_no_great_system_to_renew_there_is_no_rebuild():
    _, answer = decided("6_heirloom", dict.fromkeys(("strings", "hammers", "pinblock"), "keep"))
    assert "rebuild" not in answer.decision.best
