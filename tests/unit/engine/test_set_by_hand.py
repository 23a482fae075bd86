"""A level that was set by hand holds in every plan of work; to leave the piano as it is stays a way."""

from __future__ import annotations

import pytest
from demo_pianos import appraisal_of, study_of

from valuation.engine.appraise import appraise
from valuation.service import load_shop

GRAND, SCHOOL = "1_fine_old_grand", "3_school_upright"
DRAWS = 1024
WORK = ("rebuild", "partial_repair")


def with_pin(name: str, part: str, level: str):
    visit = study_of(name).visit
    return appraise(visit, load_shop(), on=visit.on, set_levels={part: level}, draws=DRAWS, turns=False)


@pytest.mark.parametrize("name", [GRAND, SCHOOL])
@pytest.mark.parametrize(
    ("part", "level"),
    [("strings", "keep"), ("strings", "replace"), ("hammers", "keep"), ("hammers", "replace"), ("dampers", "replace")],
)
def test_every_plan_of_work_holds_it(name, part, level):
    found, free = with_pin(name, part, level), appraisal_of(name)
    assert [o.plan[part] for o in found.options if o.option in WORK] == [
        level for o in found.options if o.option in WORK
    ]
    assert found.option("keep").plan == free.option("keep").plan
    assert found.option("keep").fixed_price == pytest.approx(free.option("keep").fixed_price)


def test_a_rebuild_for_which_the_piano_is_restrung_is_none_where_the_strings_stay():
    assert appraisal_of(GRAND).option("rebuild").plan["strings"] == "replace"
    assert with_pin(GRAND, "strings", "keep").option("rebuild") is None


@pytest.mark.parametrize("level", ["keep", "repair", "replace"])
def test_the_piano_can_be_left_as_it_is_however_much_was_set(level):
    visit = study_of(SCHOOL).visit
    set_levels = dict.fromkeys(("soundboard", "pinblock", "strings", "hammers", "dampers"), level)
    found = appraise(visit, load_shop(), on=visit.on, set_levels=set_levels, draws=DRAWS, turns=False)
    assert "replace" not in found.option("keep").plan.values()
