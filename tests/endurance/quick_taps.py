"""Tap faster than the page can be drawn: every tap that stores something must have stored it.

    python -m tests.endurance.quick_taps [--rounds 30] [--slower 4] [--root FOLDER] [--seed 0]

Drives the real page in headless Chromium, slowed down as a tablet is. In each round one tap follows another on
different answers within 40 to 160 ms, on the client's page, on levels of parts; after
the last one the page is left to settle. At the end the history is read: each tap must have its entry.
--root names a checkout of another version, to be compared. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
import random
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, Page

from tests.served import ROOT, Served, entrance, launched, settle, slow_down
from valuation.report.wishes import THEMES
from valuation.service.visits import Shop, open_shop

_TAP = """([selector, index]) => {
    const targets = document.querySelectorAll(selector);
    if (targets.length <= index) return false;
    targets[index].click();
    return true;
}"""


PARTS = ("soundboard", "strings", "hammers", "dampers", "keys", "cabinet")


class Taps:
    """What was tapped: by field of the store what must have been put there, one after the other."""

    def __init__(self, page: Page, chance: random.Random) -> None:
        self.page, self.chance = page, chance
        self.wanted: dict[str, list[object]] = {}
        self.made = 0

    def now(self, field: str) -> object:
        """Return what was tapped last for a field."""
        return self.wanted.get(field, [None])[-1]

    def want(self, field: str, value: object) -> None:
        """Note what a tap is to put into a field."""
        self.wanted.setdefault(field, []).append(value)

    def tap(self, selector: str, index: int = 0) -> bool:
        """Tap the one target, and wait as long as a quick hand does; tell whether it was there."""
        there = self.page.evaluate(_TAP, [selector, index])
        self.made += there
        self.page.wait_for_timeout(self.chance.uniform(40, 160))
        return there


def wishes(taps: Taps) -> None:
    """Say how much each of five things matters, to begin with or otherwise than before."""
    if not taps.page.locator(".st-key-ask_matters").count():
        taps.page.locator(".st-key-step_matters button").click(delay=90)
        settle(taps.page)
    for theme in taps.chance.sample(THEMES, len(THEMES)):
        before = taps.now(f"wish.{theme}")
        weight = taps.chance.choice([weight for weight in (1, 2, 3) if weight != before])
        if taps.tap(f"[class*='st-key-wish_{theme}_'] button", weight - 1):
            taps.want(f"wish.{theme}", weight)


def levels(taps: Taps) -> None:
    """Pin the levels of parts: the second choice is 'keep', the first leaves it to the tool."""
    for part in PARTS:
        set_levels = taps.now(f"pin.{part}")
        if taps.tap(f"[class*='st-key-pin_{part}_'] button", 0 if set_levels else 1):
            taps.want(f"pin.{part}", None if set_levels else "keep")


PAGES: dict[str, tuple[str, Callable[[Taps], None]]] = {
    "what the client says": ("client", wishes),
    "levels of parts": ("work", levels),
}


def drive(browser: Browser, root: Path, rounds: int, slower: float, seed: int) -> dict[str, tuple[int, int]]:
    """Return by page how many taps there were and how many were lost."""
    found = {}
    for name, (section, act) in PAGES.items():
        with TemporaryDirectory(prefix="taps-") as folder:
            environ = {"VALUATION_DATA": folder, "DATABASE_URL": ""}
            with Served(environ, root=root) as server:
                page = browser.new_page(viewport={"width": 820, "height": 1100})
                page.set_default_timeout(60_000)
                page.goto(entrance(server.address))
                settle(page)
                page.locator(".st-key-all_visits button").click()
                card = page.locator("[class*='st-key-card_']").filter(has_text="parlour")
                card.get_by_role("button", name="Verdict").click()
                page.locator(".st-key-piano").wait_for()
                settle(page)
                _go(page, section)
                visit = page.url.partition("visit=")[2][:32]
                slow_down(page, slower)
                taps = Taps(page, random.Random(seed))
                for _ in range(rounds):
                    act(taps)
                    _rest(page)
                page.close()
            with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
                found[name] = (taps.made, lost(shop, visit, taps))
    return found


def lost(shop: Shop, visit: str, taps: Taps) -> int:
    """Return how many taps have no entry in the order in which they were made."""
    history = shop.history(visit)
    missing = 0
    for field, values in taps.wanted.items():
        put = iter([entry.value for entry in history if entry.field == field])
        missing += sum(value not in put for value in values)  # goes on where the one before was found
    return missing


def _rest(page: Page) -> None:
    """Wait until the page has been at rest for a second: a slow browser sends a tap late."""
    for _ in range(3):
        page.wait_for_timeout(400)
        settle(page)


def _go(page: Page, section: str) -> None:
    button = page.locator(f".st-key-go_{section} button")
    if not button.is_visible():
        page.locator(".st-key-way_more button").first.click(delay=90)
        button.wait_for()
    button.click(delay=90)
    settle(page)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--rounds", type=int, default=30)
    parser.add_argument("--slower", type=float, default=4.0)
    parser.add_argument("--root", type=Path, default=ROOT)
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    print("| tapped | taps | lost |\n| --- | --- | --- |")
    with launched() as browser:
        for name, (made, gone) in drive(browser, given.root, given.rounds, given.slower, given.seed).items():
            print(f"| {name} | {made:,} | {gone:,} |", flush=True)


if __name__ == "__main__":
    main()
