"""The talk against published criteria for decision aids, item by item as `valuation/manual/decision_aid.md` lists them.

Joseph-Williams and others, Toward Minimum Standards for Certifying Patient Decision Aids: A Modified Delphi Consensus
Process, Medical Decision Making 34(6), 2014, 699-710: six qualifying items, ten of certification, 28 of quality.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from demo_pianos import EVALUATED
from table_talk import wanted_of

from valuation.facts.words import WAYS
from valuation.language import speaking
from valuation.manual import chapter
from valuation.report.labels import day_words
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.how_it_is import how_it_is
from valuation.report.talk.not_known import not_known
from valuation.report.talk.side_by_side import side_by_side
from valuation.report.talk.steps import SIX, step_name
from valuation.report.talk.turns_up import OUT_OF, turns_up
from valuation.report.talk.where_you_stand import to_ask

ROW = re.compile(r"^\| ((?:`[A-Z]\d+`(?:, | to )?)+) \| (.+?) \| (.+?) \|$", re.MULTILINE)
FIRST_SIXTEEN = [*(f"Q{n}" for n in range(1, 7)), *(f"C{n}" for n in range(1, 11))]
NOT_FOR_PIANOS = {"C7", "C8", "C9", "C10", *(f"B{n}" for n in range(24, 29))}


def listed() -> dict[str, str]:
    """Return where each item is said to be met, by its name in the chapter."""
    where: dict[str, str] = {}
    for names, _, place in ROW.findall(chapter("decision_aid")):
        found = re.findall(r"`([A-Z])(\d+)`", names)
        if " to " in names:
            (letter, first), (_, last) = found
            found = [(letter, str(n)) for n in range(int(first), int(last) + 1)]
        where |= {f"{letter}{number}": place for letter, number in found}
    return where


def cells(wanted: AsWanted, row: str) -> list[tuple[str, ...]]:
    """Return what a row tells of every open way."""
    open_ways = [way for way in WAYS if way in wanted.case.prospects]
    return list(next(r for r in side_by_side(open_ways, wanted).rows if r.row == row).cells)


def problem_is_told(wanted: AsWanted) -> bool:
    told = how_it_is(wanted.case)
    return bool(told.seen or told.rest) and all(seen.text for seen in told.seen)


def decision_is_named(wanted: AsWanted) -> bool:
    return "what shall become of this piano" in how_it_is(wanted.case).decision


def every_option_is_told(wanted: AsWanted) -> bool:
    told = side_by_side(WAYS, wanted)
    return told.ways == WAYS and all(cell for row in told.rows if row.row == "done" for cell in row.cells)


def told_in(row: str) -> Callable[[AsWanted], bool]:
    return lambda wanted: all(all(cell) and "–" not in cell for cell in cells(wanted, row))


def alike(wanted: AsWanted) -> bool:
    good, bad = cells(wanted, "good"), cells(wanted, "bad")
    return {len(cell) for cell in (*good, *bad)} == {2}


def sources_are_named(wanted: AsWanted) -> bool:
    told = not_known(wanted.case)
    return any("source of every figure" in text for text in told.from_where) and len(told.sure) == 3


def date_is_told(wanted: AsWanted) -> bool:
    return day_words(wanted.case.visit.on) in " ".join(not_known(wanted.case).from_where)


def update_is_told(wanted: AsWanted) -> bool:
    return any("look at them again, or sooner if you ask" in text for text in not_known(wanted.case).from_where)


def unsureness_is_told(wanted: AsWanted) -> bool:
    shares = [turns.shares for turns in turns_up(WAYS, wanted.case) if turns.shares]
    return all(sum(s.count for s in each) == OUT_OF for each in shares) and any(
        "know least" in text for text in not_known(wanted.case).sure
    )


def payer_is_told(wanted: AsWanted) -> bool:
    who = " ".join(not_known(wanted.case).who)
    return "pays for it" in who and "also sells the work" in who


MET: dict[str, Callable[[AsWanted], bool]] = {
    "Q1": problem_is_told,
    "Q2": decision_is_named,
    "Q3": every_option_is_told,
    "Q4": told_in("good"),
    "Q5": told_in("bad"),
    "Q6": told_in("living"),
    "C1": alike,
    "C2": sources_are_named,
    "C3": date_is_told,
    "C4": update_is_told,
    "C5": unsureness_is_told,
    "C6": payer_is_told,
}


def test_the_chapter_lists_every_item_of_the_criteria_once():
    assert list(listed()) == [*FIRST_SIXTEEN, *(f"B{n}" for n in range(1, 29))]
    assert len(listed()) == 44


def test_none_of_the_first_sixteen_that_applies_is_unmet():
    where = listed()
    for item in FIRST_SIXTEEN:
        if item in NOT_FOR_PIANOS:
            assert where[item].startswith("do not apply")
        else:
            assert item in MET
            assert where[item].startswith("step "), item
    assert {item for item in where if where[item].startswith("do not apply")} == NOT_FOR_PIANOS


def test_every_step_and_every_heading_that_the_chapter_points_to_is_there():
    where = listed()
    steps = {int(n) for place in where.values() for n in re.findall(r"steps? (\d)", place)}
    assert steps == set(range(1, len(SIX) + 1))
    headings = {heading for place in where.values() for heading in re.findall(r"'([^']+)'", place)}
    rows = {row.name for row in side_by_side(WAYS[:1], wanted_of(EVALUATED[0])).rows}
    on_screen = {
        "Where they come from", "How sure the figures are", "Who says this", "Keep it as it is",
        "Questions to take home, and who else to ask",
    }  # fmt: skip
    assert headings <= rows | on_screen


@pytest.mark.parametrize("name", EVALUATED)
@pytest.mark.parametrize("item", MET)
def test_an_item_is_met_in_the_talk_about_each_piano(item, name):
    assert MET[item](wanted_of(name)), item


@pytest.mark.parametrize("name", EVALUATED)
def test_there_are_questions_to_take_home_and_the_steps_have_names_in_both_languages(name):
    assert len(to_ask()) >= 5
    assert wanted_of(name).case.found.ready
    with speaking("de"):
        german = [step_name(step) for step in SIX]
    assert len(set(german)) == len(SIX)
    assert not set(german) & {step_name(step) for step in SIX}
