"""The page that brings in the past, as Streamlit's own test runner sees it."""

from __future__ import annotations

from demo_shop import go, start, told

from valuation.screens import shop

LIST = b"Client,Phone,Kind,Visit\nA. Invented,0123,upright,2019-05-04\nB. Invented,,organ,2019-05-04\n"


def test_columns_are_guessed_faults_told_and_good_rows_brought_in():
    page = go(start(), "past")
    page.file_uploader(key="past_file").set_value([("old.csv", LIST, "text/csv")]).run()
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
