"""The page 'The first week', as Streamlit's own test runner sees it."""

from __future__ import annotations

import pytest
from demo_shop import go, start, told
from streamlit.testing.v1 import AppTest

from valuation.engine.figures import is_said, today
from valuation.engine.pack import said_country
from valuation.screens import shop


@pytest.fixture
def page() -> AppTest:
    return go(start(), "first_week")


def press(page: AppTest, key: str) -> AppTest:
    page.button(key=key).click().run(timeout=60)
    assert not page.exception
    return page


def work_in(page: AppTest, country: str, tax: str = "") -> AppTest:
    page.pills(key="first_country").set_value(country).run()
    if tax:
        page.selectbox(key="first_tax").set_value(tax).run()
    return press(page, "first_here")


def test_the_country_sets_money_tax_language_and_measures(page):
    assert said_country(shop.tables()) == ""
    work_in(page, "uk")
    book = shop.tables()
    assert (said_country(book), book.settings.currency, book.settings.tax) == ("uk", "GBP", "uk")
    assert "United Kingdom. Money: GBP. Tax: VAT, 20%. Language: English." in told(page)
    page.pills(key="first_country").set_value("us").run()
    assert "first_here" not in [button.key for button in page.button], "tax hangs on the state, and nobody guesses it"
    work_in(page, "us", "us_ca")
    assert shop.store().setting("units") == "imperial"
    work_in(page, "at")
    assert (shop.tables().settings.currency, shop.language_chosen()) == ("EUR", "de")
    assert "Österreich. Geld: EUR. Steuer: USt., 20" in told(page)


def test_a_rate_of_the_place_by_kind_of_line_is_the_shops_own(page):
    page.pills(key="first_country").set_value("us").run()
    page.selectbox(key="first_tax").set_value("us_ca").run()
    page.number_input(key="first_rate_us_ca_material").set_value(9.5).run()
    press(page, "first_here")
    [row] = [row for row in shop.tables().taxes if row.id == "us_ca"]
    assert (row.labour, row.material, row.basis) == (0.0, 0.095, "memory")


def test_whoever_may_show_no_tax_is_asked_for_none(page):
    page.pills(key="first_country").set_value("de").run()
    page.selectbox(key="first_tax").set_value("de_small").run()
    assert "Free of tax under § 19 UStG" in told(page)
    assert not [field for field in page.number_input if field.key.startswith("first_rate")]
    press(page, "first_here")
    assert "Steuer: wird nicht ausgewiesen" in told(page)


def test_an_answer_is_in_force_from_today_and_told_on_three_known_pianos(page):
    first = shop.tables().figures[0]
    now = today(shop.tables(), first.kind, first.of, shop.today())
    key = f"first_answer_{first.kind}_{first.of}".replace("/", "_")
    page.text_input(key=key).set_value("120").run()
    press(page, "first_take")
    assert today(shop.tables(), first.kind, first.of, shop.today()) == pytest.approx(1.2) != now
    assert is_said(shop.tables(), first.kind, first.of, shop.today())
    assert "What the last answer does to three known pianos" in told(page)
    assert "1 of 30 are yours." in told(page)


def test_what_is_right_already_is_the_shops_own_and_moves_nothing(page):
    first = shop.tables().figures[0]
    now = today(shop.tables(), first.kind, first.of, shop.today())
    press(page, "first_keep")
    assert today(shop.tables(), first.kind, first.of, shop.today()) == now
    assert is_said(shop.tables(), first.kind, first.of, shop.today())


def test_what_is_no_figure_is_told_and_changes_nothing(page):
    before = shop.tables()
    first = before.figures[0]
    page.text_input(key=f"first_answer_{first.kind}_{first.of}".replace("/", "_")).set_value("plenty").run()
    press(page, "first_take")
    assert "'plenty' is not a number" in told(page)
    assert shop.tables() is before


def test_a_question_can_wait(page):
    first, second = shop.tables().figures[:2]
    press(page, "first_skip")
    keys = {field.key for field in page.text_input}
    assert f"first_answer_{second.kind}_{second.of}".replace("/", "_") in keys
    assert f"first_answer_{first.kind}_{first.of}".replace("/", "_") not in keys


def test_the_law_of_the_country_is_told_as_orientation_with_both_sides_of_a_border(page):
    work_in(page, "uk")
    text = told(page)
    assert "never legal advice" in text
    assert "RICS Registered Valuer" in text
    assert "Ivory Act 2018" in text
    page.pills(key="first_border").set_value("de").run()
    assert "United Kingdom: Ivory crosses the border only with permits of both sides" in told(page)
    assert "Germany: Ivory leaves the European Union only in narrow cases" in told(page)
