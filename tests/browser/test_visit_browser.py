"""A whole visit in Chromium, as a technician would enter it: by touch, on a desk, and by keyboard alone."""

from __future__ import annotations

import io
import re
from datetime import UTC, datetime

import pytest
from PIL import Image
from widths import every_width

from valuation.engine.rows import CheckRow
from valuation.report.checks import checks_of
from valuation.report.labels import PLACE_NAMES
from valuation.service import load_shop

pytestmark = pytest.mark.browser

STATIONS = ["Quick look", *PLACE_NAMES.values()]
PINS = {"bass": "60 55 58 62 57 61 59 60", "tenor": "48 26 52 45 50 47 22 51", "treble": "70 66 64 72 69 71 68 65"}


def photo(number: int) -> bytes:
    """A photo with the place where it was taken, as a telephone writes it."""
    picture = Image.effect_noise((320, 240), 40 + number).convert("RGB")
    exif = Image.Exif()
    exif.get_ifd(0x8825)[1] = "N"
    exif[0x010F] = "invented camera"
    file = io.BytesIO()
    picture.save(file, "JPEG", exif=exif)
    return file.getvalue()


def start_visit(visitor, kind: str = "upright") -> str:
    """Start a visit with its kind alone; return its id."""
    visitor.page.goto(visitor.address)
    visitor.settle()
    if not visitor.page.locator(".st-key-start_kind").is_visible():
        visitor.page.locator(".st-key-start summary").click()
    visitor.page.locator(".st-key-start_kind").get_by_role("radio", name=kind.capitalize(), exact=True).click()
    visitor.settle()
    visitor.page.locator(".st-key-start_visit button").click()
    visitor.page.get_by_role("heading", level=1, name="The piano").wait_for()
    visitor.settle()
    return re.search(r"visit=([0-9a-f]{32})", visitor.page.url)[1]


def saved(visitor, check: CheckRow) -> None:
    """Wait until the page says that this check was stored."""
    line = visitor.page.locator(".st-key-saved").get_by_text(re.compile(rf"^Saved .*: {re.escape(check.name)}: "))
    line.wait_for()


def number(check: CheckRow) -> float:
    """A number that reads fair."""
    return check.cut_fair + (check.target if check.better == "near" else 0)


def answer(visitor, check: CheckRow) -> None:
    """Answer one check as a finger or a mouse would."""
    box = visitor.page.locator(f"[class*='st-key-check_{check.id}__']")
    if check.answer == "choice":
        box.get_by_role("radio").nth(2).click()
    elif check.answer == "number":
        box.get_by_role("textbox").first.fill(f"{number(check):g} {check.unit}".replace(" count", ""))
        box.get_by_role("textbox").first.press("Enter")
    else:
        cents = {"tenor": f"{number(check):g} {number(check):g}"}
        rows = {name: f"{text} in-lb" for name, text in PINS.items()} if check.unit == "N.m" else cents
        for name, text in rows.items():
            field = box.get_by_role("textbox", name=re.compile(f"^{name}", re.IGNORECASE))
            field.fill(text)
            field.press("Enter")
            saved(visitor, check)
    saved(visitor, check)


@every_width
def test_a_whole_visit_is_entered_and_everything_is_in_the_store(visitor, store):
    visit = start_visit(visitor)
    visitor.go("inspect", "Inspect")
    tables = load_shop()
    checks = checks_of(store.open_visit(visit, tables).visit, tables)
    places = list(PLACE_NAMES)
    entered = []
    for station, place in zip(STATIONS, [None, *places], strict=True):
        visitor.page.get_by_role("radiogroup", name="Where you are on the walk").get_by_role(
            "radio", name=re.compile(f"^{re.escape(station)}")
        ).click()
        visitor.page.get_by_role("heading", level=2, name=station).wait_for()
        visitor.settle()
        here = [c for c in checks if (c.quick if place is None else c.access == place) and c.id not in entered]
        for check in here:
            answer(visitor, check)
            entered.append(check.id)
    assert len(entered) >= 60
    for i, check in enumerate(checks[:3]):
        add_photos(visitor, check, STATIONS[1], [photo(2 * i), photo(2 * i + 1)])
    recorded = store.open_visit(visit, tables)
    assert {finding.check for finding in recorded.visit.findings} == set(entered)
    torque = next(finding for finding in recorded.visit.findings if finding.check == "pin_torque")
    assert len(torque.readings) == 24
    assert len(recorded.photos) == 6
    for kept in recorded.photos:
        with Image.open(store.photo_path(kept.hash)) as image:
            assert not image.getexif()
    assert visitor.complaints == []


