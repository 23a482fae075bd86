"""The technician's pages: reasons that lead to their findings, changes by hand with a reason, sums by component."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from demo_shop import draft, go, opened, start, told
from PIL import Image
from streamlit.testing.v1 import AppTest
from test_page import figure, more, tables

from valuation.engine.appraisal import Appraisal
from valuation.engine.frontier import cost_and_result
from valuation.engine.money import tax_of
from valuation.engine.study import Study, study_of
from valuation.engine.swings import swings
from valuation.report.format import money
from valuation.report.labels import option_name
from valuation.report.lead_words import swing_sentence
from valuation.report.quote import quote_of
from valuation.screens import shop
from valuation.screens.quote_by_component import by_component
from valuation.service import appraise, demo_visits, load_shop, one_page, read_visit_file

LATER = date(2026, 12, 31)


@pytest.fixture
def page() -> AppTest:
    return start()


def appraised(number: int) -> Appraisal:
    """The appraisal of one of the invented pianos, as of the day of its visit."""
    book = load_shop()
    visit = read_visit_file(demo_visits()[number - 1][1], book, LATER)
    return appraise(visit, book, on=visit.on)


def test_a_reason_leads_to_its_finding_at_its_place_on_the_walk(page):
    more(opened(page, 8), "reasons")
    reason = next(r for r in appraised(8).reasons if r.subject == "hammers")
    check = reason.findings[0]
    button = page.button(key=f"to_part_hammers_{check}")
    measured = draft(page).finding(check).readings[0].value
    assert f"{measured:g} mm" in button.label
    button.click().run()
    assert not page.exception
    assert page.title[0].value == "Inspect"
    assert draft(page).place == load_shop().of_kind("checks", "grand")[check].access
    assert f"{measured:g} mm" in told(page)


def test_every_reason_names_its_table_rows(page):
    more(opened(page, 8), "reasons")
    reasons = [element.value for element in page.markdown if element.value.startswith("Rows: ")]
    assert len(reasons) >= 6
    assert any("parts.csv, line " in text and "(hammers)" in text.replace("\\", "") for text in reasons)


def test_a_photo_of_a_check_is_shown_beside_the_reason_that_rests_on_it(page):
    more(opened(page, 8), "reasons")
    file = BytesIO()
    Image.effect_noise((64, 64), 40).save(file, "PNG")
    shop.store().add_photo(
        draft(page).visit_id, file.getvalue(), name="groove.png", check="hammer_groove",
        caption="thin in the fifth octave", who="Jule", device="other", now=datetime.now(UTC),
    )  # fmt: skip
    page.run()
    assert not page.exception
    assert "thin in the fifth octave" in told(page)


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
    page.button(key="clear_levels").click().run()
    assert "changed by hand" not in told(page)


def test_the_one_page_answer_says_what_was_changed_by_hand():
    book = load_shop()
    visit = read_visit_file(demo_visits()[0][1], book, LATER)
    found = appraise(visit, book, on=visit.on, set_levels={"hammers": "keep"})
    said = one_page(found, visit, book, by_hand=("hammers, keep: changed by hand: as asked",))
    assert "Changed by hand\n  - hammers, keep: changed by hand: as asked" in said
    assert "Changed by hand" not in one_page(found, visit, book)


@pytest.mark.parametrize("number", [1, 3, 6])
def test_the_sums_by_component_add_up_to_the_quote(page, number):
    book, found = load_shop(), appraised(number)
    for option in found.options:
        quote = quote_of(option, tax_of(book, found.on))
        sums = by_component(quote, book)
        assert sum(one.amount for one in sums) == quote.before_tax
        assert sum(one.hours for one in sums) == pytest.approx(sum(round(line.hours, 1) for line in option.lines))
    go(opened(page, number), "work")
    page.pills(key=draft(page).key("work_part")).set_value("lines").run()
    table = next(rows for rows in tables(page) if rows[0][0] == "Component")
    cells = [[figure(cell) for cell in row[1:]] for row in table[1:]]
    assert [pytest.approx(sum(column)) for column in zip(*cells[:-1], strict=True)] == cells[-1]
    assert all(sum(row[1:-1]) == row[-1] for row in cells)


def test_the_pictures_of_the_verdict_have_their_words_and_hold_the_figures_of_the_appraisal(page):
    opened(page, 6)
    assert not page.get("plotly_chart")
    more(page, "change")
    assert len(page.get("plotly_chart")) == 2
    found, text = appraised(6), told(page)
    by_heart = next(swing for swing in swings(study()) if swing.driver == "to_hear")
    assert swing_sentence(by_heart, found.verdict, found.currency) in text
    spots = cost_and_result(study())
    best = max(spots.frontier, key=lambda spot: spot.net)
    costs, net = money(best.price, found.currency), money(best.net, found.currency)
    assert f"Of all plans of work the best costs {costs} and comes out at a net of {net}." in text
    frontier = json.loads(page.get("plotly_chart")[1].proto.spec)
    named = [annotation["text"] for annotation in frontier["layout"]["annotations"]]
    names = {o.option: option_name(o.option) for o in found.options}
    assert named == [f"<b>{name}</b>" if option == found.verdict else name for option, name in names.items()]


def study() -> Study:
    """The study of the heirloom."""
    book = load_shop()
    visit = read_visit_file(demo_visits()[5][1], book, LATER)
    return study_of(visit, book, on=visit.on)
