"""How long the page 'Jobs' takes to open in Chromium with many evaluations, held against a few.

    python -m tests.benchmark.bench_jobs [--evaluations 50000] [--times 20] [--database sqlite postgresql]

prints a Markdown table: the median time from the click, or from the address, until the whole page is drawn, with 500
evaluations and with many, and their ratio. Two servers run side by side and are asked in turn, so that whatever else
the machine does touches both. The evaluations are made up (seed 0). The goal: at most 1.5 times.
"""

from __future__ import annotations

import argparse
import statistics
import sys
import time
from contextlib import ExitStack, closing
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Page

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from invented_jobs import fill

from tests.endurance.databases import KINDS, empty_place
from tests.served import Served, entrance, launched
from valuation.service.visits import open_shop

FEW = 500
DRAWN = "[data-testid=stApp][data-test-script-state=notRunning] .st-key-foot"


def from_the_address(page: Page, address: str) -> float:
    """Return how long the page takes from its address [ms]."""
    begun = time.perf_counter()
    page.goto(f"{address}/jobs")
    _drawn(page)
    return 1000 * (time.perf_counter() - begun)


def from_another_page(page: Page, address: str) -> float:
    """Return how long it takes from the click on another page [ms]."""
    page.goto(f"{address}/shop")
    page.locator(DRAWN).first.wait_for()
    page.locator(".st-key-way_more button").first.click()
    button = page.locator(".st-key-go_jobs button")
    button.wait_for()
    page.wait_for_timeout(300)
    begun = time.perf_counter()
    button.click()
    _drawn(page)
    return 1000 * (time.perf_counter() - begun)


def _drawn(page: Page) -> None:
    page.get_by_role("heading", level=1, name="Jobs", exact=True).wait_for()
    page.locator(".st-key-lanes").wait_for()
    page.locator(DRAWN).first.wait_for()


WAYS = {"from its address": from_the_address, "from another page": from_another_page}


def measure(kind: str, many: int, times: int) -> dict[str, tuple[list[float], list[float]]]:
    """Return the times of each way for few and for many evaluations [ms]."""
    with ExitStack() as stack:
        addresses = []
        for count in (FEW, many):
            environ, _ = stack.enter_context(empty_place(kind))
            with closing(open_shop(environ, datetime.now(UTC).date(), with_demo=False)) as shop:
                fill(shop, count, datetime.now(UTC).date())
            addresses.append(stack.enter_context(Served(environ)).address)
        browser = stack.enter_context(launched())
        pages = [browser.new_page(viewport={"width": 1280, "height": 900}) for _ in addresses]
        for page, address in zip(pages, addresses, strict=True):
            page.goto(entrance(address))
        took: dict[str, tuple[list[float], list[float]]] = {}
        for way, act in WAYS.items():
            took[way] = ([], [])
            for time_ in range(times + 2):
                for kept, page, address in zip(took[way], pages, addresses, strict=True):
                    one = act(page, address)
                    if time_ >= 2:  # the first two warm up
                        kept.append(one)
    return took


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--evaluations", type=int, default=50_000)
    parser.add_argument("--times", type=int, default=20)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    given = parser.parse_args()
    print(f"| database | opened | of {FEW} ms | of {given.evaluations:,} ms | ratio |\n| --- | --- | --- | --- | --- |")
    for kind in given.database:
        for way, (few, many) in measure(kind, given.evaluations, given.times).items():
            small, large = statistics.median(few), statistics.median(many)
            print(f"| {kind} | {way} | {small:.0f} | {large:.0f} | {large / small:.2f} |", flush=True)


if __name__ == "__main__":
    main()
