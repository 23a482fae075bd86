"""What moved between two appraisals, and which rows of the tables differ."""

from __future__ import annotations

from dataclasses import replace

import pytest
from demo_pianos import NAMES, appraisal_of, study_of

from valuation.engine.rows import Tables
from valuation.language import speaking
from valuation.report.changed_rows import CHANGED, GONE, NEW, changed_rows
from valuation.report.moved import figures_of, what_moved


@pytest.fixture(scope="module")
def then() -> dict:
    return figures_of(appraisal_of(NAMES[0]))


@pytest.fixture(scope="module")
def tables() -> Tables:
    return study_of(NAMES[0]).tables


def moved(then: dict, **options: dict) -> dict:
    """The same figures with those of some options changed."""
    return then | {"options": {name: figures | options.get(name, {}) for name, figures in then["options"].items()}}


def test_nothing_moves_against_itself(then):
    told = what_moved(then, then)
    assert (told.turned, told.figures, told.sentence) == (False, (), "The verdict is the same: 'Rebuild'.")


def test_a_price_tells_its_band_then_and_now_and_by_how_much_it_moved(then):
    was = then["options"]["rebuild"]
    dearer = {
        "expected_price": was["expected_price"] * 1.1,
        "price": {name: amount * 1.1 for name, amount in was["price"].items()},
    }
    (figure,) = what_moved(then, moved(then, rebuild=dearer)).figures
    assert figure.name == "Rebuild: price"
    assert figure.then != figure.now
    assert figure.by.startswith("+")
    assert figure.by.endswith("(+10%)")
    back = what_moved(moved(then, rebuild=dearer), then).figures[0]
    assert back.by.startswith("-")
    assert (back.then, back.now) == (figure.now, figure.then)


def test_what_is_shown_alike_has_not_moved(then):
    hardly = {"expected_net": then["options"]["keep"]["expected_net"] + 1e-6}
    assert what_moved(then, moved(then, keep=hardly)).figures == ()


def test_a_verdict_that_turns_is_said_first(then):
    told = what_moved(then, then | {"verdict": "keep", "clarity": "close"})
    assert told.turned
    assert told.sentence == "The verdict turns: it was 'Rebuild', it is 'Keep as it is'."
    assert told.figures[0].name == "How sure"
    with speaking("de"):
        assert what_moved(then, then | {"verdict": "keep"}).sentence != told.sentence


def test_a_way_that_is_offered_no_more_is_told(then):
    fewer = then | {"options": {name: told for name, told in then["options"].items() if name != "keep"}}
    (figure,) = what_moved(then, fewer).figures
    assert (figure.name, figure.then, figure.now) == ("Keep as it is", "offered", "not offered")


def test_tables_that_say_the_same_have_no_changed_row(tables):
    assert changed_rows(tables, replace(tables, rates=tables.rates[::-1], hash="other")) == ()


def test_changed_new_and_gone_rows_are_told_cell_by_cell_and_what_bears_comes_first(tables):
    first, *others = tables.operations
    rates = tuple(replace(row, per_hour=99.5) if row.id == "workshop" else row for row in tables.rates)
    stages = (*tables.stages[1:], replace(tables.stages[0], id="another"))
    now = replace(tables, operations=(*others, replace(first, note="new words")), rates=rates, stages=stages)
    told = changed_rows(tables, now, frozenset({"rates:workshop"}))
    assert [(row.file, row.bears) for row in told[:2]] == [("rates.csv", True)] * 2
    assert told[0].cells == (("per_hour", "66", "99.5"),)
    assert all(not row.bears for row in told[2:])
    by_file = {(row.file, row.how): row for row in told}
    assert by_file["operations.csv", CHANGED].cells == (("note", first.note, "new words"),)
    assert by_file["stages.csv", GONE].name == tables.stages[0].id
    assert by_file["stages.csv", NEW].name == "another"


def test_a_row_that_ends_and_its_successor_are_told_as_a_changed_and_a_new_one(tables):
    index = next(i for i, row in enumerate(tables.rates) if row.id == "workshop" and row.valid_to is None)
    ended = replace(tables.rates[index], valid_to=tables.rates[index].valid_from.replace(month=6, day=30))
    after = replace(tables.rates[index], valid_from=ended.valid_to.replace(month=7, day=1), per_hour=80.0)
    rates = (*tables.rates[:index], ended, after, *tables.rates[index + 1 :])
    told = changed_rows(tables, replace(tables, rates=rates))
    assert [(row.how, row.cells) for row in told] == [
        (CHANGED, (("valid_to", "", ended.valid_to.isoformat()),)),
        (NEW, ()),
    ]


def test_a_setting_tells_its_value_and_its_source(tables):
    now = replace(
        tables,
        settings=replace(tables.settings, tax="de_small"),
        setting_sources=tables.setting_sources | {"tax": "own_estimate", "currency": "invented"},
    )
    told = {row.name: row for row in changed_rows(tables, now, frozenset({"settings:tax"}))}
    assert told["tax"].bears
    assert ("value", "de", "de_small") in told["tax"].cells
    assert [cell[0] for row in told.values() for cell in row.cells].count("source") >= 1
