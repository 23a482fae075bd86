"""The walk as a technician meets it: how much is loaded, how soon a tap is kept and answered, how many taps it takes.

    python -m tests.benchmark.bench_walk [--slower 1 6] [--all]

Headless Chromium with a phone's screen and touch, the processor slowed down as often as told. In each run the page is
opened with the server dead, and a quick look with twelve pins is made by real taps, with --all then all other checks:
of a hundred answers in words 70 are the best, 20 the next, 7 and 3 the worst two, and 4 of a hundred checks can't be
seen. 'kept' is from the tap until the entry is on the disk, 'shown' until the next question is painted [ms]; the row
'bare' is a page with one button that keeps one small record. Bytes are those on the wire, heads and all: without
reasons, tools and the second language, which come when the first check is there, and with them. Prints a Markdown
table.
"""

from __future__ import annotations

import argparse
import os
import random
import sys
import time
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Browser, BrowserContext, Page

from tests.served import Served, launched, slow_down

sys.path.append(str(Path(__file__).parents[1] / "browser"))
from walker import PHONE, Walker, new_visit

WATCH = """(() => {
    const times = globalThis.times = { kept: [], shown: [], opened: 0 };
    let tapped = 0, stored = 0;
    addEventListener('click', event => { tapped = stored = event.timeStamp; }, { capture: true });
    const put = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function (...told) {
        if (this.name === 'entry' && stored) {
            const from = stored;
            stored = 0;
            this.transaction.addEventListener('complete', () => times.kept.push(performance.now() - from));
        }
        return put.apply(this, told);
    };
    const painted = done => requestAnimationFrame(() => setTimeout(done));
    document.addEventListener('DOMContentLoaded', () => {
        new MutationObserver(() => {
            if (!times.opened && document.querySelector('h1')) painted(() => { times.opened ||= performance.now(); });
            if (tapped) {
                const from = tapped;
                tapped = 0;
                painted(() => times.shown.push(performance.now() - from));
            }
        }).observe(document, { childList: true, subtree: true, attributes: true, characterData: true });
    });
})()"""

BARE = """async () => {
    const asked = indexedDB.open('bare');
    asked.onupgradeneeded = () => asked.result.createObjectStore('entry', { keyPath: 'id' });
    const database = await new Promise(done => { asked.onsuccess = () => done(asked.result); });
    const button = document.createElement('button');
    button.style = 'width: 200px; height: 200px';
    button.textContent = '0';
    document.body.replaceChildren(button);
    button.onclick = () => {
        const tx = database.transaction('entry', 'readwrite', { durability: 'strict' });
        tx.objectStore('entry').put({ id: button.textContent, value: { grade: 'none' } });
        tx.oncomplete = () => { button.textContent = Number(button.textContent) + 1; };
    };
}"""

PINS = ("56", "57", "55", "58") * 3
BARE_TAPS = 60


def look(walker: Walker, chance: random.Random | None = None) -> None:
    """Answer all that is asked until the list is through; all of it the best, or as chance has it."""
    walker.tap(".under .main, .under .wide")
    walker.until(lambda now: now["screen"] in ("check", "stop"))
    walker.read_stops()
    while (here := walker.now)["screen"] == "check":
        if chance and chance.random() < 0.04:
            walker.tap(".apart button")
            walker.until(lambda now, here=here: (now["screen"], now["check"]) != ("check", here["check"]))
            walker.read_stops()
            continue
        choice = chance.choices(range(4), (70, 20, 7, 3))[0] if chance else 0
        pins = PINS if here["check"] == "pin_torque" else ("5",)
        walker.answer(choice, digits="0", pins=pins)


def middle_and_late(times: list[float]) -> str:
    """Return the median and the 95th percentile of times [ms]."""
    times = sorted(times)
    return f"{times[len(times) // 2]:.0f} / {times[int(len(times) * 0.95)]:.0f}"


def wire(page: Page) -> list[int]:
    """Return a list that grows by the bytes of every answer that the page gets."""
    found: list[int] = []
    network = page.context.new_cdp_session(page)
    network.on("Network.loadingFinished", lambda told: found.append(round(told["encodedDataLength"])))
    network.send("Network.enable")
    return found


