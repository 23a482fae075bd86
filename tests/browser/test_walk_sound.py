"""Recording at the piano: ten seconds of the microphone, as they are, kept until the server has read them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile
from playwright.sync_api import expect
from walker import PHONE, Walker, history, new_visit

from tests.reference import made_notes
from tests.served import ARGUMENTS, Served

pytestmark = pytest.mark.browser

KEY, CENTS, SPREAD = 25, -31.0, 6.0
"""A2, how flat it is, and how far its two strings have parted [cents]."""


@pytest.fixture
def note(tmp_path) -> Path:
    """A file of one strike, for a browser that takes it for its microphone."""
    b, rng = made_notes.young_inharmonicity(KEY), np.random.default_rng(5)
    tone = sum(
        made_notes.string(KEY, CENTS + off, b, 6.0, 11.0, phase=phase)
        for off, phase in ((-SPREAD / 2, 0.3), (SPREAD / 2, 1.1))
    )
    path = tmp_path / "A2.wav"
    soundfile.write(path, made_notes.recorded(tone, rng, lead_s=1.5), made_notes.RATE, subtype="PCM_16")
    return path


def test_a_note_recorded_without_a_network_becomes_a_reading_once_there_is_one(browser, chromium, note, tmp_path):
    folder = tmp_path / "store"
    visit, token = new_visit(folder)
    microphone = ["--use-fake-device-for-media-stream", f"--use-file-for-fake-audio-capture={note}%noloop"]
    with Served({"VALUATION_DATA": str(folder)}) as server:
        hearing = browser.browser_type.launch(executable_path=chromium, args=[*ARGUMENTS, *microphone])
        phone = hearing.new_context(viewport=PHONE, has_touch=True, is_mobile=True, locale="en-GB")
        walker = Walker(phone, server.address, token)
        walker.ready_offline()
        server.kill()
        walker.page.evaluate("() => { location.hash = 'c=unison_spread'; }")
        walker.page.get_by_role("button", name="Sound", exact=True).tap()
        record = walker.page.get_by_role("button", name="Record A2: 10 seconds")
        record.tap()
        expect(walker.page.get_by_role("alert")).to_contain_text("allow it in its settings")
        phone.grant_permissions(["microphone"], origin=server.address)
        record.tap()
        expect(walker.page.get_by_role("button", name="Record E3: 10 seconds")).to_be_visible(timeout=60_000)
        assert walker.now["unsent"] == "1"
        walker.page.reload()
        walker.until(lambda now: (now["check"], now["unsent"]) == ("unison_spread", "1"))
        server.start()
        walker.page.evaluate("() => dispatchEvent(new Event('online'))")
        walker.all_sent()
        expect(walker.page.locator(".readings li")).to_have_count(1)
        (entry,) = history(folder, visit)
        hearing.close()
    (reading,) = entry.value["readings"]
    assert (entry.field, reading["key"], reading["section"]) == ("finding.unison_spread", KEY, "bass")
    assert reading["value"] == pytest.approx(SPREAD, abs=1.0)
    assert not walker.complaints