def add_photos(visitor, check: CheckRow, station: str, files: list[bytes]) -> None:
    walk = visitor.page.get_by_role("radiogroup", name="Where you are on the walk")
    walk.get_by_role("radio", name=re.compile(f"^{re.escape(station)}")).click()
    visitor.settle()
    box = visitor.page.locator(f"[class*='st-key-check_{check.id}__']")
    box.locator("summary").click()
    box.locator("input[type=file]").wait_for(state="attached")
    box.locator("input[type=file]").set_input_files(
        [{"name": f"photo {i}.jpg", "mimeType": "image/jpeg", "buffer": data} for i, data in enumerate(files)]
    )
    box.get_by_role("img", name=re.compile("^Photo 2 of")).wait_for()
    visitor.settle()


def test_a_visit_is_typed_in_by_keyboard_alone(visitor, store):
    visit = start_visit(visitor)
    visitor.go("type_in", "Type in a form")
    keyboard, page = visitor.page.keyboard, visitor.page
    first = page.get_by_role("textbox", name=re.compile(r"^No\. 1 "))
    for _ in range(60):  # from the top of the page to the first field, as a person without a mouse would
        keyboard.press("Tab")
        if first.evaluate("field => field === document.activeElement"):
            break
    tables = load_shop()
    checks = {check.name: check for check in checks_of(store.open_visit(visit, tables).visit, tables)}
    typed = 0
    while typed < 40:
        label = page.evaluate("document.activeElement.getAttribute('aria-label') || ''")
        name = re.match(r"No\. \d+ · (.*?)(:\u2060? ?1 |, (bass|tenor|treble|anywhere) \(| \([^()]*\)$|$)", label)
        if not name:
            break
        check = checks[name[1]]
        keyboard.type("2" if check.answer == "choice" else f"{number(check):g}", delay=10)
        keyboard.press("Tab")
        visitor.settle()
        typed += 1
    assert typed == 40
    assert len(store.open_visit(visit, tables).visit.findings) >= 30
    assert page.get_by_text("Not taken down").count() == 0


def test_a_reload_in_the_middle_of_the_walk_finds_everything(visitor, store):
    visitor.open(1, at="Inspect")
    visitor.page.get_by_role("radiogroup", name="Cracks in the plate").get_by_role("radio", name="cracked").click()
    visitor.page.locator(".st-key-saved").get_by_text("Cracks in the plate: cracked").wait_for()
    visitor.page.reload()
    visitor.page.get_by_role("heading", level=1, name="Inspect").wait_for()
    visitor.settle()
    chosen = visitor.page.get_by_role("radiogroup", name="Cracks in the plate").get_by_role("radio", name="cracked")
    assert chosen.get_attribute("aria-checked") == "true"
    visitor.page.locator(".st-key-undo button").first.click()
    visitor.page.get_by_text("Taken back: Cracks in the plate").wait_for()


def test_an_entry_of_another_device_is_offered_and_then_shown(visitor, store):
    visitor.open(1, at="Inspect")
    visit = re.search(r"visit=([0-9a-f]{32})", visitor.page.url)[1]
    store.put(visit, "finding.plate_crack", {"grade": "fair"}, who="Ole", device="other", now=datetime.now(UTC))
    visitor.page.get_by_role("button", name="1 new entry by others: show it").click(timeout=40_000)
    group = visitor.page.get_by_role("radiogroup", name="Cracks in the plate")
    group.locator("[aria-checked=true]", has_text="paint line").wait_for()
