"""The API of the walk, asked as a device asks it."""

from __future__ import annotations

import io
import json
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from uuid import uuid4

import numpy as np
import pytest
import soundfile
from PIL import Image
from starlette.applications import Starlette
from starlette.testclient import TestClient

from tests.reference import made_notes
from valuation.service import load_shop
from valuation.service.visits import open_shop
from valuation.store.walk_links import DAYS, WalkLinks
from valuation.walk import Walk
from valuation.walk.routes import MOST_ENTRIES_BYTES, MOST_PHOTO_BYTES, MOST_SOUND_BYTES
from valuation.walk.sent import API, MOST_ENTRIES

NOW = datetime(2026, 5, 4, 10, tzinfo=UTC)


class Device:
    """A device with a link to a visit."""

    def __init__(self, client: TestClient, token: str, name: str = "phone") -> None:
        self.client, self.token, self.name = client, token, name

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"}

    def visit(self):
        return self.client.get("/walk/api/visit", headers=self.headers)

    def send(self, *entries: dict, since: int = 0, clock: datetime = NOW, **more):
        message = {"api": API, "device": self.name, "now": clock.isoformat(), "since": since, "entries": list(entries)}
        return self.client.post("/walk/api/entries", headers=self.headers, json=message | more)

    def photo(self, data: bytes, name: str = "", check: str = "plate_crack"):
        name = name or sha256(data).hexdigest()
        return self.client.put(f"/walk/api/photo/{name}?check={check}", headers=self.headers, content=data)

    def sound(self, data: bytes, check: str = "unison_spread", more: str = ""):
        asked = f"check={check}&{more}" + ("" if "key=" in more else "&key=49")
        return self.client.post(f"/walk/api/sound?{asked}", headers=self.headers, content=data)


@pytest.fixture
def shop(tmp_path):
    opened = open_shop({"VALUATION_DATA": str(tmp_path)}, NOW.date(), with_demo=False)
    yield opened
    opened.close()


@pytest.fixture
def client(shop):
    tables = load_shop()
    walk = Walk(store=lambda: shop, tables=lambda: tables, now=lambda: NOW)
    return TestClient(Starlette(routes=walk.routes()))


def begin(shop, kind: str = "upright") -> str:
    return shop.start_visit({"piano.kind": kind, "client.name": "Frau Secret"}, who="Ina", device="desk", now=NOW)


@pytest.fixture
def visit(shop):
    return begin(shop)


def link(shop, visit: str, at: datetime = NOW) -> str:
    return WalkLinks(shop.store.folder).make(visit, who="Ina", now=at)[0]


@pytest.fixture
def device(client, shop, visit):
    return Device(client, link(shop, visit))


def entry(field: str, value: object, *follows: str, at: datetime = NOW, undoes: str = "") -> dict:
    return {"id": uuid4().hex, "at": at.isoformat(), "field": field, "value": value, "follows": list(follows),
            "undoes": undoes}  # fmt: skip


def jpeg(colour: str = "white") -> bytes:
    file = io.BytesIO()
    Image.new("RGB", (64, 48), colour).save(file, "JPEG")
    return file.getvalue()


def test_an_entry_sent_twice_is_stored_once(device, shop, visit):
    crack = entry("finding.plate_crack", {"grade": "severe"})
    assert device.send(crack).json()["stored"] == {crack["id"]: crack["id"]}
    assert device.send(crack).json()["stored"] == {crack["id"]: crack["id"]}
    (stored,) = shop.history(visit, "finding.plate_crack")
    assert (stored.who, stored.device, stored.value) == ("Ina", "phone", {"grade": "severe"})


def test_a_bad_entry_is_refused_by_itself_and_the_others_are_kept(device, shop, visit):
    good, bad = entry("finding.plate_crack", {"grade": "none"}), entry("finding.hammer_groove", {"grade": "none"})
    wild = entry("finding.hammer_groove", {"readings": [{"value": 4000.0, "section": ""}]})
    other = entry("finding.note_dead", {"readings": [{"value": 2, "section": ""}]})
    told = device.send(good, bad, wild, {"id": uuid4().hex}, other).json()
    assert set(told["stored"]) == {good["id"], other["id"]}
    assert len(told["refused"]) == 3
    assert "severity" in told["refused"][bad["id"]]
    assert "out of range" in told["refused"][wild["id"]]
    assert len(shop.history(visit, "finding.note_dead")) == 1


