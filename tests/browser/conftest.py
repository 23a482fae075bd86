"""The server and a browser for the tests of this folder; both are stopped at the end."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from shutil import which
from urllib.parse import urlsplit

import axe_playwright_python
import pytest
from PIL import Image
from playwright.sync_api import Browser, Page

from tests.served import MISSING, Served, chromium_path, entrance, launched, settle
from valuation.screens.state import QUICK_LOOK
from valuation.screens.what_stands import STATIONS
from valuation.service import demo_visits, load_shop, read_visit_file
from valuation.service.visits import Shop, open_shop

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js")
AXE_TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture
def up(served) -> Served:
    """The server, running again if a test has killed it."""
    if served.process.poll() is not None:
        served.start()
    return served


@pytest.fixture(scope="session")
def chromium() -> str:
    """Path of Chromium; without one the tests are skipped, but in CI they fail."""
    path = chromium_path()
    if path is None:
        if os.environ.get("CI"):
            pytest.fail(MISSING)
        pytest.skip(MISSING)
    return path


@pytest.fixture(scope="session")
def data_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the server under test keeps its visits."""
    return tmp_path_factory.mktemp("served")


@pytest.fixture
def store(data_folder: Path) -> Iterator[Shop]:
    """The store of the server under test, with the demo as it was written and no other visit changed."""
    opened = open_shop({"VALUATION_DATA": str(data_folder)}, datetime.now(UTC).date())
    opened.remove_demo()
    opened.load_demo()
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def server(chromium: str, data_folder: Path) -> Iterator[str]:
    """Start the page on a free port of this machine; give its address."""
    with Served({"VALUATION_DATA": str(data_folder)}) as served:
        yield served.address


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """One browser for all tests."""
    with launched() as browser:
        yield browser


def title_of(number: int) -> str:
    """Title of one of the invented pianos, by the number that its file begins with."""
    path = next(path for _, path in demo_visits() if path.stem.startswith(f"{number}_"))
    return read_visit_file(path, load_shop(), date.max).title


