"""Coming in with a real browser, and what it forbids other pages."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext

from tests.browser.conftest import AXE, AXE_TAGS
from tests.served import ROOT, Served, entrance

pytestmark = pytest.mark.browser

_FAILING = """
import streamlit as st
from valuation.access.log_privacy import keep_people_out_of_logs

def page():
    st.text("before the fault")
    raise ValueError("the client " + "Lind" + "ner")

if __name__ == "__main__":
    page()
else:
    keep_people_out_of_logs()
    app = st.App(__file__)
"""


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """A browser that nobody has let in yet."""
    context = browser.new_context(viewport={"width": 820, "height": 1100})
    context.set_default_timeout(30_000)
    yield context
    context.close()


def test_whoever_pastes_the_address_of_the_start_is_in_and_stays_in(context, server):
    page = context.new_page()
    page.goto(f"{server}/jobs")
    page.evaluate(AXE.read_text(encoding="utf-8"))
    report = page.evaluate("tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", AXE_TAGS)
    assert report["passes"]
    assert [rule["id"] for rule in report["violations"]] == []
    page.get_by_label("Address or token").fill(entrance(server))
    page.keyboard.press("Enter")
    page.get_by_role("heading", level=1, name="Jobs").wait_for()
    assert "token" not in page.url
    again = context.new_page()
    again.goto(f"{server}/jobs")
    again.get_by_role("heading", level=1, name="Jobs").wait_for()


def test_a_foreign_page_can_not_show_the_tool_in_a_frame(context, server):
    context.request.get(entrance(server), max_redirects=0)
    page = context.new_page()
    page.set_content(f'<iframe src="{server}/" width="700" height="700"></iframe>')
    (frame,) = page.frames[1:]
    for _ in range(100):  # the browser shows a page of its own instead
        if frame.url.startswith("chrome-error:"):
            break
        page.wait_for_timeout(100)
    assert frame.url.startswith("chrome-error:")
    assert frame.locator("[data-testid=stApp]").count() == 0


def test_the_log_of_a_page_that_fails_tells_where_and_no_name(context, tmp_path: Path):
    script, log = tmp_path / "failing.py", tmp_path / "server.log"
    script.write_text(_FAILING, encoding="utf-8")
    with Served({"PYTHONPATH": str(ROOT)}, script=str(script), log=log) as served:
        page = context.new_page()
        page.goto(served.address)
        page.get_by_text("before the fault").wait_for()
        page.locator("[data-testid=stException], [data-testid=stAlert]").first.wait_for()
        shown = page.locator("[data-testid=stApp]").inner_text()
    told = log.read_text(encoding="utf-8")
    assert "ValueError" in told
    assert "failing.py" in told
    assert "Lindner" not in told + shown


def test_a_file_within_the_limit_of_its_own_field_is_taken(context, server, tmp_path: Path):
    file = tmp_path / "no_export.zip"
    context.request.get(entrance(server), max_redirects=0)
    page = context.new_page()
    page.goto(f"{server}/shop")
    field = page.locator(".st-key-import_file")
    page.locator("details", has=field).locator("summary").first.click()
    field.wait_for()
    file.write_bytes(b"x" * 40_000_000)
    field.locator("input[type=file]").set_input_files(file)
    page.locator(".st-key-import button").click()
    page.locator(".st-key-fault_file").get_by_text("import.zip").wait_for()
