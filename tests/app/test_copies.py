"""Copies of the shop's data, as its page shows them."""

from __future__ import annotations

import shutil
from datetime import date

import pytest
import streamlit as st
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


def test_a_copy_comes_back_at_the_next_start_and_is_counted(page):
    go(page, "shop")
    page.button(key="copy_now").click().run()
    opened = shop.store()
    opened.set_setting("shop.name", "Entered after the copy")
    page.button(key="ask_back").click().run()
    assert not page.exception
    assert "Copy 2 comes back when the program is next started." in told(page)
    opened.close()
    st.cache_resource.clear()  # the program is stopped and started again
    again = start()
    go(again, "shop")
    assert not again.exception
    assert "Copy 2 is back: 8 visits, " in told(again)
    assert "replaced/000001" in told(again)
    assert shop.store().setting("shop.name") != "Entered after the copy"


def test_what_was_asked_for_can_be_taken_back(page):
    go(page, "shop")
    page.button(key="ask_back").click().run()
    page.button(key="leave_as_is").click().run()
    assert "comes back" not in told(page)
    shop.store().close()
    st.cache_resource.clear()
    start()
    assert shop.brought_back() is None


def test_a_copy_that_is_spoilt_is_not_asked_for_and_one_spoilt_since_changes_nothing(page):
    go(page, "shop")
    place = shop.store().store.folder / "backups" / "000001" / "valuation.sqlite"
    whole = place.read_bytes()
    place.write_bytes(b"spoilt")
    page.button(key="ask_back").click().run()
    assert "copy 1: " in told(page)
    assert "comes back" not in told(page)
    place.write_bytes(whole)
    page.button(key="ask_back").click().run()
    place.write_bytes(b"spoilt")
    shop.store().close()
    st.cache_resource.clear()
    again = start()
    assert "there is no sound copy; nothing was changed" in told(again)
    assert len(shop.store().list_visits()[0]) == 8