@pytest.mark.parametrize("field", ["client.name", "piano.year", "pin.hammers", "job.stage", "title"])
def test_a_device_at_the_piano_enters_findings_and_nothing_else(device, shop, visit, field):
    before = shop.history(visit)
    told = device.send(entry(field, "upright")).json()
    assert not told["stored"]
    assert shop.history(visit) == before


def test_nothing_of_the_client_goes_to_the_device(device):
    device.send(entry("finding.plate_crack", {"grade": "none"}))
    assert "Secret" not in device.visit().text + device.send().text


def test_it_is_told_what_others_entered_since(client, device, shop, visit):
    device.send(entry("finding.plate_crack", {"grade": "none"}))
    seq = device.send().json()["seq"]
    shop.put(visit, "finding.note_dead", {"cannot_see": True}, who="Ole", device="desk", now=NOW)
    came = device.send(since=seq).json()
    assert [(told["field"], told["who"]) for told in came["entries"]] == [("finding.note_dead", "Ole")]


def test_two_devices_that_did_not_see_each_other_clash_and_both_are_told(client, device, shop, visit):
    other = Device(client, link(shop, visit), "tablet")
    device.send(entry("finding.plate_crack", {"grade": "none"}))
    other.send(entry("finding.plate_crack", {"grade": "severe"}))
    (ends,) = shop.open_visit(visit, load_shop()).clashes.values()
    assert {end.device for end in ends} == {"phone", "tablet"}
    told = [told["value"]["grade"] for told in device.send().json()["entries"]]
    assert told == ["none", "severe"]
    chosen = entry("finding.plate_crack", {"grade": "severe"}, *(end.id for end in ends))
    device.send(chosen)
    assert not shop.open_visit(visit, load_shop()).clashes


def test_what_follows_an_entry_that_said_nothing_new_follows_what_said_it_before(client, device, shop, visit):
    first = shop.put(visit, "finding.plate_crack", {"grade": "none"}, who="Ole", device="desk", now=NOW)
    same = entry("finding.plate_crack", {"grade": "none"})
    after = entry("finding.plate_crack", {"grade": "slight"}, same["id"])
    told = device.send(same, after).json()
    assert told["stored"] == {same["id"]: first.id, after["id"]: after["id"]}
    recorded = shop.open_visit(visit, load_shop())
    assert not recorded.clashes
    assert recorded.visit.findings[0].grade == "slight"


def test_an_undo_brings_back_what_was_there_and_is_done_once(device, shop, visit):
    first = entry("finding.plate_crack", {"grade": "none"})
    second = entry("finding.plate_crack", {"grade": "severe"}, first["id"])
    undo = entry("finding.plate_crack", None, second["id"], undoes=second["id"])
    device.send(first, second, undo)
    device.send(undo)
    assert [e.value for e in shop.history(visit, "finding.plate_crack")] == [
        {"grade": "none"}, {"grade": "severe"}, {"grade": "none"}]  # fmt: skip


def test_an_undo_reaches_no_field_but_its_own(device, shop, visit):
    started = next(e for e in shop.history(visit) if e.field == "client.name")
    undo = entry("finding.plate_crack", None, undoes=started.id)
    assert device.send(undo).json()["stored"] == {undo["id"]: ""}
    assert shop.history(visit, "client.name") == [started]


@pytest.mark.parametrize("wrong_by", [timedelta(days=1), timedelta(days=-1), timedelta(hours=2)])
def test_a_wrong_clock_of_the_device_is_put_right(device, shop, visit, wrong_by):
    clock = NOW + wrong_by
    device.send(entry("finding.plate_crack", {"grade": "none"}, at=clock - timedelta(minutes=30)), clock=clock)
    (stored,) = shop.history(visit, "finding.plate_crack")
    assert stored.at == NOW - timedelta(minutes=30)


def test_no_entry_lies_in_the_future(device, shop, visit):
    device.send(entry("finding.plate_crack", {"grade": "none"}, at=NOW + timedelta(days=3)))
    assert shop.history(visit, "finding.plate_crack")[0].at == NOW


def asked(client, token: str | None) -> list:
    headers = {} if token is None else {"Authorization": f"Bearer {token}"}
    return [
        client.get("/walk/api/visit", headers=headers),
        client.post("/walk/api/entries", headers=headers, content=b"{}"),
        client.put(f"/walk/api/photo/{'0' * 64}", headers=headers, content=b"x"),
    ]


