"""A photo as it comes from a camera into the one that is kept: upright, of a sensible size, and telling nothing else.

Where and with what it was taken is left out: a kept photo has no such data at all, because its pixels are written
anew.
"""

from __future__ import annotations

import io
import warnings
from contextlib import suppress
from dataclasses import dataclass
from threading import Lock

from PIL import Image, ImageCms, ImageOps, UnidentifiedImageError
from pillow_heif import register_heif_opener

from valuation.disk.images import BROKEN_PICTURE, unpacks_to_too_much

register_heif_opener()

MOST_BYTES = 30_000_000
"""A larger file is not looked at [bytes]."""

MOST_PIXELS = 80_000_000
"""A larger picture is not opened: unpacked it would fill the memory [pixels]. Less than Pillow's own limit."""

LEAST_SIDE = 16
"""A smaller one shows nothing [pixels]."""

LONGEST_SIDE = 2560
"""Larger photos are made smaller: enough to see a hairline crack on a whole screen [pixels]."""

THUMBNAIL_SIDE = 480

KINDS = ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")
ENDINGS = ("jpg", "jpeg", "png", "webp", "heic", "heif", "avif")
"""What may be offered to a field for photos."""

ADVICE = "a photo is a JPEG, PNG, WebP, HEIC or AVIF file"

_BROKEN = (*BROKEN_PICTURE, Image.DecompressionBombWarning, Image.DecompressionBombError)

_one_at_a_time = Lock()
"""Pictures are large when unpacked: a dozen at once would fill a small machine."""


class NoPhoto(ValueError):
    """The file can't be kept as a photo; the message says why and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A photo ready to be kept.

    Attributes
    ----------
    jpeg, thumbnail : bytes
        JPEG files without any data but the picture.
    width, height : int
        Of the photo [pixels].
    """

    jpeg: bytes
    thumbnail: bytes
    width: int
    height: int


def make_picture(data: bytes) -> Picture:
    """Return the photo to be kept.

    Parameters
    ----------
    data : bytes
        A file as the camera wrote it.

    Raises
    ------
    NoPhoto
        If it is too large, no photo, or broken.
    """
    if len(data) > MOST_BYTES:
        size = f"{len(data) / 1e6:.0f} million bytes"
        raise NoPhoto(f"it has {size}; the most is {MOST_BYTES / 1e6:.0f} million. Take it with a smaller setting")
    if not data:
        raise NoPhoto("the file is empty; take or choose the photo again")
    with _one_at_a_time:
        try:
            image = _open(data)
            image.thumbnail((LONGEST_SIDE, LONGEST_SIDE))  # a JPEG is unpacked no larger than needed
            upright = _plain_colours(_upright(image))
            small = upright.copy()
            small.thumbnail((THUMBNAIL_SIDE, THUMBNAIL_SIDE))
            return Picture(jpeg=_jpeg(upright, 88), thumbnail=_jpeg(small, 80), **_size_of(upright))
        except NoPhoto:
            raise
        except _BROKEN:
            raise NoPhoto("the file is broken or cut off; send the photo again") from None


def make_thumbnail(jpeg: bytes) -> bytes:
    """Return the thumbnail of a kept photo; raises `NoPhoto` where that is broken."""
    return make_picture(jpeg).thumbnail


def size_of_kept(jpeg: bytes) -> tuple[int, int]:
    """Return width and height of a kept photo, one of another store's included [pixels].

    Raises
    ------
    NoPhoto
        If it is not such a photo, or tells more than the picture.
    """
    try:
        image = _open(jpeg)
    except NoPhoto:
        raise
    except _BROKEN:
        raise NoPhoto("the file is broken or cut off") from None
    if image.format != "JPEG" or max(image.size) > LONGEST_SIDE:
        raise NoPhoto(f"it is no JPEG file of at most {LONGEST_SIDE} pixels a side")
    if set(image.info) & {"exif", "xmp", "icc_profile", "comment", "photoshop"}:
        raise NoPhoto("it holds data beside the picture, such as where it was taken")
    return image.size


def _open(data: bytes) -> Image.Image:
    """Return the picture, not unpacked yet."""
    try:
        image = Image.open(io.BytesIO(data), formats=KINDS)
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise NoPhoto(_too_many("more than 80")) from None
    except UnidentifiedImageError:
        raise NoPhoto(f"it is no photo that can be read; {ADVICE}") from None
    if image.width * image.height > MOST_PIXELS:
        raise NoPhoto(_too_many(f"{image.width * image.height / 1e6:.0f}"))
    if image.mode.startswith(("I", "F")):
        raise NoPhoto(f"its kind of pixels can't be shown; {ADVICE}")
    if unpacks_to_too_much(image, LONGEST_SIDE):
        raise NoPhoto(f"unpacked it would fill the memory ({image.width} by {image.height} pixels); send it smaller")
    if min(image.size) < LEAST_SIDE:
        raise NoPhoto(f"it has only {image.width} by {image.height} pixels, too few to show anything")
    return image


def _too_many(millions: str) -> str:
    most = f"the most is {MOST_PIXELS / 1e6:.0f} million"
    return f"it has {millions} million pixels; {most}. Set the camera to a smaller picture"


def _upright(image: Image.Image) -> Image.Image:
    """Return the picture as it was held; as it is, where what the camera says of that can't be read."""
    image.load()
    with suppress(*_BROKEN), warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # Pillow warns of each tag that it can't read and passes over
        return ImageOps.exif_transpose(image)
    return image


def _plain_colours(image: Image.Image) -> Image.Image:
    """Return a new picture in the colours every screen knows, on white where it can be seen through."""
    profile = image.info.get("icc_profile")
    if profile and image.mode in ("RGB", "L", "CMYK"):
        with suppress(ImageCms.PyCMSError, OSError):  # a profile that can't be used: the colours as they are
            theirs = ImageCms.ImageCmsProfile(io.BytesIO(profile))
            image = ImageCms.profileToProfile(image, theirs, ImageCms.createProfile("sRGB"), outputMode="RGB") or image
    plain = Image.new("RGB", image.size, "white")
    if image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info:
        image = image.convert("RGBA")
        plain.paste(image, mask=image.getchannel("A"))
    else:
        plain.paste(image.convert("RGB"))
    return plain


def _jpeg(image: Image.Image, quality: int) -> bytes:
    written = io.BytesIO()
    image.save(written, "JPEG", quality=quality, optimize=True)
    return written.getvalue()


def _size_of(image: Image.Image) -> dict[str, int]:
    return {"width": image.width, "height": image.height}
