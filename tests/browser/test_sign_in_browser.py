"""Signing in at an OpenID provider on this machine, with a real browser; and what nobody gets without."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from openid_provider import CLIENT, SECRET, OpenIdProvider
from playwright.sync_api import Browser, BrowserContext, Page

from tests.served import Served, settle
from valuation.screens.page_list import OWNERS_ONLY
from valuation.service.visits import open_shop
from valuation.store.sessions import Sessions

pytestmark = pytest.mark.browser

_SECRETS = """[auth]
redirect_uri = "{page}/oauth2callback"
cookie_secret = "a long text for the tests, known to all"
client_id = "{client}"
client_secret = "{secret}"
server_metadata_url = "{provider}/.well-known/openid-configuration"

[access]
owners = ["anna@workshop.invalid"]
people = ["@workshop.invalid"]
"""


class Workshop:
    """A page with sign-in set up, and its provider."""

    def __init__(self, served: Served, environ: dict[str, str], provider: OpenIdProvider) -> None:
        self.address, self.environ, self.provider = served.address, environ, provider

    @property
    def sessions(self) -> Sessions:
        return Sessions.of(self.environ)


@pytest.fixture
def workshop(chromium: str, tmp_path: Path) -> Iterator[Workshop]:
    """A page with sign-in set up, reached from this machine."""
    environ, secrets = {"VALUATION_DATA": str(tmp_path / "data"), "DATABASE_URL": ""}, tmp_path / "secrets.toml"
    served = Served(environ, options=(f"--secrets.files={secrets}",))
    with OpenIdProvider(f"{served.address}/oauth2callback") as provider:
        told = {"page": served.address, "client": CLIENT, "secret": SECRET, "provider": provider.address}
        secrets.write_text(_SECRETS.format(**told), encoding="utf-8")
        with served:
            yield Workshop(served, environ, provider)


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 820, "height": 1100})
    context.set_default_timeout(30_000)
    yield context
    context.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


def give_name(page: Page, address: str, name: str) -> None:
    page.goto(address)
    page.get_by_role("link", name="Sign in").click()
    page.get_by_label("Name").fill(name)
    page.get_by_role("button", name="Come in").click()


def sign_in(page: Page, address: str, name: str) -> None:
    give_name(page, address, name)
    page.locator(".st-key-way").wait_for()
    settle(page)


def more(page: Page) -> None:
    page.locator(".st-key-way_more button").first.click(delay=90)
    page.locator(".st-key-sign_out button").wait_for()


def test_who_signs_in_stands_beside_what_they_enter_and_signing_out_ends_it(workshop, page):
    sign_in(page, workshop.address, "Anna")
    page.locator(".st-key-all_visits button").click()
    page.locator("[class*='st-key-card_']").filter(has_text="parlour").get_by_role("button", name="Inspect").click()
    page.get_by_role("heading", level=1, name="Inspect").wait_for()
    settle(page)
    page.locator(".st-key-to_type_in button").click()
    page.locator("summary", has_text="Quick look: No. ").click()
    field = page.locator("[class*='st-key-short_plate_crack__']").get_by_role("textbox")
    field.fill("3")
    field.press("Enter")
    page.locator(".st-key-saved").get_by_text("Is the plate cracked?").wait_for()
    visit = page.url.partition("visit=")[2][:32]
    shop = open_shop(workshop.environ, datetime.now(UTC).date())
    assert shop.history(visit, "finding.plate_crack")[-1].who == "Anna"
    shop.close()
    kept = page.context.cookies()
    more(page)
    page.locator(".st-key-sign_out button").click()
    page.get_by_role("link", name="Sign in").wait_for()
    assert workshop.sessions.all(datetime.now(UTC)) == []
    page.context.add_cookies(kept)  # as if somebody had copied them before
    page.goto(workshop.address)
    page.get_by_role("link", name="Sign in").wait_for()
    assert workshop.provider.faults == []


def test_signing_in_leads_to_the_page_that_was_asked_for(workshop, page):
    sign_in(page, f"{workshop.address}/jobs", "Anna")
    page.get_by_role("heading", level=1, name="Jobs").wait_for()
    assert page.url.startswith(f"{workshop.address}/jobs")


@pytest.mark.parametrize("place", ["", "shop", "jobs", "inspect", "?visit=" + "0" * 32])
def test_a_visitor_who_has_not_signed_in_gets_nothing_of_the_shop(workshop, page, place):
    page.goto(f"{workshop.address}/{place}")
    page.get_by_role("link", name="Sign in").wait_for()
    assert page.locator("[data-testid=stApp]").count() == 0
    refused = page.context.request.get(f"{workshop.address}/_stcore/host-config")
    assert refused.status == 401


def test_a_made_up_cookie_lets_nobody_in(workshop, page):
    port = workshop.address.rpartition(":")[2]
    made_up = {f"valuation-{port}": "A" * 43, "_streamlit_user": "made|up", f"valuation-{port}-flow": "e30.x.y"}
    page.context.add_cookies([{"name": n, "value": v, "url": workshop.address} for n, v in made_up.items()])
    page.goto(workshop.address)
    page.get_by_role("link", name="Sign in").wait_for()


def test_a_stranger_s_account_is_refused_and_so_is_an_address_that_nobody_verified(workshop, page):
    workshop.provider.domain = "elsewhere.invalid"
    give_name(page, workshop.address, "Anna")
    page.get_by_text("anna@elsewhere.invalid is not on the list").wait_for()
    workshop.provider.domain, workshop.provider.verified = "workshop.invalid", False
    give_name(page, workshop.address, "Anna")
    page.get_by_text("does not say that your e-mail address is verified").wait_for()
    assert workshop.sessions.all(datetime.now(UTC)) == []
    page.goto(f"{workshop.address}/jobs")
    page.get_by_role("link", name="Sign in").wait_for()


def test_the_way_back_from_the_provider_is_good_once_and_for_one_browser(workshop, page, browser):
    back, seen = f"{workshop.address}/oauth2callback", []
    page.on("request", lambda request: seen.append(request.url) if request.url.startswith(back) else None)
    sign_in(page, workshop.address, "Anna")
    for context in (page.context, browser.new_context()):
        other = context.new_page()
        other.goto(seen[0])
        other.get_by_text("gave no valid answer").wait_for()
        other.close()
    assert len(workshop.sessions.all(datetime.now(UTC))) == 1


def test_a_technician_finds_no_page_of_the_owner(workshop, page):
    sign_in(page, workshop.address, "Ben")
    more(page)
    assert page.locator(".st-key-go_jobs").is_visible()
    for name in (Path(path).stem for path in OWNERS_ONLY):
        assert page.locator(f".st-key-go_{name}").count() == 0
        page.goto(f"{workshop.address}/{name}")
        page.get_by_text("Page not found").wait_for()
        page.locator("[class*='st-key-card_']").first.wait_for()  # the list of visits, behind that message


def test_the_owner_shows_somebody_out_at_once(workshop, page, browser):
    sign_in(page, workshop.address, "Anna")
    theirs = browser.new_context(viewport={"width": 820, "height": 1100}).new_page()
    sign_in(theirs, workshop.address, "Ben")
    page.goto(f"{workshop.address}/access")
    box = page.locator("[class*='st-key-session_']").filter(has_text="ben@workshop.invalid")
    box.get_by_role("button", name="End access").click()
    box.wait_for(state="detached")
    theirs.locator(".st-key-way_more button").first.click(delay=90)
    theirs.locator(".st-key-go_jobs button").click()
    theirs.wait_for_timeout(1500)
    assert theirs.get_by_role("heading", level=1, name="Jobs").count() == 0
    theirs.goto(workshop.address)
    theirs.get_by_role("link", name="Sign in").wait_for()
    theirs.context.close()
    page.reload()
    page.get_by_text("This is the browser you are using.").wait_for()
