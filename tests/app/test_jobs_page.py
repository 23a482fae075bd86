"""The page of all jobs, as Streamlit's own test runner sees it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from demo_shop import demo_id, draft, go, start, told
from invented_jobs import fill
from streamlit.testing.v1 import AppTest

from valuation.screens import shop


@pytest.fixture
def page(demo_without_jobs) -> AppTest:
    """The jobs of the demo shop, nothing having become of them yet."""
    return go(start(), "jobs")


def entered(visit: str, prefix: str = "job.") -> list:
    return [entry for entry in shop.store().history(visit) if entry.field.startswith(prefix)]


def test_one_tap_brings_an_evaluation_to_its_next_stage_and_one_takes_that_back(page):
    visit = demo_id(1)
    enter(visit, "a", "visited", 3)
    page.run()
    page.button(key=f"on_{visit}_evaluated").click().run()
    assert not page.exception
    assert "now evaluated" in told(page)
    [_, event] = entered(visit)
    assert event.value["stage"] == "evaluated"
    assert event.value["told"]["verdict"]
    page.button(key="take_back").click().run()
    assert not page.exception
    assert "Taken back" in told(page)
    assert page.button(key=f"on_{visit}_evaluated")
    assert [entry.undoes for entry in entered(visit)] == ["", "", event.id]


def enter(visit: str, name: str, stage: str, days_ago: int) -> None:
    day = shop.today() - timedelta(days=days_ago)
    value = {"stage": stage, "day": day.isoformat()}
    shop.store().put(visit, f"job.event.{name}", value, who="Edda", device="desk", now=shop.now())


def test_a_visit_with_nothing_yet_is_brought_in_on_its_own_day(page):
    visit = demo_id(1)
    page.button(key=f"on_{visit}_visited").click().run()
    assert not page.exception
    [event] = entered(visit, "job.event.")
    assert event.value["day"] == draft_day(visit)


def draft_day(visit: str) -> str:
    return shop.store().open_visit(visit, shop.tables()).visit.on.isoformat()


def test_what_is_due_is_counted_listed_and_marked_as_done(page):
    visit = demo_id(2)
    enter(visit, "a", "evaluated", 5)
    page.pills(key="jobs_view").set_value("due").run()
    assert not page.exception
    assert "ask whether the evaluation has come and is clear" in told(page)
    assert "due for 2 days" in told(page)
    page.button(key=f"done_{visit}_ask_if_clear").click().run()
    assert not page.exception
    assert f"done_{visit}_ask_if_clear" not in [button.key for button in page.button]
    [done] = entered(visit, "job.followed.")
    assert done.field == "job.followed.ask_if_clear"


def test_rows_are_filtered_by_stage_searched_sorted_and_paged(page):
    fill(shop.store(), 60, shop.today())
    page.pills(key="jobs_view").set_value("rows").run()
    assert "evaluations" in told(page)
    assert len(rows(page)) == 20
    page.button(key="jobs_on").click().run()
    assert "21 to 40 of" in told(page)
    page.selectbox(key="jobs_stage").set_value("delivered").run()
    assert not page.exception
    assert "delivered, since" in told(page)
    assert "evaluated, since" not in told(page)
    page.selectbox(key="jobs_stage").set_value("all").run()
    page.selectbox(key="jobs_sort").set_value("title").run()
    page.text_input(key="jobs_search").set_value("nothing like that").run()
    assert "There is no evaluation like that" in told(page)


def rows(page: AppTest) -> list[str]:
    return [button.key for button in page.button if button.key.startswith("job_")]


def test_a_count_beside_the_way_leads_to_its_rows(page):
    visit = demo_id(3)
    enter(visit, "a", "declined", 5)
    page.run()
    page.button(key="rows_declined").click().run()
    assert not page.exception
    assert rows(page) == [f"job_{visit}"]


def test_a_job_opens_from_the_list(page):
    visit = demo_id(1)
    page.text_input(key="jobs_search").set_value("villa anselm").run()
    page.button(key=f"job_{visit}").click().run()
    assert not page.exception
    assert draft(page).visit_id == visit
    assert page.title[0].value == "This job"


def test_the_page_needs_no_visit_on_the_table():
    page = start()
    page.switch_page("valuation/screens/pages/jobs.py").run()
    assert not page.exception
    assert page.title[0].value == "Jobs"
