"""A robot with a phone at the piano: taps what a technician would tap, and reads what the page says of itself."""

from __future__ import annotations

import io
import random
import time
from datetime import UTC, datetime
from pathlib import Path

from PIL import Image
from playwright.sync_api import BrowserContext, Locator, Page
from playwright.sync_api import TimeoutError as PlaywrightTimeoutError

from valuation.service.visits import Shop, open_shop
from valuation.store.walk_links import WalkLinks

PHONE = {"width": 390, "height": 844}
TABLET = {"width": 820, "height": 1180}
_PATIENCE = 60.0
"""How long something may take on a slow machine before a test gives it up [s]."""


def new_visit(folder: Path, kind: str = "upright", who: str = "Ina") -> tuple[str, str]:
    """Start a visit in a store; return its id and a token for it."""
    shop = open_shop({"VALUATION_DATA": str(folder)}, datetime.now(UTC).date())
    try:
        return begun(shop, kind, who)
    finally:
        shop.close()


def begun(shop: Shop, kind: str = "upright", who: str = "Ina") -> tuple[str, str]:
    """Start a visit in an open store; return its id and a token for it."""
    now = datetime.now(UTC)
    visit = shop.start_visit({"piano.kind": kind, "title": f"An invented {kind}"}, who=who, device="desk", now=now)
    return visit, WalkLinks(shop.store.folder).make(visit, who=who, now=now)[0]


def history(folder: Path, visit: str, field: str = "") -> list:
    """Return what the store holds of a visit's findings and photos."""
    shop = open_shop({"VALUATION_DATA": str(folder)}, datetime.now(UTC).date())
    try:
        return [e for e in shop.history(visit, field) if e.field.startswith(("finding.", "photo."))]
    finally:
        shop.close()


