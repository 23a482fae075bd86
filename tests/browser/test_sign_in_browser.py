"""Signing in through Streamlit's own OpenID support, with a provider on this machine and a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from openid_provider import CLIENT, SECRET, OpenIdProvider
from playwright.sync_api import Browser, Page

from tests.served import Served, settle
from valuation.service.visits import open_shop

pytestmark = pytest.mark.browser

_SECRETS = """[auth]
redirect_uri = "{page}/oauth2callback"
cookie_secret = "a long text for the tests, known to all"
client_id = "{client}"
client_secret = "{secret}"
server_metadata_url = "{provider}/.well-known/openid-configuration"
"""


@pytest.fixture
def workshop(chromium: str, tmp_path: Path) -> Iterator[tuple[str, dict[str, str], OpenIdProvider]]:
    """A page with sign-in set up, started for the whole network but reached from this machine."""
    environ, secrets = {"VALUATION_DATA": str(tmp_path / "data"), "DATABASE_URL": ""}, tmp_path / "secrets.toml"
    served = Served(environ, options=(f"--secrets.files={secrets}",))
    with OpenIdProvider(f"{served.address}/oauth2callback") as provider:
        told = {"page": served.address, "client": CLIENT, "secret": SECRET, "provider": provider.address}
        secrets.write_text(_SECRETS.format(**told), encoding="utf-8")
        with served:
            yield served.address, environ, provider


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 820, "height": 1100})
    context.set_default_timeout(30_000)
    yield context.new_page()
    context.close()


def sign_in(page: Page, address: str, name: str) -> None:
    page.goto(address)
    page.locator(".st-key-sign_in button").click()
    page.get_by_label("Name").fill(name)
    page.get_by_role("button", name="Come in").click()
    page.locator(".st-key-way").wait_for()
    settle(page)


def test_who_signs_in_stands_beside_what_they_enter_and_signing_out_ends_it(workshop, page):
    address, environ, provider = workshop
    sign_in(page, address, "Anna")
    page.locator("[class*='st-key-card_']").filter(has_text="parlour").get_by_role("button", name="Inspect").click()
    page.get_by_role("heading", level=1, name="Inspect").wait_for()
    settle(page)
    box = page.locator("[class*='st-key-answer_plate_crack__']")
    box.get_by_role("radio").nth(2).click()
    page.locator(".st-key-saved").get_by_text("Cracks in the plate").wait_for()
    visit = page.url.partition("visit=")[2][:32]
    shop = open_shop(environ, datetime.now(UTC).date())
    assert shop.history(visit, "finding.plate_crack")[-1].who == "Anna"
    shop.close()
    page.goto(f"{address}/shop")
    page.locator(".st-key-sign_out button").click()
    page.locator(".st-key-sign_in button").wait_for()
    assert provider.faults == []


@pytest.mark.parametrize("place", ["", "shop", "jobs", "inspect", "?visit=" + "0" * 32])
def test_a_visitor_who_has_not_signed_in_sees_nothing_of_the_shop(workshop, page, place):
    address, environ, _ = workshop
    page.goto(f"{address}/{place}")
    page.locator(".st-key-sign_in button").wait_for()
    settle(page)
    said = page.locator("[data-testid=stApp]").inner_text()
    assert page.locator(".st-key-way, [class*='st-key-card_']").count() == 0
    shop = open_shop(environ, datetime.now(UTC).date())
    for card in shop.list_visits(limit=100)[0]:
        assert card.title not in said
    shop.close()


def test_a_made_up_cookie_lets_nobody_in(workshop, page):
    address, _, _ = workshop
    page.goto(address)
    page.locator(".st-key-sign_in button").wait_for()
    page.context.add_cookies([{"name": "_streamlit_user", "value": "made|up", "url": address}])
    page.reload()
    page.locator(".st-key-sign_in button").wait_for()
    settle(page)
    assert page.locator(".st-key-way").count() == 0
