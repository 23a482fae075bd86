"""What may befall a device at the piano: a server that is reached by plain http, its store thrown away."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, expect
from walker import PHONE, Walker, history, new_photo, new_visit

from tests.served import FAR, Served

pytestmark = pytest.mark.browser

expect.set_options(timeout=60_000)

WAKE = "() => dispatchEvent(new Event('online'))"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("troubled")


@pytest.fixture(scope="module")
def served(chromium, folder) -> Iterator[Served]:
    with Served(
        {"VALUATION_DATA": str(folder)}, options=tuple(f"--server.allowedHosts={name}" for name in ("127.0.0.1", FAR))
    ) as server:
        yield server


@pytest.fixture
def phone(browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
    yield context
    context.close()


def fields(folder: Path, visit: str) -> list[str]:
    return sorted({entry.field for entry in history(folder, visit)})


def findings(made: list[str]) -> list[str]:
    return sorted(f"finding.{check}" for check in made)


def test_by_plain_http_it_says_what_works_and_loses_nothing(up, folder, phone):
    visit, token = new_visit(folder)
    far = f"http://{FAR}:{up.port}"
    walker = Walker(phone, far, token)
    assert not walker.page.evaluate("() => isSecureContext")
    expect(walker.page.get_by_text("Keep this page open: it works without a network")).to_be_visible()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(4)]
    walker.photograph(new_photo(), 1)
    walker.page.close()  # and can't be opened before there is a network
    up.start()
    again = Walker(phone, far)
    again.all_sent()
    assert fields(folder, visit)[:-1] == findings(made)
    assert fields(folder, visit)[-1].startswith("photo.")
    assert not walker.complaints + again.complaints


def test_a_store_thrown_away_under_the_open_page_is_written_back(up, folder, phone):
    visit, token = new_visit(folder)
    walker = Walker(phone, up.address, token)
    walker.ready_offline()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(3)]
    walker.photograph(new_photo(), 1)
    phone.new_cdp_session(walker.page).send(
        "Storage.clearDataForOrigin", {"origin": up.address, "storageTypes": "indexeddb"}
    )
    expect(walker.page.get_by_role("alert").filter(has_text="was written back")).to_be_visible()
    made.append(walker.answer(1))
    walker.page.reload()
    assert int(walker.until(lambda now: now["screen"] == "check")["unsent"]) > len(made)
    up.start()
    walker.page.evaluate(WAKE)
    walker.all_sent()
    assert fields(folder, visit)[:-1] == findings(made)
    assert fields(folder, visit)[-1].startswith("photo.")