def bytes_loaded(browser: Browser, server: Served, folder: str) -> str:
    """Return how much comes over the wire for a walk in one language, and in all [kB]."""
    token, came = new_visit(Path(folder))[1], []
    for later in (False, True):
        context = browser.new_context(viewport=PHONE, has_touch=True, locale="de-DE", service_workers="block")
        page = context.new_page()
        if not later:
            page.route("**/api/words*", lambda route: route.abort())
        found = wire(page)
        page.goto(f"{server.address}/walk/#t={token}")
        page.locator(".under .main").wait_for()
        page.wait_for_timeout(3000)
        came.append(f"{sum(found) / 1000:.0f}")
        context.close()
    return " / ".join(came)


def bare(context: BrowserContext, server: Served, slower: float) -> list[str]:
    """Return the row of a page that does the least."""
    page = context.new_page()
    page.goto(f"{server.address}/walk/manifest.webmanifest")  # of the same origin, and kept on the device
    page.evaluate(BARE)
    slow_down(page, slower)
    for count in range(BARE_TAPS):
        page.locator("button").tap()
        while int(page.locator("button").inner_text()) <= count:
            page.wait_for_timeout(5)
    times = page.evaluate("() => times")
    page.close()
    return ["", middle_and_late(times["kept"]), middle_and_late(times["shown"]), "", "", "", "", str(BARE_TAPS)]


def run(browser: Browser, slower: float, *, whole: bool) -> list[list[str]]:
    """Return the rows of one run."""
    with TemporaryDirectory(prefix="walk-") as folder, Served({"VALUATION_DATA": folder}) as server:
        loaded = bytes_loaded(browser, server, folder)
        _, token = new_visit(Path(folder))
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
        context.add_init_script(WATCH)
        walker = Walker(context, server.address, token)
        walker.ready_offline()
        walker.tap("header .plain", -1)
        walker.page.get_by_role("button", name="inches and in-lb").tap()
        walker.page.close()
        server.kill()
        opened = []
        for _ in range(5):
            walker = Walker(context, server.address)
            walker.page.wait_for_timeout(300)
            opened.append(walker.page.evaluate("() => times.opened"))
            walker.page.close()
        floor = bare(context, server, slower)
        walker = Walker(context, server.address)
        walker.ready_offline()
        walker.tap("header .title")
        slow_down(walker.page, slower)
        walker.page.wait_for_timeout(2000)
        walker.taps, begun = 0, time.monotonic()
        look(walker)
        taps, took = walker.taps, time.monotonic() - begun
        chance = random.Random(7)
        for _ in range(100 if whole else 0):
            if not walker.page.locator(".under .wide").count():
                break
            look(walker, chance)
        all_taps, all_took, made = walker.taps, time.monotonic() - begun, walker.page.locator(".bar b").inner_text()
        times = walker.page.evaluate("() => times")
        context.close()
    return [
        [f"{slower:g}, bare", "", *floor, ""],
        [f"{slower:g}", loaded, f"{sorted(opened)[2]:.0f} / {max(opened):.0f}", middle_and_late(times["kept"]),
         middle_and_late(times["shown"]), str(taps), f"{took:.1f}", str(all_taps), f"{all_took:.1f}",
         str(len(times["shown"])), made],
    ]  # fmt: skip


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--slower", type=float, nargs="+", default=[1, 6])
    parser.add_argument("--all", action="store_true")
    given = parser.parse_args()
    heads = ["slower", "kB first / with what follows", "opened without a server ms median / most",
             "kept ms median / p95", "shown ms median / p95", "taps of a quick look", "s", "taps in all", "s in all",
             "taps timed", "checks"]  # fmt: skip
    print(f"| {' | '.join(heads)} |\n|{' --- |' * len(heads)}")
    with launched() as browser:
        for slower in given.slower:
            for row in run(browser, slower, whole=given.all):
                print(f"| {' | '.join(row)} |", flush=True)
    print(f"load of the machine: {os.getloadavg()[0]:.1f} on {os.cpu_count()} processors")


if __name__ == "__main__":
    main()
