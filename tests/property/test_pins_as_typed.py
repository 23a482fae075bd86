"""Whatever is typed, in whichever order and way: the same readings give the same finding."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from valuation.facts.visit import Finding, Piano, Reading, Visit
from valuation.screens import answers
from valuation.screens.pins.entry import Asked, cell, in_order, row_text, section_ends, take_cells, take_row
from valuation.service import load_shop

TABLES = load_shop()
CHECK = TABLES.of_kind("checks", "upright")["pin_torque"]
VISIT = Visit(title="x", on=date(2026, 5, 4), piano=Piano(kind="upright"))
ENDS = (28, 52)
systems = st.sampled_from(["metric", "imperial"])
places = st.tuples(st.integers(1, 88), st.integers(1, 3))
numbers = st.integers(0, 3000).map(lambda n: n / 10)
torque = st.floats(0, 40)


@st.composite
def findings(draw: st.DrawFn) -> Finding | None:
    """Return readings with and without places, in the order of a visit."""
    placed = draw(st.dictionaries(st.tuples(st.integers(1, 88), st.integers(0, 3)), torque, max_size=8))
    sections = ("", "bass", "tenor", "treble")
    readings = [
        *(Reading(value=v, section=draw(st.sampled_from(sections)), key=k, string=s) for (k, s), v in placed.items()),
        *(Reading(value=v, section=section) for section in sections for v in draw(st.lists(torque, max_size=3))),
    ]
    return Finding(check="pin_torque", readings=in_order(readings)) if readings else None


@settings(deadline=None)
@given(cells=st.dictionaries(places, numbers.filter(lambda n: n <= 40), min_size=1, max_size=10), system=systems,
       data=st.data())  # fmt: skip
def test_cells_typed_in_any_order_give_the_same_finding(cells, system, data):
    asked = Asked(CHECK, VISIT, TABLES, system)
    at_once, _ = take_cells(None, cells, ENDS, asked)
    found = None
    for place in data.draw(st.permutations(list(cells))):
        found, faults = take_cells(found, {place: cells[place]}, ENDS, asked)
        assert faults == {}
    assert found == at_once
    assert [(r.key, r.string) for r in found.readings] == sorted(cells)


@settings(deadline=None)
@given(rows=st.dictionaries(st.sampled_from(answers.ROWS), st.lists(numbers.filter(lambda n: n <= 40), min_size=1,
       max_size=5), min_size=1), system=systems, data=st.data())  # fmt: skip
def test_rows_typed_in_any_order_give_the_same_finding(rows, system, data):
    asked = Asked(CHECK, VISIT, TABLES, system)

    def entered(order: list[str]) -> Finding | None:
        found = None
        for row in order:
            found, faults = take_row(found, row, " ".join(f"{n:g}" for n in rows[row]), asked)
            assert faults == ()
        return found

    assert entered(data.draw(st.permutations(list(rows)))) == entered(list(rows))


@settings(deadline=None)
@given(found=findings(), system=systems)
def test_rows_show_every_reading_and_taking_them_again_changes_nothing(found, system):
    asked = Asked(CHECK, VISIT, TABLES, system)
    texts = {row: row_text(found, row, asked) for row in answers.ROWS}
    shown = sum(len(answers.split_row(text)[0]) for text in texts.values())
    assert shown == (len(found.readings) if found else 0)
    for row, text in texts.items():
        assert take_row(found, row, text, asked) == (found, ())


@settings(deadline=None)
@given(found=findings(), system=systems)
def test_what_rows_show_can_be_typed_from_nothing_to_the_digits_shown(found, system):
    asked = Asked(CHECK, VISIT, TABLES, system)
    again = None
    for row in answers.ROWS:
        again, faults = take_row(again, row, row_text(found, row, asked), asked)
        assert faults == ()
    assert [row_text(again, row, asked) for row in answers.ROWS] == [
        row_text(found, row, asked) for row in answers.ROWS
    ]


@settings(deadline=None)
@given(found=findings(), system=systems, data=st.data())
def test_from_rows_to_the_grid_and_back_nothing_is_lost(found, system, data):
    asked = Asked(CHECK, VISIT, TABLES, system)
    ends = section_ends(found.readings if found else ())
    grid = {place: cell(found, place, asked) for place in ((k, s) for k in range(1, 89) for s in (1, 2, 3))}
    held = sum(number is not None for number in grid.values())
    assert held == sum(bool(r.key and r.string) for r in (found.readings if found else ()))
    assert take_cells(found, grid, ends, asked) == (found, {})
    place, number = data.draw(places), data.draw(numbers.filter(lambda n: n <= 40))
    after, _ = take_cells(found, {place: number}, ends, asked)
    others = [r for r in (found.readings if found else ()) if (r.key, r.string) != place]
    assert [r for r in after.readings if (r.key, r.string) != place] == others
