"""The talk in six steps: every way told alike, the same hundred, one price all over, nothing hidden or urged."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from demo_pianos import EVALUATED
from demo_pianos import NOT_YET as NOT_EVALUATED
from hypothesis import given, settings
from hypothesis import strategies as st
from table_talk import NAMES, figures, said_in_steps, studied, wanted_of

from valuation.drawing import drawn_parts
from valuation.engine.study import decide_at, study_of
from valuation.facts.visit import Finding
from valuation.facts.words import WAYS
from valuation.report.conversation import case_of
from valuation.report.format import cents, exact
from valuation.report.talk.as_wanted import as_wanted
from valuation.report.talk.comes_next import comes_next
from valuation.report.talk.how_it_is import how_it_is
from valuation.report.talk.not_known import not_known
from valuation.report.talk.side_by_side import (
    AT_ONCE,
    ROWS,
    SIDES_HERE,
    further_sides,
    side_by_side,
    ways_to_compare,
)
from valuation.report.talk.steps import NOT_YET, SIX, steps_for
from valuation.report.talk.turns_up import turns_up
from valuation.report.talk.where_you_stand import version_of
from valuation.report.their_version import STAYS
from valuation.report.wishes import A_LOT, THEMES, Wishes
from valuation.service import report

any_piano = pytest.mark.parametrize("name", EVALUATED)
WISHES = st.builds(
    Wishes,
    **dict.fromkeys(THEMES, st.integers(0, 3)),
    to_hear=st.sampled_from([None, 0.0, 40_000.0]),
    leaning=st.sampled_from(["", *WAYS]),
)


@any_piano
def test_every_way_has_the_same_rows_and_something_in_each(name):
    told = side_by_side(WAYS, wanted_of(name))
    assert told.ways == WAYS
    assert [row.row for row in told.rows] == list(ROWS)
    assert all(text for row in told.rows for cell in row.cells for text in cell)
    assert all(cell for row in told.rows for cell in row.cells)


@any_piano
def test_every_open_way_has_as_many_good_sides_as_bad_ones_and_none_is_lost(name):
    wanted = wanted_of(name)
    open_ways = [way for way in WAYS if way in wanted.case.prospects]
    rows = {row.row: row.cells for row in side_by_side(open_ways, wanted).rows}
    for good, bad, way in zip(rows["good"], rows["bad"], open_ways, strict=True):
        assert (len(good), len(bad)) == (SIDES_HERE, SIDES_HERE)
        assert len({*good, *bad, *further_sides(way, wanted.case)}) == 6


@settings(deadline=None, max_examples=30)
@given(wishes=WISHES, name=st.sampled_from(EVALUATED))
def test_whatever_matters_no_way_is_hidden_moved_or_told_otherwise(wishes, name):
    told = side_by_side(WAYS, wanted_of(name, wishes))
    plain = side_by_side(WAYS, wanted_of(name, Wishes(to_hear=wishes.to_hear)))
    assert told.names == plain.names
    for mine, theirs in zip(told.rows, plain.rows, strict=True):
        assert mine.row == theirs.row
        if mine.row not in ("good", "bad"):
            assert mine.cells == theirs.cells


@settings(deadline=None, max_examples=20)
@given(wishes=WISHES, name=st.sampled_from(EVALUATED))
def test_which_ways_stand_there_first_does_not_hang_on_the_verdict_nor_on_what_matters(wishes, name):
    assert ways_to_compare((), wanted_of(name, wishes).case) == ways_to_compare((), wanted_of(name).case)
    assert ways_to_compare((), wanted_of(name).case)[0] == "keep"


def test_of_more_than_three_ways_the_one_that_was_chosen_first_gives_way():
    case = wanted_of(EVALUATED[0]).case
    assert ways_to_compare(["another", "keep"], case) == ("keep", "another")
    assert ways_to_compare(["let_go", "keep", "rebuild", "another"], case) == ("keep", "rebuild", "another")
    assert len(ways_to_compare(WAYS, case)) == AT_ONCE
    assert ways_to_compare(["no such way"], case) == ways_to_compare((), case)


def test_what_matters_is_marked_in_its_row_and_its_sides_come_first():
    told = side_by_side(WAYS, wanted_of(NAMES[5], Wishes(cost=A_LOT)))
    assert {row.row for row in told.rows if row.weight == A_LOT} == {"pay", "worth"}
    keep = next(row.cells[0] for row in told.rows if row.row == "bad")
    assert keep[0] == "Wear goes on. A later repair may cost more."


@any_piano
def test_a_hundred_pianos_are_a_hundred_on_every_way(name):
    for turns in turns_up(WAYS, wanted_of(name).case):
        if turns.shares:
            assert sum(share.count for share in turns.shares) == 100
            assert all(str(share.count) in share.words for share in turns.shares)
        else:
            assert turns.years
        assert all(0 < find.count < 100 for find in turns.finds)


def test_a_piano_that_nobody_has_chosen_is_not_counted_as_if_it_never_failed():
    another = next(turns for turns in turns_up(WAYS, wanted_of(EVALUATED[0]).case) if turns.way == "another")
    assert not another.shares
    assert "can't be counted" in another.years


@any_piano
def test_the_price_is_one_and_the_same_in_every_step(name):
    wishes = Wishes(finish="finish_new", left_original=("keys",))
    wanted = wanted_of(name, wishes)
    cells = next(row.cells for row in side_by_side(WAYS, wanted).rows if row.row == "pay")
    pay = dict(zip(WAYS, cells, strict=True))
    for way in STAYS:
        quote = wanted.quote(way)
        if quote is None:
            assert version_of(way, wanted).price == ""
            assert version_of(way, wanted).said
            continue
        assert pay[way][0] == f"{exact(quote.total)} EUR, fixed."
        assert version_of(way, wanted).price == f"{cents(quote.total)} EUR"
        lines = version_of(way, wanted)
        assert len(lines.finds) + len(lines.further) == len(quote.if_found)


def test_a_choice_moves_the_price_and_what_is_in_it():
    before = version_of("partial_repair", wanted_of(NAMES[5]))
    after = version_of("partial_repair", wanted_of(NAMES[5], Wishes(finish="finish_new")))
    assert "The case is stripped and finished anew." not in before.jobs
    assert "The case is stripped and finished anew." in after.jobs
    plain = wanted_of(NAMES[5]).quote("partial_repair")
    chosen = wanted_of(NAMES[5], Wishes(finish="finish_new")).quote("partial_repair")
    assert chosen.total > plain.total + 1000


def test_what_is_to_stay_is_said_back_with_its_fault_and_leaves_the_price():
    wanted = wanted_of(NAMES[2], Wishes(left_original=("hammers",)))
    told = version_of("partial_repair", wanted)
    assert "At your wish this stays as it is: hammers." in told.said
    assert any(text.startswith("It stays with this fault: ") for text in told.said)
    assert not any("hammers are new" in job for job in told.jobs)


@any_piano
def test_nothing_is_advised_in_the_first_five_steps(name):
    wanted = wanted_of(name)
    told = [
        *how_it_is(wanted.case).rest,
        *(text for row in side_by_side(WAYS, wanted).rows for cell in row.cells for text in cell),
        *(text for turns in turns_up(WAYS, wanted.case) for text in (turns.years, turns.opened)),
        *not_known(wanted.case).sure,
    ]
    assert not any(re.search(r"\b(we would|best|we advise|recommend)\b", text, re.IGNORECASE) for text in told)


@pytest.mark.parametrize("name", NAMES)
def test_no_part_with_a_fault_is_told_to_be_in_order_and_none_that_nobody_saw_is_drawn_as_seen(name):
    case = wanted_of(name).case
    told = how_it_is(case)
    good = " ".join(text for text in told.rest if text.startswith(("In good order", "Old, but still")))
    for part in case.found.parts:
        if part.part not in told.states:
            continue
        assert bool(told.states[part.part]) == part.looked_at
        if any(finding.grade in ("marked", "severe") for finding in part.findings):
            assert told.names[part.part] not in re.split(r", | and |: |\.", good), part.part
    assert [seen.number for seen in told.seen] == list(range(1, len(told.seen) + 1))
    assert {seen.part for seen in told.seen} <= set(drawn_parts(case.visit.piano.kind))


def test_what_was_found_and_does_not_agree_is_told_so():
    study, _, _ = figures(NAMES[6])
    frame = Finding(check="plate_crack", grade="severe")
    findings = (*(f for f in study.visit.findings if f.check != frame.check), frame)
    anew = study_of(replace(study.visit, findings=findings), study.tables, on=study.on, draws=1024)
    answer = decide_at(anew)
    told = how_it_is(case_of(anew, answer, report(anew, answer), Wishes()))
    assert "plate" in {seen.part for seen in told.seen}


def test_a_piano_that_is_not_evaluated_has_no_ways_and_no_prices():
    study, answer, found = studied(NOT_EVALUATED)
    assert not found.ready
    assert steps_for(found) == NOT_YET
    told = comes_next(as_wanted(study, answer, found, Wishes()).case)
    text = " ".join((*told.why, *told.looks, *told.after))
    assert len(told.looks) == len(found.open_gates)
    assert "EUR" not in text
    assert not re.search(r"rebuild|let it go|another piano", text, re.IGNORECASE)


@any_piano
def test_an_evaluated_piano_has_six_steps(name):
    assert steps_for(figures(name)[2]) == SIX


@any_piano
def test_no_placeholder_is_left_in_any_sentence(name):
    for text in said_in_steps(name, Wishes(finish="finish_new", left_original=("hammers",))):
        assert "{" not in text
        assert "  " not in text
