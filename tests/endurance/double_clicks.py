"""Double and triple clicks on a busy machine: each press does its work once, and what it did is shown.

    python -m tests.endurance.double_clicks [--rounds 20] [--busy 4] [--seed 0]

Drives the real page in headless Chromium beside so many loops that keep the processor busy. In each round a button is
clicked two or three times within 40 to 250 ms each: to start a visit, to make a paper, to go on in the talk, to open a
visit. Counted is what was not shown within 60 s, and what was done otherwise than once. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from datetime import UTC, datetime
from tempfile import TemporaryDirectory

from playwright.sync_api import Page
from playwright.sync_api import TimeoutError as TooLong

from tests.served import Served, entrance, launched, settle
from valuation.service.visits import Shop, open_shop
from valuation.service.written import list_papers

_CLICKS = """([selector, gaps]) => {
    const button = document.querySelector(selector);
    for (const gap of gaps) setTimeout(() => button.click(), gap);
}"""
_LONGEST = 60_000


class Clicker:
    """Clicks quickly, and waits for what is to be shown."""

    def __init__(self, page: Page, address: str, shop: Shop, seed: int) -> None:
        self.page, self.address, self.shop, self.chance = page, address, shop, random.Random(seed)

    def open(self, path: str) -> None:
        """Go to a page."""
        self.page.goto(f"{self.address}/{path}")
        self.page.wait_for_selector(".st-key-foot")
        settle(self.page)

    def click(self, selector: str) -> None:
        """Click a button two or three times, as quickly as an impatient hand."""
        self.page.wait_for_selector(selector)
        gaps, at = [], 0.0
        for _ in range(self.chance.choice((2, 3))):
            gaps.append(at)
            at += self.chance.uniform(40, 250)
        self.page.evaluate(_CLICKS, [selector, gaps])


def start(clicker: Clicker) -> bool:
    """Start a visit; tell whether there is one more, and no two."""
    before = clicker.shop.list_visits()[1]
    clicker.open("")
    clicker.click(".st-key-start button")
    clicker.page.get_by_role("radio", name="Upright", exact=True).click()
    settle(clicker.page)
    clicker.click(".st-key-start_visit button:not([disabled])")
    clicker.page.get_by_role("heading", level=1, name="The piano", exact=True).wait_for()
    settle(clicker.page)
    return clicker.shop.list_visits()[1] == before + 1


def make_a_paper(clicker: Clicker) -> bool:
    """Make a paper; tell whether there is one more, and no two."""
    visit = _evaluated(clicker)
    before = len(list_papers(clicker.shop, visit))
    clicker.open(f"papers?visit={visit}")
    clicker.click("[class*='st-key-make_'] button")
    clicker.page.locator(".st-key-paper_made").wait_for()
    settle(clicker.page)
    return len(list_papers(clicker.shop, visit)) == before + 1


def go_on(clicker: Clicker) -> bool:
    """Go on by one step of the talk; tell whether it was one. A click that finds the next button there counts."""
    clicker.open(f"client?visit={_evaluated(clicker)}&step=how")
    clicker.click("[class*='st-key-on_to_'] button")
    clicker.page.locator("[data-step=matters]").wait_for(state="attached")
    settle(clicker.page)
    return clicker.page.locator("[data-step=matters]").count() == 1


def open_one(clicker: Clicker) -> bool:
    """Open a visit from its card; tell whether its verdict is there."""
    clicker.open("")
    clicker.click("[class*='st-key-open_'] button")
    clicker.page.locator("[data-here=verdict]").wait_for(state="attached")
    settle(clicker.page)
    return clicker.page.locator("[data-testid=stException]").count() == 0


def _evaluated(clicker: Clicker) -> str:
    cards, _ = clicker.shop.list_visits(search="parlour", limit=1)
    return cards[0].id


ACTS: dict[str, Callable[[Clicker], bool]] = {
    "start a visit": start, "make a paper": make_a_paper, "go on in the talk": go_on, "open a visit": open_one,
}  # fmt: skip


@contextmanager
def busy(loops: int) -> Iterator[None]:
    """Keep the processor busy with so many loops."""
    with ExitStack() as stack:
        for _ in range(loops):
            loop = stack.enter_context(subprocess.Popen([sys.executable, "-c", "while True: pass"]))
            stack.callback(loop.kill)
        yield


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--busy", type=int, default=4)
    parser.add_argument("--acts", nargs="+", default=list(ACTS), choices=list(ACTS))
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    print("| clicked | rounds | not shown | not once |\n| --- | --- | --- | --- |")
    with TemporaryDirectory(prefix="clicks-") as folder, launched() as browser:
        environ = {"VALUATION_DATA": folder, "DATABASE_URL": ""}
        with Served(environ) as server:
            context = browser.new_context(viewport={"width": 820, "height": 1100})
            context.request.get(entrance(server.address), max_redirects=0)
            page = context.new_page()
            page.set_default_timeout(_LONGEST)
            page.goto(server.address)
            page.wait_for_selector(".st-key-foot")
            with closing(open_shop(environ, datetime.now(UTC).date())) as shop, busy(given.busy):
                clicker = Clicker(page, server.address, shop, given.seed)
                for name in given.acts:
                    unseen = wrong = 0
                    for _ in range(given.rounds):
                        try:
                            wrong += not ACTS[name](clicker)
                        except TooLong:
                            unseen += 1
                    print(f"| {name} | {given.rounds} | {unseen} | {wrong} |", flush=True)


if __name__ == "__main__":
    main()
