"""The technician's pages: reasons that lead to their findings, changes by hand with a reason, sums by component."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import pytest
from demo_shop import draft, go, opened, start, told
from PIL import Image
from streamlit.testing.v1 import AppTest
from test_page import figure, tables

from valuation.engine.rows import Level
from valuation.report.shown_quote import shown_quote
from valuation.screens import shop
from valuation.screens.quote_by_component import by_component
from valuation.service import appraise, demo_visits, load_shop, one_page, read_visit_file

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def page() -> AppTest:
    return start()


def test_a_reason_leads_to_its_finding_at_its_place_on_the_walk(page):
    opened(page, 6)
    button = page.button(key="to_part_hammers_hammer_groove")
    assert "2.4 mm" in button.label
    button.click().run()
    assert not page.exception
    assert page.title[0].value == "Inspect"
    assert draft(page).place == "action_out"
    assert page.text_input(key=draft(page).key("answer_hammer_groove_metric")).value == "2.4"


def test_a_share_of_readings_leads_to_where_the_readings_are_entered(page):
    opened(page, 1)
    page.button(key="to_part_pinblock_loose_pins").click().run()
    assert draft(page).place == "opened"


def test_every_reason_names_its_table_rows(page):
    opened(page, 6)
    reasons = [element.value for element in page.markdown if element.value.startswith("Rows: ")]
    assert len(reasons) >= 6
    assert any("parts.csv, line 9 (hammers)" in text.replace("\\", "") for text in reasons)


def test_a_photo_of_a_check_is_shown_beside_the_reason_that_rests_on_it(page):
    opened(page, 6)
    file = BytesIO()
    Image.effect_noise((64, 64), 40).save(file, "PNG")
    shop.store().add_photo(
        draft(page).visit_id, file.getvalue(), name="groove.png", check="hammer_groove",
        caption="deep in the fifth octave", who="Jule", device="other", now=datetime.now(UTC),
    )  # fmt: skip
    page.run()
    assert not page.exception
    assert "deep in the fifth octave" in told(page)


def test_a_change_by_hand_is_asked_why_marked_and_told_on_the_verdict_and_on_paper(page):
    opened(page, 1)
    go(page, "work")
    key = draft(page).key("why_hammers")
    assert key not in [field.key for field in page.text_input]
    page.pills(key=draft(page).key("pin_hammers")).set_value("keep").run()
    assert "changed by hand, no reason given" in told(page)
    page.text_input(key=key).set_value("she wants to hear *them* first").run()
    assert "changed by hand: she wants to hear *them* first" in told(page)
    go(page, "verdict")
    assert "hammers, keep: changed by hand: she wants to hear *them* first" in told(page)
    go(page, "work")
    assert page.text_input(key=key).value == "she wants to hear *them* first"
    page.button(key="unpin").click().run()
    assert "changed by hand" not in told(page)


def test_the_one_page_answer_says_what_was_changed_by_hand():
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, draft_day())
    found = appraise(visit, book, on=visit.on, pinned={"hammers": Level.KEEP})
    said = one_page(found, visit, book, by_hand=("hammers, keep: changed by hand: as asked",))
    assert "Changed by hand\n  - hammers, keep: changed by hand: as asked" in said
    assert "Changed by hand" not in one_page(found, visit, book)


def draft_day():
    from datetime import date

    return date(2026, 12, 31)


@pytest.mark.parametrize("number", [1, 5, 6])
def test_the_sums_by_component_add_up_to_the_quote(page, number):
    book = load_shop()
    visit = read_visit_file(demo_visits()[number - 1][1], book, draft_day())
    found = appraise(visit, book, on=visit.on)
    for option in found.options:
        quote = shown_quote(option, found, 5)
        sums = by_component(quote, book)
        assert sum(one.amount for one in sums) == quote.before_tax
        assert sum(one.hours for one in sums) == pytest.approx(sum(round(line.hours, 1) for line in option.lines))
    go(opened(page, number), "work")
    table = next(rows for rows in tables(page) if rows[0][0] == "Component")
    cells = [[figure(cell) for cell in row[1:]] for row in table[1:]]
    assert [pytest.approx(sum(column)) for column in zip(*cells[:-1], strict=True)] == cells[-1]
    assert all(sum(row[1:-1]) == row[-1] for row in cells)


def test_the_pictures_of_the_verdict_have_their_words_and_hold_the_figures_of_the_appraisal(page):
    opened(page, 6)
    charts = {chart.proto.id: chart for chart in page.get("plotly_chart")}
    assert len(charts) == 3
    text = told(page)
    assert "At 0 EUR 'retire' would be best." in text
    assert "Of all plans of work the best costs 4,900 EUR and comes out at a net of 7,750 EUR." in text
    frontier = json.loads(page.get("plotly_chart")[2].proto.spec)
    marked = [trace for trace in frontier["data"] if trace.get("text")]
    assert [trace["text"][0] for trace in marked] == ["Rebuild", "<b>Partial repair</b>", "Keep as it is", "Retire"]
