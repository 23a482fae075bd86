"""An hour at the piano without a network, compressed: two devices, a closed tab, a wrong clock, a server that dies."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from PIL import Image
from walker import PHONE, TABLET, Walker, begun, new_photo

from tests.served import Served
from valuation.record import by_field, clash, value_text
from valuation.service import load_shop
from valuation.service.visits import open_shop
from valuation.store.walk_links import WalkLinks

pytestmark = pytest.mark.browser

ENTRIES, PHOTOS = 100, 5
"""Of each of the two devices."""

CLOCK = """(() => { const Right = Date, by = %d; globalThis.Date = class extends Right {
    constructor(...told) { if (told.length) super(...told); else super(Right.now() + by); }
    static now() { return Right.now() + by; } }; })()"""

KEPT = """() => new Promise((done, fail) => {
    const asked = indexedDB.open('walk');
    asked.onerror = () => fail(asked.error);
    asked.onsuccess = () => {
        const tx = asked.result.transaction(['entry', 'photo']);
        const entries = tx.objectStore('entry').getAll(), photos = tx.objectStore('photo').getAll();
        tx.oncomplete = () => { asked.result.close(); done({
            entries: entries.result.map(({id, field, value, n, seq}) => ({id, field, value, n, seq})),
            photos: photos.result.map(({sha, sent}) => ({sha, sent})) }); };
    }; })"""


def walk(walker: Walker, choice: int, digits: str, photos: int, entries: int) -> int:
    """Answer check after check until so many entries wait, with photos now and then; return how many there are."""
    while (waiting := int(walker.now["unsent"]) - photos) < entries:
        if photos < PHOTOS and waiting >= 15 * (photos + 1):
            walker.read_stops()
            if walker.now["screen"] == "home":
                walker.tap(".under .wide")
                walker.until(lambda now: now["screen"] == "check")
            photos += 1
            walker.photograph(new_photo(4000 if photos == 1 else 1200), photos)
        walker.hurry(choice, digits, min(entries + photos, waiting + photos + 8))
        assert int(walker.now["unsent"]) > waiting + photos  # else all checks are made
    return photos


def kept(walker: Walker) -> dict[str, list[dict]]:
    """Return what the device holds, its entries in the order in which they were made."""
    found = walker.page.evaluate(KEPT)
    found["entries"].sort(key=lambda entry: entry["n"])
    return found


def test_an_hour_without_a_network_loses_nothing_and_doubles_nothing(chromium, browser, tmp_path):
    began = datetime.now(UTC)
    environ = {"VALUATION_DATA": str(tmp_path), "DATABASE_URL": ""}
    shop = open_shop(environ, began.date())
    visit, token = begun(shop)
    tokens = (token, WalkLinks(tmp_path).make(visit, who="Ole", now=began)[0])
    contexts = [
        browser.new_context(viewport=size, has_touch=True, is_mobile=True, locale="en-GB") for size in (PHONE, TABLET)
    ]
    contexts[0].add_init_script(CLOCK % -86_400_000)
    contexts[1].add_init_script(CLOCK % 86_400_000)
    with Served(environ) as server:
        walkers = [Walker(context, server.address, one) for context, one in zip(contexts, tokens, strict=True)]
        for walker in walkers:
            walker.ready_offline()
        server.kill()
        for i, (choice, digits) in enumerate(((1, "5"), (2, "8"))):
            walkers[i].begin()
            for _ in range(4):
                walkers[i].answer(choice, digits=digits, pins=(digits,))
            photos = walk(walkers[i], choice, digits, 0, ENTRIES // 2)
            walkers[i].page.close()
            walkers[i] = Walker(contexts[i], server.address)
            assert walk(walkers[i], choice, digits, photos, ENTRIES) == PHOTOS
        made = [kept(walker) for walker in walkers]
        assert [len(of["photos"]) for of in made] == [PHOTOS, PHOTOS]
        for _ in range(2):
            server.start()
            for walker in walkers:
                walker.page.evaluate("() => dispatchEvent(new Event('online'))")
            walkers[0].page.wait_for_timeout(150)
            server.kill()
        server.start()
        for walker in (*walkers, *walkers):
            walker.page.evaluate("() => dispatchEvent(new Event('online'))")
            walker.all_sent()
        there = {entry.id for entry in shop.history(visit) if entry.field.startswith("finding.")}
        walkers[0].until(lambda _: there <= {entry["id"] for entry in kept(walkers[0])["entries"]})
        walkers[0].read_stops()  # of what the other has found
        walkers[0].tap("header .title")
        walkers[0].tap(".under .row button", 2)
        shown = walkers[0].page.get_by_role("heading", name="Two devices say different things").count()
        for context in contexts:
            context.close()

    history = [entry for entry in shop.history(visit) if entry.field.startswith("finding.")]
    ids, said = [entry.id for entry in history], {(entry.field, value_text(entry.value)) for entry in history}
    assert len(ids) == len(set(ids))
    for of in made:
        entries = {entry["id"]: (entry["field"], value_text(entry["value"])) for entry in of["entries"]}
        assert len(entries) >= ENTRIES
        assert set(entries.values()) <= said
        assert [name for name in ids if name in entries] == [name for name in entries if name in ids]
    assert set(ids) <= {entry["id"] for of in made for entry in of["entries"]}
    assert len(ids) > 1.5 * ENTRIES  # where both devices say the same it stands once
    assert all(began - timedelta(hours=1) < entry.at < began + timedelta(hours=1) for entry in history)
    differ = [field for field, entries in by_field(history).items() if clash(entries)]
    assert len(differ) > 10
    assert shown == 1
    stored = {photo.hash: shop.photo_path(photo.hash) for photo in shop.open_visit(visit, load_shop()).photos}
    assert len(stored) == 2 * PHOTOS
    for path in stored.values():
        with Image.open(path) as picture:
            picture.load()
            assert max(picture.size) <= 1600
    shop.close()
