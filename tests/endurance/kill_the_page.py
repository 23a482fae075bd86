"""Kill the real server while somebody enters on the real page: what the page called saved must be there.

    python -m tests.endurance.kill_the_page [--kills 200] [--minutes 60] [--database sqlite postgresql] [--seed 0]

Headless Chromium enters on the inspection page as fast as it is let, and reads what the page says: an entry counts as
acknowledged once the quiet line names it as saved. At a random moment the server is killed with SIGKILL, and started
again on the same port. The page is left open: it comes back by itself, or by a reload as with a closed laptop, one time
in four. Then it must show the same visit at the same place with what was acknowledged, and the store must be sound
without repair and hold every acknowledged entry. Ends after so many kills or minutes. Prints a Markdown table.
"""

from __future__ import annotations

import argparse
import random
import re
import sqlite3
import time
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path

from playwright.sync_api import Browser, Error, Page

from tests.endurance.databases import KINDS, empty_place
from tests.served import Served, entrance, launched, settle
from valuation.engine.rows import CheckRow
from valuation.report.checks import checks_of
from valuation.service import load_shop
from valuation.service.visits import open_shop

_CHOOSE = """([selector, index]) => {
    const radio = document.querySelectorAll(selector)[index];
    if (!radio || radio.disabled) return null;
    radio.click();
    return radio.innerText;
}"""

_SAVED_NOW = """() => {
    const line = document.querySelector('.st-key-saved [data-testid=stText]');
    return line ? line.innerText : '';
}"""

_NAMED = re.compile(r"^Saved [^:]*:\d\d(?::\d\d)?: (?P<name>.*?): (?P<words>.*)$")


@dataclass
class Kills:
    """How it went.

    Attributes
    ----------
    kills : int
        How often the server was killed.
    acknowledged : int
        How many entries the page called saved.
    in_the_air : int
        How often it was killed after a tap and before the word.
    lost : list of str
        What was acknowledged and isn't there.
    """

    kills: int = 0
    acknowledged: int = 0
    in_the_air: int = 0
    lost: list[str] = field(default_factory=list)


class Technician:
    """Enters on the page, and knows what was acknowledged: by check the word that the page last called saved."""

    def __init__(self, page: Page, checks: list[CheckRow], chance: random.Random) -> None:
        self.page, self.checks, self.chance = page, checks, chance
        self.saved: dict[str, str] = {}
        self.tapped: dict[str, list[str]] = {}

    def enter_until(self, end: float) -> tuple[int, bool]:
        """Tap one answer after the other; return how many were acknowledged, and whether one is still in the air."""
        count, waiting = 0, False
        while time.monotonic() < end:
            check = self.chance.choice(self.checks)
            index = self.chance.randint(1, len(check.choices))
            selector = f"[class*='st-key-answer_{check.id}_'] [role=radio]"
            word = self.page.evaluate(_CHOOSE, [selector, index])
            if word is None or self.saved.get(check.name) == word:
                self.page.wait_for_timeout(20)
                continue
            self.tapped.setdefault(check.name, []).append(word)
            waiting = True
            patience = time.monotonic() + 2.0  # the first tap after a kill only wakes the page up
            while time.monotonic() < min(end, patience):
                said = _NAMED.match(self.page.evaluate(_SAVED_NOW))
                if said and (said["name"], said["words"]) == (check.name, word):
                    self.saved[check.name], waiting = word, False
                    self.tapped[check.name] = []
                    count += 1
                    break
                self.page.wait_for_timeout(5)
            else:
                waiting = time.monotonic() >= end
        return count, waiting


def run(browser: Browser, kind: str, kills: int, minutes: float, seed: int) -> Kills:
    """Kill so many times on one sort of database."""
    chance, told = random.Random(seed), Kills()
    tables = load_shop()
    with empty_place(kind) as (environ, _):
        server = Served(environ)
        server.start()
        try:
            page = browser.new_context(viewport={"width": 820, "height": 1100}).new_page()
            page.set_default_timeout(60_000)
            visit = _begin(page, entrance(server.address))
            with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
                here = [c for c in checks_of(shop.open_visit(visit, tables).visit, tables) if c.quick]
            technician = Technician(page, [c for c in here if c.answer == "choice"], chance)
            end = time.monotonic() + 60 * minutes
            while told.kills < kills and time.monotonic() < end:
                count, waiting = technician.enter_until(time.monotonic() + chance.uniform(0.3, 2.5))
                server.kill()
                told.kills += 1
                told.acknowledged += count
                told.in_the_air += waiting
                told.lost += _lost(environ, visit, technician)
                server.start()
                last = told.kills == kills or time.monotonic() >= end
                _come_back(page, visit, technician, reload=last or chance.random() < 0.25)
        finally:
            server.stop()
    return told


