"""From a tap to the page at rest, against a bare page with as many elements: medians and 95th percentiles of one run.

Taps go to each page from another one, by turns with the bare page; a page is at rest when nothing in it has moved for
300 ms. `--pages` names some of them, `--taps` how many each.
"""

from __future__ import annotations

import argparse
import json
from tempfile import TemporaryDirectory

import numpy as np
from playwright.sync_api import BrowserContext, Page

from tests.served import Served, entrance, launched, settle

STEPS = ("how", "matters", "ways", "turns_up", "unknown", "stand")
PAGES = ("verdict", "inspect", "papers", "condition", "work", "what_if", "today", "jobs", "job", "visits")

_COUNTED = {
    "buttons": "[data-testid=stButton], [data-testid=stDownloadButton], [data-testid=stPopover]",
    "choices": "[data-testid=stButtonGroup]",
    "fields": "[data-testid=stTextInput], [data-testid=stSlider], [data-testid=stSelectbox], [data-testid=stTextArea]",
    "boxes": "[data-testid=stExpander]",
    "texts": "[data-testid=stMarkdown], [data-testid=stText], [data-testid=stHtml], [data-testid=stHeading], "
    "[data-testid=stImage], [data-testid=stPlotlyChart]",
}

_WATCH = """() => {
    window.moved = 0;
    new MutationObserver(() => { window.moved = performance.now(); })
        .observe(document.body, {subtree: true, childList: true, characterData: true, attributes: true});
}"""

_TAP = """async ([target, mark]) => {
    const sleep = time => new Promise(done => setTimeout(done, time));
    const menu = '.st-key-way_more button';
    while (!document.querySelector(target) && !document.querySelector(menu)) await sleep(20);
    if (!document.querySelector(target)) document.querySelector(menu).click();
    while (!document.querySelector(target)) await sleep(20);
    await sleep(200);
    const rest = 300, began = performance.now();
    document.querySelector(target).click();
    while (true) {
        await sleep(20);
        const app = document.querySelector('[data-testid=stApp]');
        const there = document.querySelector(mark) && app.dataset.testScriptState === 'notRunning';
        if (there && window.moved > began && performance.now() - window.moved > rest) return window.moved - began;
        if (performance.now() - began > 30000) throw new Error(`${mark} never came`);
    }
}"""


class Tapped:
    """One window: goes to a page and back, and takes the time of the way there."""

    def __init__(self, page: Page, address: str, there: tuple[str, str], back: tuple[str, str]) -> None:
        self.page = page
        self.there, self.back = there, back
        self.page.goto(address)
        self.page.wait_for_selector(".st-key-foot")
        settle(self.page)
        self.page.evaluate(_WATCH)
        self.taken: list[float] = []

    def tap(self) -> None:
        """Go there and back."""
        self.taken.append(self.page.evaluate(_TAP, list(self.there)))
        self.page.evaluate(_TAP, list(self.back))

    def counts(self) -> dict[str, int]:
        """Return how many elements the page has to which it goes, by sort."""
        self.page.evaluate(_TAP, list(self.there))
        found = {name: self.page.locator(selector).count() for name, selector in _COUNTED.items()}
        self.page.evaluate(_TAP, list(self.back))
        return found


def ways(name: str) -> tuple[str, tuple[str, str], tuple[str, str]]:
    """Return where one begins, what is tapped to go to a page and what is then there, and the same for the way back."""
    if name in STEPS:
        other = "matters" if name != "matters" else "how"
        place = [f".st-key-step_{step} button" for step in (name, other)]
        marks = [f"[data-here=client][data-step={step}]" for step in (name, other)]
        return f"client?step={other}&", (place[0], marks[0]), (place[1], marks[1])
    return (
        "history?",
        (f".st-key-go_{name} button", f"[data-here={name}]"),
        (".st-key-go_history button", "[data-here=history]"),
    )


def measure(
    browser: BrowserContext, served: Served, visit: str, name: str, taps: int
) -> tuple[np.ndarray, np.ndarray, int]:
    """Return the times of a page and of the bare one [ms], and how many elements they have."""
    begin, there, back = ways(name)
    ours = Tapped(browser.new_page(), f"{served.address}/{begin}visit={visit}", there, back)
    counts = ours.counts()
    with Served({"BARE": json.dumps(counts)}, script="tests/benchmark/bare_page.py") as bare_server:
        bare = Tapped(browser.new_page(), bare_server.address, (".st-key-go_there button", ".st-key-go_back"),
                      (".st-key-go_back button", ".st-key-go_there"))  # fmt: skip
        bare.counts()
        for _ in range(taps):
            ours.tap()
            bare.tap()
        bare.page.close()
    ours.page.close()
    return np.array(ours.taken), np.array(bare.taken), sum(counts.values())


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pages", nargs="+", default=[*PAGES, *STEPS])
    parser.add_argument("--taps", type=int, default=30)
    given = parser.parse_args()
    print("| page | elements | median ms | bare | ratio | 95th | bare | ratio |\n" + "| --- " * 8 + "|")
    with TemporaryDirectory(prefix="taps-") as folder:
        environ = {"VALUATION_DATA": folder, "DATABASE_URL": ""}
        with Served(environ) as served, launched() as browser:
            context = browser.new_context(viewport={"width": 1024, "height": 768})
            context.request.get(entrance(served.address), max_redirects=0)
            visit = first_visit(context.new_page(), served.address)
            for name in given.pages:
                ours, bare, count = measure(context, served, visit, name, given.taps)
                median, high = np.percentile(ours, [50, 95]), np.percentile(bare, [50, 95])
                print(f"| {name} | {count} | {median[0]:.0f} | {high[0]:.0f} | {median[0] / high[0]:.2f} "
                      f"| {median[1]:.0f} | {high[1]:.0f} | {median[1] / high[1]:.2f} |", flush=True)  # fmt: skip


def first_visit(page: Page, address: str) -> str:
    """Open the first piano of the list; return its id."""
    page.goto(address)
    page.locator(".st-key-foot").wait_for()
    settle(page)
    page.locator("[class*='st-key-open_'] button").first.click(delay=90)
    page.locator(".st-key-piano").wait_for()
    settle(page)
    visit = page.url.partition("visit=")[2][:32]
    page.close()
    return visit


if __name__ == "__main__":
    main()
