"""What can't be drawn says so, and takes no other page with it."""

from __future__ import annotations

import pytest
from demo_shop import demo_id, go, start, told
from poisoned import let_in, plain_entry, write_export
from streamlit.testing.v1 import AppTest

from valuation.screens import page_list, shop

KINDLESS = "c" * 32


@pytest.fixture
def page(demo_without_jobs) -> AppTest:
    return start()


def test_one_next_step_beyond_all_sense_stops_neither_the_jobs_nor_their_calendar(page):
    let_in(shop.store(), demo_id(1), "job.next", {"what": "ask again", "day": "9999-12-31"})
    let_in(shop.store(), demo_id(2), "job.event.a", {"stage": "evaluated", "day": "9999-12-31"})
    page = go(page, "jobs")
    for view in ("board", "rows", "due"):
        page.pills(key="jobs_view").set_value(view).run()
        assert not page.exception
    assert "ask again" not in told(page)


def test_what_is_set_aside_is_told_with_its_reason_on_the_pages_of_its_visit_alone(page):
    let_in(shop.store(), demo_id(1), "story", "half a letter: \ud800")
    let_in(shop.store(), demo_id(1), "job.next", {"what": "ask again", "day": "9999-12-31"})
    page.run()
    assert not page.exception
    page.text_input(key="search").set_value("villa anselm").run()
    page.button(key=f"open_{demo_id(1)}").click().run()
    assert not page.exception
    assert "Kept, but not counted: " in told(page)
    assert "Its story: the text holds half a letter" in told(page)
    assert "more than 10 years ahead" in told(page)
    for name in ("piano", "inspect", "history", "job", "papers"):
        page = go(page, name)
        assert not page.exception
        assert "Kept, but not counted: " in told(page)


@pytest.fixture
def kindless(page, tmp_path) -> AppTest:
    """A visit from elsewhere of which nobody said the kind of piano."""
    own = [
        plain_entry("title", "From elsewhere"),
        plain_entry("piano.kind", "harpsichord"),
        plain_entry("finding.plate_crack", {"grade": "good"}),
        plain_entry("job.event.a", {"stage": "evaluated", "day": "2026-11-20"}),
    ]
    shop.store().import_zip(write_export(tmp_path / "x.zip", {KINDLESS: own}), now=shop.now())
    return page.run()


def test_a_visit_that_cant_be_drawn_says_so_in_the_lists_and_stops_none(kindless):
    assert not kindless.exception
    kindless.text_input(key="search").set_value("from elsewhere").run()
    assert "This visit can't be shown: nobody has said whether it is an upright or a grand" in told(kindless)
    for name in ("jobs", "happened", "learning", "shop"):
        assert not go(kindless, name).exception


def test_a_visit_that_cant_be_drawn_asks_for_what_is_missing_and_then_is_drawn(kindless):
    kindless.text_input(key="search").set_value("from elsewhere").run()
    kindless.button(key=f"inspect_{KINDLESS}").click().run()
    for path in page_list.PAGES:
        if path not in page_list.WITHOUT_A_VISIT:
            kindless.switch_page(path).run()
            assert not kindless.exception, path
            assert ("This visit can't be shown" in told(kindless)) == (path != page_list.HISTORY)
    kindless.switch_page(page_list.PIANO).run()
    next(button for button in kindless.button if button.key.startswith("is_upright")).click().run()
    assert not kindless.exception
    assert "This visit can't be shown" not in told(kindless)
    assert shop.store().open_visit(KINDLESS, shop.tables()).visit.piano.kind == "upright"
