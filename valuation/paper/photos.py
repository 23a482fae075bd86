"""Photos made ready to be printed: upright, small enough, without what a camera writes about place and device."""

from __future__ import annotations

import io
import warnings

from valuation.disk.images import BROKEN_PICTURE, unpacks_to_too_much

MOST_BYTES = 30_000_000
"""A larger file is not read [bytes]."""

MOST_PIXELS = 60_000_000
"""A larger picture is not opened: a small file can unfold to more than the memory holds [pixels]."""

LONGEST_SIDE = 1000
"""Longest side as printed: about 300 dots an inch at the size on the page [pixels]."""

_KINDS = ("JPEG", "PNG", "WEBP", "AVIF", "GIF", "BMP", "TIFF")
"""Kinds of pictures that are read: Pillow knows some that are programs, or lead elsewhere."""

_QUALITY = 82


def ready_to_print(data: bytes) -> bytes | None:
    """Return a photo as JPEG for print, the same bytes for the same photo.

    Returns
    -------
    bytes or None
        None where it can't be read as a picture or is too large: the paper then says so, and is made all the same.
    """
    from PIL import Image, ImageOps  # here, not above: only papers with photos need it

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what Pillow only warns of, the limit below refuses
            with Image.open(io.BytesIO(data), formats=_KINDS) as opened:
                if opened.width * opened.height > MOST_PIXELS or unpacks_to_too_much(opened, LONGEST_SIDE):
                    return None
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                upright = ImageOps.exif_transpose(opened)
                upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
                made = io.BytesIO()
                _on_white(upright).save(made, "JPEG", quality=_QUALITY)
                return made.getvalue()
    except (*BROKEN_PICTURE, Image.DecompressionBombError):
        return None


def _on_white(picture):
    """Return a picture in plain colours; what is see-through becomes white paper."""
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "P", "PA"):
        picture = picture.convert("RGBA")
        sheet = Image.new("RGB", picture.size, "white")
        sheet.paste(picture, mask=picture.getchannel("A"))
        return sheet
    return picture.convert("RGB")
