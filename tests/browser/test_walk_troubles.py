"""What may befall a device at the piano: no https, its store full or thrown away, a newer page, another visit open."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, expect
from walker import PHONE, Walker, begun, history, new_photo, new_visit

from tests.served import FAR, ROOT, Served, entrance, settle
from valuation.service.visits import open_shop
from valuation.store.walk_links import WalkLinks

pytestmark = pytest.mark.browser

VERSION = "() => fetch('version').then(answer => answer.text())"
expect.set_options(timeout=60_000)

WAKE = "() => dispatchEvent(new Event('online'))"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    return tmp_path_factory.mktemp("troubled")


@pytest.fixture(scope="module")
def served(chromium, folder) -> Iterator[Served]:
    with Served(
        {"VALUATION_DATA": str(folder)}, options=tuple(f"--server.allowedHosts={name}" for name in ("127.0.0.1", FAR))
    ) as server:
        yield server


@pytest.fixture
def phone(browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
    yield context
    context.close()


def fields(folder: Path, visit: str) -> list[str]:
    return sorted({entry.field for entry in history(folder, visit)})


def findings(made: list[str]) -> list[str]:
    return sorted(f"finding.{check}" for check in made)


def test_by_plain_http_it_says_what_works_and_loses_nothing(up, folder, phone):
    visit, token = new_visit(folder)
    far = f"http://{FAR}:{up.port}"
    walker = Walker(phone, far, token)
    assert not walker.page.evaluate("() => isSecureContext")
    expect(walker.page.get_by_text("Keep this page open: it works without a network")).to_be_visible()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(4)]
    walker.photograph(new_photo(), 1)
    walker.page.evaluate("() => { location.hash = 'c=unison_spread'; }")
    walker.page.get_by_role("button", name="Sound", exact=True).tap()
    expect(walker.page.get_by_text("only to a page that is reached by https")).to_be_visible()
    walker.page.close()  # and can't be opened before there is a network
    up.start()
    again = Walker(phone, far)
    again.all_sent()
    assert fields(folder, visit)[:-1] == findings(made)
    assert fields(folder, visit)[-1].startswith("photo.")
    assert not walker.complaints + again.complaints


def test_a_store_thrown_away_under_the_open_page_is_written_back(up, folder, phone):
    visit, token = new_visit(folder)
    walker = Walker(phone, up.address, token)
    walker.ready_offline()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(3)]
    walker.photograph(new_photo(), 1)
    phone.new_cdp_session(walker.page).send(
        "Storage.clearDataForOrigin", {"origin": up.address, "storageTypes": "indexeddb"}
    )
    expect(walker.page.get_by_role("alert").filter(has_text="was written back")).to_be_visible()
    made.append(walker.answer(1))
    walker.page.reload()
    assert int(walker.until(lambda now: now["screen"] == "check")["unsent"]) > len(made)
    up.start()
    walker.page.evaluate(WAKE)
    walker.all_sent()
    assert fields(folder, visit)[:-1] == findings(made)
    assert fields(folder, visit)[-1].startswith("photo.")


FILL = """async () => {
    const asked = indexedDB.open('filler');
    asked.onupgradeneeded = () => asked.result.createObjectStore('room', { autoIncrement: true });
    const database = await new Promise(done => { asked.onsuccess = () => done(asked.result); });
    for (const size of [60000, 6000, 600, 60]) {
        for (let kept = true; kept;) {
            const put = database.transaction('room', 'readwrite');
            put.objectStore('room').add(crypto.getRandomValues(new Uint8Array(size)));
            kept = await new Promise(done => { put.oncomplete = () => done(true); put.onabort = () => done(false); });
        }
    }
    database.close();
}"""


def test_a_full_device_says_what_it_does_not_keep_and_sends_all_that_it_kept(up, folder, phone):
    visit, token = new_visit(folder)
    storage = phone.new_cdp_session(phone.new_page())
    storage.send("Storage.overrideQuotaForOrigin", {"origin": up.address, "quotaSize": 3_000_000})
    walker = Walker(phone, up.address, token)
    walker.ready_offline()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(3)]
    full = walker.page.get_by_role("alert").filter(has_text="the device's storage is full")
    for _ in range(12):
        photos = int(walker.now["photos"])
        walker.page.locator("input[type=file]").first.set_input_files(
            {"name": "one.jpg", "mimeType": "image/jpeg", "buffer": new_photo(1600)}
        )
        walker.until(lambda now, photos=photos: int(now["photos"]) > photos or full.count() > 0)
        if full.count():
            break
    kept, check = int(walker.now["photos"]), walker.now["check"]
    assert full.count() == 1
    assert 0 < kept < 12
    walker.page.evaluate(FILL)
    walker.key("5")
    walker.tap(".low .take")
    expect(full.filter(has_text="NOT KEPT")).to_be_visible()
    walker.page.reload()
    walker.until(lambda now: now["screen"] == "check" and int(now["photos"]) == kept)
    assert walker.now["check"] == check  # nobody said that it was answered
    up.start()
    walker.page.evaluate(WAKE)
    walker.all_sent()  # though the device is full
    assert fields(folder, visit)[: len(made)] == findings(made)
    assert len(fields(folder, visit)) == len(made) + kept
    storage.send("Storage.overrideQuotaForOrigin", {"origin": up.address})
    walker.page.evaluate("() => indexedDB.deleteDatabase('filler')")
    taken = False
    while not taken:  # until the browser has seen that there is room again
        walker.page.wait_for_timeout(1000)
        walker.tap(".low .take")  # what was typed still stands there
        now = walker.until(lambda now: (now["screen"], now["check"]) != ("check", check) or full.count() > 0)
        taken = (now["screen"], now["check"]) != ("check", check)
    walker.all_sent()
    assert fields(folder, visit)[: len(made) + 1] == findings([*made, check])


def test_what_waits_of_another_visit_is_sent_while_this_one_is_open(up, folder, phone):
    (first, first_token), (second, second_token) = new_visit(folder), new_visit(folder, "grand")
    walker = Walker(phone, up.address, first_token)
    walker.ready_offline()
    walker.page.evaluate("token => { location.hash = `t=${token}`; }", second_token)
    walker.page.get_by_role("button", name="An invented grand").wait_for()
    walker.tap("header .plain", -1)
    walker.page.get_by_role("button", name="An invented upright").tap()
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(3)]
    walker.photograph(new_photo(), 1)
    walker.tap("header .plain", -1)
    walker.page.get_by_role("button", name="An invented grand").tap()
    walker.until(lambda now: now["unsent"] == "0")
    walker.begin()
    other = [walker.answer(1) for _ in range(2)]
    up.start()
    walker.page.evaluate(WAKE)
    walker.all_sent()
    walker.until(lambda _: len(fields(folder, first)) == 4)
    assert fields(folder, first)[:-1] == findings(made)
    assert fields(folder, second) == findings(other)


OVER = """visit => new Promise(done => {
    const asked = indexedDB.open('walk');
    asked.onsuccess = () => {
        const tx = asked.result.transaction('visit', 'readwrite'), kept = tx.objectStore('visit').get(visit);
        kept.onsuccess = () => tx.objectStore('visit').put({ ...kept.result, until: '2026-01-01T00:00:00+00:00' });
        tx.oncomplete = () => { asked.result.close(); done(); };
    };
})"""

HELD = """visit => new Promise(done => {
    const asked = indexedDB.open('walk'), found = [];
    asked.onsuccess = () => {
        const tx = asked.result.transaction(['visit', 'entry', 'photo']);
        tx.objectStore('visit').getKey(visit).onsuccess = event => found.push(event.target.result ? 1 : 0);
        for (const name of ['entry', 'photo']) {
            tx.objectStore(name).index('visit').count(visit).onsuccess = event => found.push(event.target.result);
        }
        tx.oncomplete = () => { asked.result.close(); done(found); };
    };
})"""


def test_a_visit_whose_link_is_over_leaves_the_device_once_all_of_it_is_sent(up, folder, phone):
    (first, first_token), (second, second_token) = new_visit(folder), new_visit(folder, "grand")
    walker = Walker(phone, up.address, first_token)
    walker.begin()
    up.kill()
    made = [walker.answer(1) for _ in range(2)]
    walker.photograph(new_photo(), 1)
    up.start()
    WalkLinks(folder).revoke(first)
    walker.page.evaluate("token => { location.hash = `t=${token}`; }", second_token)
    walker.page.get_by_role("button", name="An invented grand").wait_for()
    walker.page.evaluate(OVER, first)
    walker.page.evaluate(WAKE)
    walker.begin()
    other = walker.answer(1)
    walker.all_sent()
    assert walker.page.evaluate(HELD, first) == [1, 2, 1]  # its link is over, yet it waits
    fresh = WalkLinks(folder).make(first, who="Ina", now=datetime.now(UTC))[0]
    for token in (fresh, second_token):
        walker.page.evaluate("token => { location.hash = `t=${token}`; }", token)
        walker.until(lambda now: now["unsent"] == "0" and now["reached"] == "true")
        walker.page.wait_for_timeout(500)
    walker.page.evaluate(OVER, first)
    walker.page.evaluate(WAKE)
    walker.until(lambda _: walker.page.evaluate(HELD, first) == [0, 0, 0])
    assert fields(folder, first)[:-1] == findings(made)
    assert fields(folder, second) == findings([other])


def test_a_newer_page_with_another_api_comes_by_itself_and_what_waits_is_sent_by_it(browser, tmp_path):
    newer = tmp_path / "newer"
    shutil.copytree(ROOT / "valuation", newer / "valuation", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "app.py", newer)
    shutil.copytree(ROOT / ".streamlit", newer / ".streamlit")
    for name, old, new in (("sent.py", "API = 1\n", "API = 2\n"), ("static/send.js", "API = 1;", "API = 2;")):
        file = newer / "valuation" / "walk" / name
        assert old in file.read_text()
        file.write_text(file.read_text().replace(old, new))
    environ = {"VALUATION_DATA": str(tmp_path / "data")}
    with Served(environ) as server:
        shop = open_shop(environ, datetime.now(UTC).date())
        visit, token = begun(shop)
        context = browser.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
        walker = Walker(context, server.address, token)
        walker.ready_offline()
        walker.begin()
        server.kill()
        made = [walker.answer(1) for _ in range(4)]
        before, here = walker.page.evaluate(VERSION), walker.now["check"]
        server.root = newer
        server.start()
        with walker.page.expect_event("load"):  # it asks for no tap
            walker.page.evaluate(WAKE)
        walker.all_sent()
        assert walker.now["check"] == here
        assert walker.page.evaluate(VERSION) != before
        assert fields(tmp_path / "data", visit) == findings(made)
        context.close()
        shop.close()


def test_the_page_leads_a_telephone_there_by_link_and_code_and_a_desk_within_itself(up, folder, browser):
    visit, _ = new_visit(folder)
    context = browser.new_context(viewport={"width": 1280, "height": 1000}, locale="en-GB")
    far = f"http://{FAR}:{up.port}"
    page = context.new_page()
    page.goto(entrance(far))
    page.goto(f"{far}/inspect?visit={visit}")
    settle(page)
    page.get_by_text("On a phone or a tablet").click()
    settle(page)
    code = page.get_by_role("img", name="Code with the link to the walk of this visit")
    expect(code).to_be_visible()
    assert f"{far}/walk/#t=" in page.locator(".st-key-walk_elsewhere code").inner_text()
    page.get_by_text("Enter it here, on this page").click()
    within = page.frame_locator("iframe").locator("#walk")
    within.locator(".under .main").click()
    within.locator(".answers .answer").first.click()
    expect(within.locator(".bar [role=status]")).to_contain_text("sent")
    assert fields(folder, visit) == ["finding.told_history"]
    context.close()
