"""The page that brings in the past, as Streamlit's own test runner sees it."""

from __future__ import annotations

from demo_shop import go, start, told

from valuation.screens import shop

LIST = b"Client,Phone,Kind,Visit\nA. Invented,0123,upright,2019-05-04\nB. Invented,,organ,2019-05-04\n"


def test_columns_are_guessed_faults_told_and_good_rows_brought_in():
    page = go(start(), "past")
    page.file_uploader(key="past_file_pianos").set_value([("old.csv", LIST, "text/csv")]).run()
    assert not page.exception
    assert "old.csv, row 3" in told(page) or "'organ' is no kind of piano" in told(page)
    page.button(key="past_enter").click().run()
    assert not page.exception
    assert "1 brought in; 0 were here already." in told(page)
    assert [card.client for card in shop.store().list_visits(demo=False)[0]] == ["A. Invented"]
    box = next(box for box in page.selectbox if str(box.key).startswith("past_piano.kind"))
    box.set_value(-1).run()
    assert "say which column is 'Upright or grand'" in told(page)
    assert page.button(key="past_enter").disabled


def test_hours_are_brought_in_once_our_tables_know_the_words():
    page = go(start(), "past")
    page.file_uploader(key="past_file_pianos").set_value([("old.csv", LIST, "text/csv")]).run()
    page.button(key="past_enter").click().run()
    page.pills(key="past_kind").set_value("hours").run()
    hours = b"Piano,Work,Hours,Day,Who\nA. Invented,strings,6,2019-06-04,Jo\n"
    page.file_uploader(key="past_file_hours").set_value([("hours.csv", hours, "text/csv")]).run()
    assert "'strings' is no operation" in told(page)
    next(box for box in page.selectbox if str(box.key).startswith("past_word_strings")).set_value("restring").run()
    assert "is no operation" not in told(page)
    page.button(key="past_enter").click().run()
    assert not page.exception
    assert "1 brought in; 0 were here already." in told(page)


def test_a_price_list_leads_on_to_the_draft_of_our_tables():
    page = go(start(), "past")
    page.pills(key="past_kind").set_value("prices").run()
    page.file_uploader(key="past_file_prices").set_value(
        [("prices.csv", b"What,Price\nwood glue,18\n", "text/csv")]
    ).run()
    page.button(key="past_enter").click().run()
    assert not page.exception
    assert "1 brought in; 0 were here already." in told(page)
    page.button(key="past_to_tables").click().run()
    assert not page.exception
    assert "wood_glue" in told(page) or "wood glue" in told(page)