@pytest.mark.parametrize("token", [None, "", "x" * 32, "../../sessions/a", "Ä" * 32])
def test_without_a_token_nothing_is_given(client, visit, token):
    for answer in asked(client, None if token is None else token.encode("ascii", "replace").decode()):
        assert answer.status_code == 401
        assert set(answer.json()) == {"error", "say"}
        assert visit not in answer.text


def test_a_link_that_is_over_or_ended_is_refused_and_another_visit_s_stays(client, shop, visit):
    old = link(shop, visit, NOW - timedelta(days=DAYS, seconds=1))
    other = begin(shop, "grand")
    mine, theirs = link(shop, visit), link(shop, other)
    WalkLinks(shop.store.folder).revoke(visit)
    assert [answer.json()["error"] for answer in asked(client, old)] == ["revoked"] * 3
    assert [answer.json()["error"] for answer in asked(client, mine)] == ["revoked"] * 3
    assert Device(client, theirs).visit().json()["visit"]["id"] == other
    late = link(shop, other, NOW - timedelta(days=DAYS))
    assert [answer.json()["error"] for answer in asked(client, late)] == ["expired"] * 3


def test_a_token_writes_to_its_own_visit_alone(client, shop, visit):
    other = begin(shop, "grand")
    Device(client, link(shop, other)).send(entry("finding.plate_crack", {"grade": "none"}) | {"visit": visit})
    assert not shop.history(visit, "finding.plate_crack")
    assert len(shop.history(other, "finding.plate_crack")) == 1


def test_the_store_keeps_the_hash_of_a_token_and_not_the_token(shop, visit):
    token = link(shop, visit)
    kept = list((shop.store.folder / "walks").iterdir())
    assert [path.stem for path in kept] == [sha256(token.encode()).hexdigest()]
    assert token not in kept[0].read_text()
    assert kept[0].stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "body",
    [b"", b"[]", b"{", b"null", b'{"entries": 3}', b"[" * 100_000, json.dumps({"api": API, "entries": []}).encode(),
     json.dumps({"api": API, "entries": [{"id": "no"}], "since": 0, "device": "d", "now": NOW.isoformat()}).encode()],
)  # fmt: skip
def test_rubbish_is_told_and_nothing_is_stored(client, device, shop, visit, body):
    before = shop.history(visit)
    answer = client.post("/walk/api/entries", headers=device.headers, content=body)
    assert answer.status_code in (400, 426)
    assert answer.json()["say"]
    assert shop.history(visit) == before


def test_a_client_of_another_version_is_told_so_and_may_keep_all(device, shop, visit):
    answer = device.send(entry("finding.plate_crack", {"grade": "none"}), api=API + 1)
    assert (answer.status_code, answer.json()["error"]) == (426, "client_too_old")
    assert not shop.history(visit, "finding.plate_crack")


def test_what_is_too_large_is_not_read_to_its_end(client, device):
    assert device.send(*(entry("finding.plate_crack", None) for _ in range(MOST_ENTRIES + 1))).status_code == 400
    for method, path, most in (
        ("POST", "/walk/api/entries", MOST_ENTRIES_BYTES), ("PUT", f"/walk/api/photo/{'0' * 64}", MOST_PHOTO_BYTES),
        ("POST", "/walk/api/sound?check=unison_spread&key=49", MOST_SOUND_BYTES),
    ):  # fmt: skip
        sent = 0

        def endless(most=most):
            nonlocal sent
            while sent < 4 * most:
                sent += 65536
                yield b"x" * 65536

        answer = client.request(method, path, headers=device.headers, content=endless())
        assert answer.status_code == 413
        whole = client.request(method, path, headers=device.headers, content=b"x" * (most + 1))
        assert whole.status_code == 413


def test_a_photo_is_kept_once_with_its_check_and_shows_up_as_an_entry(device, shop, visit):
    data = jpeg()
    first, again = device.photo(data), device.photo(data)
    assert first.json() == again.json()
    (photo,) = shop.open_visit(visit, load_shop()).photos
    assert photo.check == "plate_crack"
    assert shop.photo_path(photo.hash) is not None
    assert first.json()["field"] == photo.entry.field
    removed = entry(photo.entry.field, None, photo.entry.id)
    assert removed["id"] in device.send(removed).json()["stored"]
    assert not shop.open_visit(visit, load_shop()).photos