def new_photo(width: int = 400) -> bytes:
    """Return a photo that no store has; at 4000 wide it has twelve megapixels, as a telephone takes them."""
    file = io.BytesIO()
    Image.effect_noise((width, width * 3 // 4), random.uniform(20, 90)).convert("RGB").save(file, "JPEG", quality=60)
    return file.getvalue()


HURRY = """async ([choice, digits, enough]) => {
    const root = document.getElementById('walk'), all = selector => [...root.querySelectorAll(selector)];
    const here = () => [...['screen', 'check', 'unsent'].map(key => root.dataset[key]), all('.fault').length,
        all('#stop-text')[0]?.textContent].join();
    for (let done = 0; Number(root.dataset.unsent) < enough;) {
        const before = here(), screen = root.dataset.screen, answers = all('.answers .answer');
        if (screen === 'home' && !all('.under .wide').length) return;
        const next = { home: '.under .wide', stop: '.stop-screen .wide', extent: '.apart button' }[screen];
        if (next) all(next)[0].click();
        else if (all('.fault').length) all('.apart button')[0].click(); // there can't be such a figure
        else if (answers.length) answers[Math.min(choice, answers.length - 1)].click();
        else {
            for (const digit of digits) {
                const key = all('.keypad button').find(key => key.textContent === digit);
                if (!key) break; // what the figure before it has called up stands in its place
                key.click();
                await new Promise(later => setTimeout(later, 5));
            }
            (all('.low .enough')[0] ?? all('.low .take')[0])?.click();
        }
        for (let waited = 0; here() === before; waited++) {
            if (waited > 10000) throw new Error(`the page stays at ${before}`);
            await new Promise(later => setTimeout(later, 5));
        }
    }
}"""


class Walker:
    """One device with the walk open.

    Attributes
    ----------
    taps : int
        How often the screen was touched.
    """

    def __init__(self, context: BrowserContext, address: str, token: str = "") -> None:
        self.page: Page = context.new_page()
        self.address, self.taps = address, 0
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda fault: self.complaints.append(str(fault)))
        self.page.goto(f"{address}/walk/" + (f"#t={token}" if token else ""))
        self.until(lambda now: now["screen"] not in ("", "opening"))

    @property
    def now(self) -> dict[str, str]:
        """Return what the page says of itself."""
        found = self.page.evaluate("() => ({...document.getElementById('walk')?.dataset})")
        return {"screen": "", "check": "", "unsent": "0", "offline": "false", "reached": "false"} | found

    def until(self, holds) -> dict[str, str]:
        """Wait until the page is so; polled, since the page's policy forbids code from elsewhere."""
        end = time.monotonic() + _PATIENCE
        while time.monotonic() < end:
            if holds(now := self.now):
                return now
            self.page.wait_for_timeout(25)
        raise AssertionError(f"the page stays {self.now}")

    @property
    def typed(self) -> str | None:
        """What stands over the keypad; None where there is none."""
        return self.page.evaluate("() => document.querySelector('.typed b')?.textContent ?? null")

    def tap(self, selector: str, index: int = 0) -> None:
        """Touch something that is in sight."""
        self.taps += 1
        self.page.locator(selector).nth(index).tap()

    def ready_offline(self) -> None:
        """Wait until the page would open without a network."""
        self.until(lambda now: now["offline"] == "true")

    def all_sent(self) -> None:
        """Wait until the server has everything."""
        self.until(lambda now: now["unsent"] == "0" and now["reached"] == "true")

    def begin(self) -> None:
        """Go to the first open check."""
        self.tap("header .title")
        self.tap(".under .main")
        self.until(lambda now: now["screen"] in ("check", "stop"))

    def to(self, check: str) -> None:
        """Go to a check by the overview of its part, as who looks for it would."""
        self.tap("header .title")
        self.page.evaluate("() => document.querySelector('main').scrollTo(0, 0)")
        self.tap(".under .row button", 1)
        self.page.locator("details summary").last.tap()
        for index in range(self.page.locator("details .line").count()):
            self.page.locator("details .line").nth(index).tap()
            found = self.page.locator("main .list .line").all()
            names = self.page.evaluate(
                "id => [...document.querySelectorAll('main .list .line span:first-child')].map(e => e.textContent)"
            )
            if check in names:
                found[names.index(check)].tap()
                return
            self.tap(".bar button", 0)
            self.page.locator("details summary").last.tap()
        raise AssertionError(f"no check {check!r} in any part")

    def key(self, digits: str) -> None:
        """Type on the page's own keypad."""
        for digit in digits:
            self.taps += 1
            self.press(self.page.locator(".keypad button").get_by_text(digit, exact=True))

    def press(self, key: Locator) -> None:
        """Press a key, after whatever the figure before it has called up in between has been read."""
        end = time.monotonic() + _PATIENCE
        while True:
            self.read_stops()
            try:
                key.tap(timeout=1000)
                return
            except PlaywrightTimeoutError:
                if time.monotonic() > end:
                    raise

    def answer(self, choice: int, digits: str = "5", pins: tuple[str, ...] = ("5", "6", "7")) -> str:
        """Answer what is asked now, and what is asked right after it; return the check."""
        self.read_stops()
        check = self.now["check"]
        if self.page.locator(".answers .answer").count():
            self.tap(".answers .answer", min(choice, self.page.locator(".answers .answer").count() - 1))
        elif self.page.locator(".chips").count():
            for i, reading in enumerate(pins):
                self.key(reading)
                counts_on = check == "pin_torque" and len(reading) > 1
                if i < len(pins) - 1 and not counts_on:
                    self.tap(".low .take")
                if i < len(pins) - 1 or counts_on:
                    self.until(lambda now: now["screen"] == "stop" or self.typed == "–")
                self.read_stops()
            self.tap(".low .enough")
        else:
            self.key(digits)
            self.tap(".low .take")
        refused = self.page.locator(".fault")
        self.until(lambda now: (now["screen"], now["check"]) != ("check", check) or refused.count() > 0)
        if (self.now["screen"], self.now["check"]) == ("check", check):
            self.tap(".apart button")  # such a figure can't be: then it is not to be seen
            self.until(lambda now: (now["screen"], now["check"]) != ("check", check))
        self.read_stops()
        if self.now["screen"] == "extent":
            self.tap(".apart button")
            self.until(lambda now: now["screen"] != "extent")
        return check

    def hurry(self, choice: int, digits: str, enough: int = 10**6) -> None:
        """Answer check after check, faster than any hand, until so much waits to be sent or all are made."""
        self.page.evaluate(HURRY, [choice, digits, enough])

    def read_stops(self) -> None:
        """Read what stands in the way, and say so."""
        while self.now["screen"] == "stop":
            read = self.page.locator("#stop-text").inner_text()
            self.tap(".stop-screen .wide")
            self.until(lambda now, read=read: now["screen"] != "stop"
                       or self.page.locator("#stop-text").inner_text() != read)  # fmt: skip

    @property
    def scrolls(self) -> float:
        """By how much the screen is too long [px]."""
        return self.page.evaluate(
            "() => { const m = document.querySelector('main'); return m.scrollHeight - m.clientHeight; }"
        )

    def to_first(self) -> None:
        """Go to the first check of the quick look, which is answered in words."""
        self.tap("header .title")
        self.tap(".under .row button", 1)
        self.tap("main .list .line")
        self.tap("main .list .line")
        self.until(lambda now: now["screen"] == "check")

    def one_answer(self, chance: random.Random) -> tuple[str, object]:
        """Answer the check otherwise than before; return the field and what must be in it."""
        here = self.now["check"]
        free = self.page.locator(".answers .answer[aria-pressed=false]")
        index = chance.randrange(free.count())
        place = free.nth(index).locator(".key").inner_text()
        free.nth(index).tap()
        self.until(lambda now: now["check"] != here or now["screen"] != "check")
        self.read_stops()
        return f"finding.{here}", {"grade": ("none", "slight", "marked", "severe")[int(place) - 1]}

    def photograph(self, data: bytes, count: int) -> None:
        """Take a photo, and wait until the device says that it has it."""
        self.page.locator("input[type=file]").first.set_input_files(
            {"name": f"{count}.jpg", "mimeType": "image/jpeg", "buffer": data}
        )
        self.until(lambda now: int(now["photos"]) >= count)