def _begin(page: Page, address: str) -> str:
    page.goto(address)
    settle(page)
    if not page.locator(".st-key-start_kind").is_visible():
        page.locator(".st-key-start summary").click()
    page.locator(".st-key-start_kind").get_by_role("radio", name="Upright", exact=True).click()
    settle(page)
    page.locator(".st-key-start_visit button").click()
    page.get_by_role("heading", level=1, name="The piano").wait_for()
    settle(page)
    page.locator(".st-key-go_inspect button").click()
    page.get_by_role("heading", level=1, name="Inspect").wait_for()
    settle(page)
    return re.search(r"visit=([0-9a-f]{32})", page.url)[1]


def _lost(environ: dict[str, str], visit: str, technician: Technician) -> list[str]:
    """Return what was acknowledged and is not there, looked up while no server runs; raises where the store is unsound.

    What was tapped after the acknowledged answer and not acknowledged may have been stored over it, or not.
    """
    if not environ["DATABASE_URL"]:
        with closing(sqlite3.connect(Path(environ["VALUATION_DATA"]) / "valuation.sqlite")) as raw:
            sound = raw.execute("PRAGMA integrity_check").fetchone()
            if sound != ("ok",):
                raise RuntimeError(f"the database is not sound: {sound}")
    by_name = {check.name: check for check in technician.checks}
    with closing(open_shop(environ, datetime.now(UTC).date())) as shop:
        history = shop.history(visit)
    ids = [entry.id for entry in history]
    if len(set(ids)) != len(ids) or any(set(entry.follows) - set(ids) for entry in history):
        raise RuntimeError("the history is broken")
    lost = []
    for name, word in technician.saved.items():
        check = by_name[name]
        values = [entry.value for entry in history if entry.field == f"finding.{check.id}"]
        there = [check.choices[value["grade"]] for value in values if value and value.get("grade")]
        if word not in there or not (there[-1] == word or there[-1] in technician.tapped.get(name, [])):
            lost.append(f"{name}: {word}, but there is {there}")
    return lost


def _come_back(page: Page, visit: str, technician: Technician, *, reload: bool) -> None:
    """Wait until the page is back, and look whether it shows the same visit at the same place with everything there."""
    if reload:
        page.wait_for_timeout(200)
        try:
            page.reload()
        except Error:
            page.wait_for_timeout(1000)
            page.reload()
    page.get_by_role("dialog").wait_for(state="detached")
    page.wait_for_selector("[data-testid=stApp][data-test-connection-state=CONNECTED]")
    settle(page)
    if f"visit={visit}" not in page.url:
        raise RuntimeError(f"the page came back elsewhere: {page.url}")
    page.get_by_role("heading", level=1, name="Inspect").wait_for()
    page.get_by_role("heading", level=2, name="Quick look").wait_for()
    if not reload:  # the first tap gives a page that is back a session of its own
        page.locator(".st-key-onward").wait_for()
        return
    for check in technician.checks:
        word = technician.saved.get(check.name)
        shown = page.locator(f"[class*='st-key-answer_{check.id}_'] [role=radio][aria-checked=true]").inner_text()
        if word and shown not in (word, *technician.tapped.get(check.name, [])):
            raise RuntimeError(f"{check.name}: the page came back with {shown}, not {word}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--minutes", type=float, default=60.0)
    parser.add_argument("--database", nargs="+", choices=KINDS, default=list(KINDS))
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    print("| database | kills | acknowledged | killed between tap and word | lost |")
    print("| --- | --- | --- | --- | --- |", flush=True)
    with launched() as browser:
        for kind in given.database:
            told = run(browser, kind, given.kills, given.minutes, given.seed)
            figures = (told.kills, told.acknowledged, told.in_the_air, len(told.lost))
            print(f"| {kind} | {' | '.join(f'{figure:,}' for figure in figures)} |", flush=True)
            for line in told.lost:
                print(f"LOST: {line}")


if __name__ == "__main__":
    main()