def test_the_same_photo_of_a_second_visit_is_kept_there_too(client, device, shop, visit):
    other = begin(shop, "grand")
    device.photo(jpeg())
    Device(client, link(shop, other)).photo(jpeg())
    assert [len(shop.open_visit(name, load_shop()).photos) for name in (visit, other)] == [1, 1]


@pytest.mark.parametrize(
    ("data", "name", "check", "status"),
    [
        (b"GIF89a", "", "plate_crack", 415),
        (jpeg(), "0" * 64, "plate_crack", 422),
        (jpeg()[:200], "", "plate_crack", 422),
        (jpeg(), "", "no_such_check", 422),
        (jpeg(), "short", "plate_crack", 400),
    ],
)
def test_what_is_no_whole_photo_is_refused(device, shop, visit, data, name, check, status):
    assert device.photo(data, name, check).status_code == status
    assert not shop.open_visit(visit, load_shop()).photos


def two_strings(key: int = 49, cents: float = -31.0, apart: float = 6.0) -> bytes:
    """A recording of one strike, whose two strings have parted."""
    b, rng, file = made_notes.young_inharmonicity(key), np.random.default_rng(5), io.BytesIO()
    tone = sum(made_notes.string(key, cents + off, b, 6.0, 8.5, phase=off / apart) for off in (-apart / 2, apart / 2))
    soundfile.write(file, made_notes.recorded(tone, rng, lead_s=1.5), made_notes.RATE, "PCM_16", format="WAV")
    return file.getvalue()


@pytest.mark.parametrize(("check", "value"), [("unison_spread", 6.0), ("pitch_level", -31.0)])
def test_a_recording_is_read_for_its_check_as_often_as_it_is_asked_and_nothing_of_it_is_stored(
    device, shop, visit, check, value
):
    before, files = shop.history(visit), sorted(shop.store.folder.rglob("*"))
    first, again = device.sound(two_strings(), check), device.sound(two_strings(), check)
    assert first.json() == again.json()
    assert first.json()["value"] == pytest.approx(value, abs=0.5)
    assert first.json()["says"][0] == "A4 is 31 cents below standard pitch, within 4.2 cents."
    assert device.sound(two_strings(), check, "language=de").json()["says"][0].startswith("A4 liegt 31 Cent unter")
    assert (shop.history(visit), sorted(shop.store.folder.rglob("*"))) == (before, files)


def test_a_recording_that_says_nothing_is_answered_with_the_reason(device):
    silence = io.BytesIO()
    soundfile.write(silence, np.zeros(96000), 48000, "PCM_16", format="WAV")
    assert device.sound(silence.getvalue()).json() == {"refused": "There is no sound in the recording."}
    assert device.sound(two_strings(44)).json() == {"refused": "A4 was named, but E4 sounds; play A4 again."}


@pytest.mark.parametrize(
    ("data", "check", "more", "status"),
    [
        (b"OggS", "unison_spread", "", 415),
        (b"RIFF", "plate_crack", "", 422),
        (b"RIFF", "unison_spread", "key=2", 422),
        (b"RIFF", "unison_spread", "key=x", 422),
    ],
)
def test_what_is_no_recording_of_a_key_that_is_asked_for_is_refused(device, data, check, more, status):
    assert device.sound(data, check, more).status_code == status


def test_a_visit_whose_kind_nobody_knows_is_told(client, shop, visit, monkeypatch):
    class Kindless:
        can_be_drawn = False

    monkeypatch.setattr(type(shop), "open_visit", lambda *_: Kindless())
    answer = Device(client, link(shop, visit)).visit()
    assert (answer.status_code, answer.json()["error"]) == (409, "no_kind")


def test_a_visit_that_is_gone_is_told_as_a_fault_of_the_store(client, shop):
    token = WalkLinks(shop.store.folder).make(uuid4().hex, who="", now=NOW)[0]
    assert Device(client, token).visit().status_code == 503
    assert Device(client, token).send(entry("finding.plate_crack", None)).status_code == 503


def test_routes_lie_below_the_path_of_the_pages(shop):
    walk = Walk(store=lambda: shop, tables=load_shop)
    client = TestClient(Starlette(routes=walk.routes("/piano/")))
    assert client.get("/piano/walk/").status_code == 200
    assert client.get("/piano/walk/api/visit").status_code == 401
    assert client.get("/walk/").status_code == 404
