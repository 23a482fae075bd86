"""Photos made ready to be printed."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from valuation.paper import photos
from valuation.paper.photos import LONGEST_SIDE, ready_to_print

ORIENTATION, GPS = 0x112, 0x8825


def taken(size=(400, 300), kind="JPEG", mode="RGB", turned=1) -> bytes:
    picture = Image.new(mode, size, "red" if mode == "RGB" else 0)
    notes = Image.Exif()
    notes[ORIENTATION] = turned
    notes.get_ifd(GPS)[1] = "N"
    made = io.BytesIO()
    picture.save(made, kind, **({"exif": notes} if kind == "JPEG" else {}))
    return made.getvalue()


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def test_a_photo_comes_out_upright_and_without_what_the_camera_wrote() -> None:
    made = opened(ready_to_print(taken((400, 300), turned=6)))
    assert made.size == (300, 400)
    assert not made.getexif()


def test_a_large_photo_is_made_smaller_and_a_small_one_is_left() -> None:
    assert max(opened(ready_to_print(taken((3000, 2000)))).size) == LONGEST_SIDE
    assert opened(ready_to_print(taken((40, 30)))).size == (40, 30)


@pytest.mark.parametrize(
    ("kind", "mode"), [("PNG", "RGBA"), ("PNG", "P"), ("PNG", "L"), ("PNG", "I;16"), ("JPEG", "CMYK")]
)
def test_any_kind_of_picture_becomes_plain_colours(kind: str, mode: str) -> None:
    picture = io.BytesIO()
    Image.new(mode, (20, 10)).save(picture, kind)
    made = opened(ready_to_print(picture.getvalue()))
    assert (made.format, made.mode, made.size) == ("JPEG", "RGB", (20, 10))


def test_what_is_see_through_becomes_white() -> None:
    picture = io.BytesIO()
    Image.new("RGBA", (20, 10), (0, 0, 0, 0)).save(picture, "PNG")
    assert min(opened(ready_to_print(picture.getvalue())).getpixel((5, 5))) > 250


@pytest.mark.parametrize("data", [b"", b"no picture at all", taken()[:200], b"\xff\xd8\xff" + b"\x00" * 99])
def test_what_is_no_picture_is_none(data: bytes) -> None:
    assert ready_to_print(data) is None


def test_a_picture_that_would_unfold_too_large_is_not_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(photos, "MOST_PIXELS", 100)
    assert ready_to_print(taken((20, 10))) is None


def test_the_same_photo_gives_the_same_bytes() -> None:
    data = taken((800, 600))
    assert ready_to_print(data) == ready_to_print(data)
