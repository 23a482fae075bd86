"""Made-up photos for the tests."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

ORIENTATION, MAKE, GPS = 0x0112, 0x010F, 0x8825


def made_photo(kind: str = "JPEG", size: tuple[int, int] = (400, 300), *, seed: int = 0, **how: object) -> bytes:
    """A picture whose left upper quarter is red, with some grain by the seed."""
    grain = np.random.default_rng(seed).integers(0, 60, (size[1], size[0], 3), dtype=np.uint8)
    grain[: size[1] // 2, : size[0] // 2, 0] = 255
    return written(Image.fromarray(grain), kind, **how)


def written(image: Image.Image, kind: str, **how: object) -> bytes:
    out = io.BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def telling(orientation: int = 1) -> Image.Exif:
    """What a telephone says beside the picture: how it was held, its maker, and where it stood."""
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKE] = orientation, "Invented Telephones"
    exif.get_ifd(GPS)[1], exif.get_ifd(GPS)[2] = "N", (51.0, 30.0, 12.0)
    return exif


def is_red_at(image: Image.Image, x: float, y: float) -> bool:
    """Tell whether a picture is red at a place, given as shares of its width and height."""
    red, green, _ = image.convert("RGB").getpixel((int(x * image.width), int(y * image.height)))
    return red > 180 and green < 100
