"""What becomes of a photo before it is kept."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_photos import is_red_at, made_photo, telling, written
from PIL import Image, ImageCms, PngImagePlugin

from valuation.store.pictures import (
    LONGEST_SIDE,
    MOST_BYTES,
    THUMBNAIL_SIDE,
    NoPhoto,
    make_picture,
    size_of_kept,
)


def kept(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(make_picture(data).jpeg))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_every_kind_of_photo_is_kept_as_a_jpeg(kind):
    image = kept(made_photo(kind))
    assert (image.format, image.mode, image.size) == ("JPEG", "RGB", (400, 300))
    assert is_red_at(image, 0.25, 0.25)
    assert not is_red_at(image, 0.75, 0.75)


@pytest.mark.parametrize(
    ("orientation", "size", "red"),
    [
        (1, (400, 300), (0.25, 0.25)),
        (2, (400, 300), (0.75, 0.25)),
        (3, (400, 300), (0.75, 0.75)),
        (4, (400, 300), (0.25, 0.75)),
        (5, (300, 400), (0.25, 0.25)),
        (6, (300, 400), (0.75, 0.25)),
        (7, (300, 400), (0.75, 0.75)),
        (8, (300, 400), (0.25, 0.75)),
    ],
)
@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_a_photo_stands_as_the_camera_was_held(kind, orientation, size, red):
    image = kept(made_photo(kind, exif=telling(orientation).tobytes()))
    assert image.size == size
    assert is_red_at(image, *red)
    assert sum(is_red_at(image, x, y) for x in (0.25, 0.75) for y in (0.25, 0.75)) == 1


def test_of_a_photo_that_holds_several_pictures_the_first_is_kept():
    second = Image.new("RGB", (400, 300), "blue")
    data = made_photo("MPO", save_all=True, append_images=[second])
    assert Image.open(io.BytesIO(data)).format == "MPO"
    assert is_red_at(kept(data), 0.25, 0.25)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP", "HEIF", "AVIF"])
def test_nothing_is_told_of_place_and_device(kind):
    text = PngImagePlugin.PngInfo()
    text.add_text("Author", "Invented Telephones")
    how = {"exif": telling(), **({"pnginfo": text} if kind == "PNG" else {})}
    data = made_photo(kind, **how)
    assert b"Invented Telephones" in data
    for file in (make_picture(data).jpeg, make_picture(data).thumbnail):
        assert b"Invented" not in file
        assert set(Image.open(io.BytesIO(file)).info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        assert not Image.open(io.BytesIO(file)).getexif()


def test_a_comment_in_a_jpeg_is_left_out():
    assert b"secret" not in make_picture(made_photo(comment=b"secret")).jpeg


def test_a_large_photo_is_made_smaller_and_its_sides_keep_their_ratio():
    picture = make_picture(made_photo(size=(4000, 3000)))
    assert (picture.width, picture.height) == (LONGEST_SIDE, LONGEST_SIDE * 3 // 4)
    assert max(Image.open(io.BytesIO(picture.thumbnail)).size) == THUMBNAIL_SIDE


def test_a_small_photo_is_left_at_its_size():
    assert kept(made_photo(size=(40, 30))).size == (40, 30)


def test_the_same_photo_gives_the_same_file():
    data = made_photo(size=(3000, 2000))
    assert make_picture(data) == make_picture(data)


def test_what_can_be_seen_through_stands_on_white():
    image = kept(written(Image.new("RGBA", (100, 100), (0, 0, 0, 0)), "PNG"))
    assert image.getpixel((50, 50)) == (255, 255, 255)


@pytest.mark.parametrize("mode", ["L", "1", "P", "LA", "CMYK"])
def test_photos_of_other_modes_are_kept_too(mode):
    kind = "JPEG" if mode == "CMYK" else "PNG"
    assert kept(written(Image.new("RGB", (100, 100), "white").convert(mode), kind)).getpixel((5, 5)) >= (250, 250, 250)


def test_colours_of_another_space_are_brought_to_the_usual_one():
    lab = ImageCms.createProfile("sRGB")
    data = made_photo(icc_profile=ImageCms.ImageCmsProfile(lab).tobytes())
    assert is_red_at(kept(data), 0.25, 0.25)
    assert is_red_at(kept(made_photo(icc_profile=b"no profile at all")), 0.25, 0.25)


def png_of(width: int, height: int) -> bytes:
    """A tiny file that says it holds a huge picture."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99)) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "the file is empty"),
        (b"%PDF-1.7 and so on", "no photo that can be read; a photo is a JPEG, PNG, WebP, HEIC or AVIF file"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", "no photo that can be read"),
        (written(Image.new("P", (100, 100)), "GIF"), "no photo that can be read"),
        (written(Image.new("RGB", (100, 100)), "TIFF"), "no photo that can be read"),
        (b"x" * (MOST_BYTES + 1), "it has 30 million bytes; the most is 30 million. Take it with a smaller setting"),
        (png_of(9000, 9000), "it has 81 million pixels; the most is 80 million. Set the camera to a smaller picture"),
        (png_of(10_000, 10_000), "more than 80 million pixels"),
        (png_of(60_000, 60_000), "more than 80 million pixels"),
        (png_of(3, 3), "only 3 by 3 pixels"),
        (png_of(500, 500), "broken or cut off"),
        (made_photo()[:2000], "broken or cut off"),
        (made_photo("PNG")[:2000], "broken or cut off"),
        (made_photo("HEIF")[:900], "broken or cut off|no photo"),
        (written(Image.new("I;16", (100, 100)), "PNG"), "kind of pixels can't be shown"),
    ],
)
def test_what_is_no_photo_is_refused_with_what_to_do(data, told):
    with pytest.raises(NoPhoto, match=told):
        make_picture(data)


@pytest.mark.filterwarnings("ignore::UserWarning:PIL")  # Pillow tells of what it could not read beside the picture
@settings(max_examples=150, deadline=None)
@given(
    kind=st.sampled_from(["JPEG", "PNG", "WEBP", "HEIF", "AVIF"]),
    at=st.floats(0, 1),
    junk=st.binary(min_size=1, max_size=30),
    cut=st.booleans(),
)
def test_any_bytes_at_all_give_a_photo_or_are_refused(kind, at, junk, cut):
    whole = made_photo(kind, (64, 48), exif=telling(6))
    start = int(at * len(whole))
    try:
        picture = make_picture(whole[:start] + junk + (b"" if cut else whole[start + len(junk) :]))
    except NoPhoto:
        return  # and nothing else
    assert size_of_kept(picture.jpeg) == (picture.width, picture.height)


def test_a_kept_photo_is_known_as_one_and_others_are_not():
    assert size_of_kept(make_picture(made_photo()).jpeg) == (400, 300)
    for data, told in [
        (made_photo("PNG"), "no JPEG file"),
        (made_photo(size=(LONGEST_SIDE + 1, 20)), "no JPEG file"),
        (made_photo(exif=telling()), "beside the picture"),
        (made_photo(comment=b"hello"), "beside the picture"),
        (b"nothing", "no photo"),
    ]:
        with pytest.raises(NoPhoto, match=told):
            size_of_kept(data)
