"""A new fault, its odds, its cure and the check that reads it, entered by forms and tried before they are in force."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told
from streamlit.testing.v1 import AppTest

from valuation.screens import shop
from valuation.service.tables_draft import draft_of


@pytest.fixture
def page() -> AppTest:
    page = go(start(), "tables")
    page.pills(key="tables_view").set_value("all").run()
    return page


def opened(page: AppTest, table: str, like: str = "") -> AppTest:
    """The form of a new row of a table, begun with another."""
    page.selectbox(key="tables_table").set_value(table).run()
    page.session_state[f"tables_new_{table}"] = True
    page.run()
    if like:
        box = page.selectbox(key=f"tables_like_{table}")
        box.set_value(next(name for name in box.options if f"({like}" in name or name == like)).run()
    assert not page.exception, page.exception
    return page


def write(page: AppTest, table: str, **cells: str) -> AppTest:
    for name, cell in cells.items():
        [field] = [
            one
            for one in (*page.text_input, *page.selectbox)
            if one.key.startswith(f"tables_form_{table}_")
            and one.key.endswith(f"_{name}")
            and one.key.count("tables_form")
            and one.help == name
        ]
        field.set_value(cell).run()
    return press(page, f"tables_add_{table}")


def press(page: AppTest, key: str) -> AppTest:
    page.button(key=key).click().run(timeout=120)
    assert not page.exception, page.exception
    return page


def test_a_new_fault_with_its_odds_its_cure_and_its_check_goes_by_forms_and_is_tried_on_three_pianos(page):
    page = write(opened(page, "faults", "hammers_moth"), "faults", id="hammer_damp", name="damp in the hammers")
    assert "The row is in the draft." in told(page)
    assert "It goes with rows of other tables" in told(page)
    page = press(page, "tables_alike_fault_odds")
    page = press(page, "tables_alike_cures")
    assert "tables_look" not in [b.key for b in page.button], "nothing reads it yet"
    page = press(page, "tables_go_checks")
    like = next(row.id for row in shop.tables().checks if row.reads == "hammers_moth")
    page = write(
        opened(page, "checks", like),
        "checks",
        id="hammers_damp",
        reads="hammer_damp",
        kinds="both",
        name="Damp hammers?",
    )
    drafted = draft_of(shop.store().store, shop.tables_in_force())
    assert drafted.problems == ()
    assert {"hammer_damp"} <= {row.id for row in drafted.tables.faults}
    page = press(page, "tables_look")
    assert "Three known pianos" in told(page)


def test_a_field_offers_what_may_stand_there_in_words_and_a_number_as_people_write_it(page):
    page = opened(page, "materials", "wood_glue")
    labels = [one.label for one in page.text_input if one.key.startswith("tables_form_materials_")]
    assert any(label.startswith("1 in 10 purchases costs less [") for label in labels)
    page = write(page, "materials", id="fish_glue", price_likely="a lot")
    assert "a lot" in told(page)
    sources = next(one for one in page.selectbox if one.key.endswith("_source") and one.help == "source")
    assert any("(memory)" in option for option in sources.options)
