"""The page 'Our tables' as Streamlit's own test runner sees it: an owner raises the rate, looks, and takes it back."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told
from streamlit.testing.v1 import AppTest

from valuation.screens import shop
from valuation.service.shop_tables import history
from valuation.service.tables_draft import draft_of

WORKSHOP = "rates_workshop"


@pytest.fixture
def page() -> AppTest:
    return go(start(), "tables")


def press(page: AppTest, key: str) -> AppTest:
    page.button(key=key).click().run(timeout=120)
    assert not page.exception, page.exception
    return page


def key_of(page: AppTest, beginning: str) -> str:
    [found] = [b.key for b in page.button if b.key.startswith(beginning)]
    return found


def type_rate(page: AppTest, rate: str) -> AppTest:
    [field] = [one for one in page.text_input if one.key.startswith("price_per_hour_rates_workshop")]
    field.set_value(rate).run()
    return press(page, "price_in_rates")


def rate_now() -> float:
    day = shop.today()
    return next(
        r.per_hour for r in shop.tables().rates if r.id == "workshop" and r.valid_from <= day <= (r.valid_to or day)
    )


def test_an_owner_raises_the_rate_sees_what_it_does_puts_it_in_force_and_takes_it_back(page):
    assert "The tables that the tool ships with are in force" in told(page)
    page = type_rate(page, "74")
    assert "Draft: 1 change, not in force yet" in told(page)
    assert "bench work in the workshop: an hour 68 → 74, from" in told(page)
    assert "tables_force" not in [b.key for b in page.button]
    page = press(page, "tables_look")
    assert "Prices of work move by" in told(page)
    assert "+6.1%" in told(page)
    assert "Three known pianos" in told(page)
    assert page.button(key="tables_force").disabled
    page.text_input(key="tables_why").set_value("wages went up").run(timeout=120)
    page = press(page, "tables_force")
    assert rate_now() == 74
    assert "In force from" in told(page)
    assert "Draft:" not in told(page)
    page = press(page, "tables_undo")
    assert rate_now() == 68
    assert "Taken back" in told(page)
    assert [c.why for c in history(shop.store().store)][1:] == ["wages went up", "Taken back: wages went up"]


def test_a_slip_of_the_finger_asks_again(page):
    page = type_rate(page, "760")
    page = press(page, "tables_look")
    page.text_input(key="tables_why").set_value("more").run(timeout=120)
    assert page.button(key="tables_force").disabled
    [box] = [box for box in page.checkbox if box.key.startswith("leap_")]
    assert "an hour from 68 to 760. That is meant." in box.label
    box.check().run(timeout=120)
    assert not page.button(key="tables_force").disabled


def test_what_cant_be_read_stays_in_the_draft_with_the_readers_message_and_stops_no_page(page):
    page = type_rate(page, "a lot")
    assert "1 thing to mend before it can be in force" in told(page) or "a lot" in told(page)
    assert "tables_look" not in [b.key for b in page.button]
    for name in ("visits", "jobs", "learning"):
        page = go(page, name)
    assert rate_now() == 68


def test_a_cell_of_the_grid_goes_into_the_draft_and_its_fault_stands_at_its_row(page):
    page.pills(key="tables_view").set_value("all").run()
    page.selectbox(key="tables_table").set_value("materials").run()
    assert not page.exception
    [grid] = [one.key for one in page.get("data_editor") if one.key.startswith("tables_grid_")]
    page.session_state[grid] = {"edited_rows": {0: {"price_likely": "2,5"}}, "added_rows": [], "deleted_rows": []}
    page.run().run()
    assert not page.exception
    drafted = draft_of(shop.store().store, shop.tables_in_force())
    assert [e.after for e in drafted.draft.edits] == [{"price_likely": "2,5"}]
    assert "has a comma; write decimals with a point" in told(page)
    page = press(page, key_of(page, "drop_"))
    assert "Draft:" not in told(page)


def test_a_draft_can_be_let_go(page):
    page = type_rate(page, "74")
    page = press(page, key_of(page, "drop_"))
    assert "Draft:" not in told(page)
    assert history(shop.store().store) == []