class Visitor:
    """A person at the page: goes about, looks, and remembers what the browser complained of.

    Attributes
    ----------
    page : Page
    complaints : list of str
        Errors in the console and requests to anywhere but the server.
    """

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address
        self.complaints: list[str] = []
        page.on("console", lambda m: self.complaints.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("request", lambda request: self._watch(request.url))

    def _watch(self, url: str) -> None:
        if not url.startswith((self.address, self.address.replace("http", "ws"), "data:", "blob:")):
            self.complaints.append(f"asked for {url}")

    def settle(self) -> None:
        """Wait until the page has been drawn, and whole: a fault on the server stands there instead of what is left."""
        settle(self.page)
        broken = self.page.locator("[data-testid=stException]")
        assert not broken.count(), f"{self.page.url} was not drawn to its end"

    def show_all(self) -> None:
        """Make the window as high as the page: axe judges the colours only of what is in view."""
        height = self.page.evaluate("document.querySelector('[data-testid=stMainBlockContainer]').scrollHeight")
        self.page.set_viewport_size({"width": self.page.viewport_size["width"], "height": height + 60})
        self.settle()

    def sideways(self) -> int:
        """Return by how much the page is wider than its window [px]; not above 0 where nothing scrolls sideways."""
        return self.page.evaluate(
            "Math.max(...[document.documentElement, ...document.querySelectorAll('[data-testid=stMain]')]"
            ".map(e => e.scrollWidth - e.clientWidth))"
        )

    def cut(self) -> list[str]:
        """Return what reaches over the right edge of the window."""
        return self.page.evaluate(
            "[...document.querySelectorAll('table, button, input, textarea, [data-testid=stText], '"
            " + '[data-testid=stMarkdownContainer]')]"
            ".filter(e => e.getBoundingClientRect().right > window.innerWidth + 1).map(e => e.outerHTML.slice(0, 90))"
        )

    def too_small(self) -> list[str]:
        """Return what is meant to be touched and is below 44 px either way."""
        return self.page.evaluate(
            """[...document.querySelectorAll('button, [role=radio], input[type=text], summary, [role=combobox]')]
            .map(e => [e, e.getBoundingClientRect()])
            .filter(([e, r]) => r.width > 0 && !e.closest('[data-testid=stHeader], [data-testid=stToolbar]'))
            .filter(([e, r]) => Math.round(r.height) < 44 || Math.round(r.width) < 44)
            .map(([e, r]) => `${e.textContent || e.getAttribute('aria-label')}: ${r.width} x ${r.height}`)"""
        )

    def axe_faults(self) -> list[tuple[str, str, str]]:
        """Return what axe finds against WCAG 2.2 A and AA on the whole page: rule, element, how to mend it."""
        self.show_all()
        self.page.evaluate(AXE.read_text(encoding="utf-8"))
        report = self.page.evaluate("tags => axe.run(document, {runOnly: {type: 'tag', values: tags}})", AXE_TAGS)
        assert report["passes"], "axe looked at nothing"
        return [
            (rule["id"], node["html"][:200], node["failureSummary"])
            for rule in report["violations"]
            for node in rule["nodes"]
        ]

    def open(self, number: int = 1, at: str = "Verdict") -> None:
        """Open one of the invented pianos from the list, at its verdict or at the inspection."""
        self.page.goto(self.address)
        self.page.locator(".st-key-foot").wait_for()  # the last thing drawn: before it the list is not all there
        self.settle()
        card = self.page.locator("[class*='st-key-card_']").filter(has_text=title_of(number))
        if not card.count():
            every = self.page.locator(".st-key-all_visits button")
            every.click(delay=90)
            every.wait_for(state="detached")  # it goes when the longer list is drawn; before, cards change places
            self.settle()
        card.get_by_role("button", name=at).click(delay=90)
        self.page.locator(".st-key-piano").wait_for()
        self.settle()

    def unfold(self, check: str) -> None:
        """Open the section of the form in which a check stands."""
        row = next(row for row in load_shop().checks if row.id == check)
        section = STATIONS[QUICK_LOOK if row.quick else row.access]
        self.page.locator("summary", has_text=f"{section}: No. ").click()
        self.page.locator(f"[class*='st-key-short_{check}__']").first.wait_for()
        self.settle()

    def go(self, section: str, heading: str = "") -> None:
        """Go to a section by its button, which may stand in the menu."""
        if self.page.locator(".st-key-leave_table").count():  # from the talk one way leads back, and no other
            self.page.locator(".st-key-leave_table button").click(delay=90)
            self.page.locator(".st-key-way").wait_for()
            self.settle()
        button = self.page.locator(f".st-key-go_{section} button")
        if not button.is_visible():
            self.page.locator(".st-key-way_more button").first.click(delay=90)
            button.wait_for()
        button.click(delay=90)
        # Until the server has heard of the tap, the page before still stands there, drawn to its end.
        self.page.wait_for_url(lambda address: urlsplit(address).path.endswith(f"/{section}"))
        if heading:
            self.page.get_by_role("heading", level=1, name=heading, exact=True).wait_for()
        self.settle()


@pytest.fixture(params=[1280], ids=["desk"])
def visitor(browser: Browser, server: str, store: Shop, request: pytest.FixtureRequest) -> Iterator[Visitor]:
    """A visitor with a window of the width asked for [px], a desk's if none; narrow ones touch."""
    context = browser.new_context(viewport={"width": request.param, "height": 900}, has_touch=request.param < 1000)
    context.set_default_timeout(30_000)
    context.request.get(entrance(server), max_redirects=0)
    yield Visitor(context.new_page(), server)
    context.close()


@pytest.fixture
def as_pictures(tmp_path: Path) -> Callable[[bytes], list[Image.Image]]:
    """Draw the pages of a PDF with poppler; skipped where it is missing, but not in CI."""

    def draw(pdf: bytes) -> list[Image.Image]:
        if which("pdftoppm") is None:
            reason = "pdftoppm is missing; install it (on Debian: apt-get install poppler-utils)"
            if os.environ.get("CI"):
                pytest.fail(reason)
            pytest.skip(reason)
        (tmp_path / "printed.pdf").write_bytes(pdf)
        subprocess.run(["pdftoppm", "-r", "50", "-png", tmp_path / "printed.pdf", tmp_path / "page"], check=True)
        return [Image.open(path) for path in sorted(tmp_path.glob("page-*.png"))]

    return draw
