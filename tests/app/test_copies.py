"""Copies of the shop's data, as its page shows them."""

from __future__ import annotations

import shutil
from datetime import date

import pytest
from demo_shop import go, start, told
from streamlit.testing.v1 import AppTest

from valuation.screens import shop

LATER = date(2031, 1, 1)


@pytest.fixture
def page() -> AppTest:
    return start()


def test_the_first_page_is_quiet_where_there_is_a_good_copy_of_late(page):
    assert "no good copy" not in told(page)


def test_the_first_page_is_loud_where_the_copy_is_old_until_one_is_made(page, monkeypatch):
    monkeypatch.setattr(shop, "today", lambda: LATER)
    page.run()
    assert "There is no good copy of your data of late." in told(page)
    page.button(key="copy_now_first").click().run()
    assert not page.exception
    assert "no good copy" not in told(page)


def test_a_copy_is_made_and_all_are_proven_on_the_page(page):
    go(page, "shop")
    page.button(key="copy_now").click().run()
    assert "Copy 2 was made and checked." in told(page)
    page.button(key="check_copies").click().run()
    assert not page.exception
    assert "8 visits, " in told(page)
    assert "Sound." in told(page)


def test_copies_that_are_spoilt_are_told(page):
    go(page, "shop")
    folder = shop.store().store.folder / "backups"
    (folder / "000001" / "valuation.sqlite").write_bytes(b"spoilt")
    page.button(key="check_copies").click().run()
    assert "Copy 1: not sound." in told(page)
    shutil.rmtree(folder)
    page.button(key="check_copies").click().run()
    assert "There is no copy yet." in told(page)
