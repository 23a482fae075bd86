"""How much memory a picture would take once it is unpacked, asked before it is: a small file can hold a huge one."""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL.Image import Image  # loaded by whoever has a picture

MOST_UNPACKED = 150_000_000
"""A picture that takes more is not unpacked: 50 million pixels in colour [bytes]."""

BROKEN_PICTURE = (
    OSError,
    SyntaxError,  # Pillow's word for a broken PNG
    ValueError,
    EOFError,
    IndexError,
    KeyError,
    TypeError,
    struct.error,
    zlib.error,
    OverflowError,
    RuntimeError,  # the word of the reader of AVIF
    ZeroDivisionError,
    MemoryError,
)
"""What Pillow's readers raise on files that are cut off or made up."""

_IN_STEPS = 6
"""A JPEG in steps is held whole, two bytes for each of three colours, whatever size is asked for [bytes a pixel]."""


def unpacked_bytes(image: Image, wanted_side: int) -> int:
    """Return how many bytes a picture takes that was opened and not yet unpacked, made smaller while it is.

    Parameters
    ----------
    image : Image
        As from `PIL.Image.open`.
    wanted_side : int
        No side needs to be longer: a JPEG unpacks to an eighth, a quarter or a half of its sides, no less than that
        [pixels].
    """
    pixels = image.width * image.height
    if image.format in ("JPEG", "MPO"):
        if image.info.get("progressive"):
            return pixels * _IN_STEPS
        times = next((n for n in (8, 4, 2) if max(image.size) >= n * wanted_side), 1)
        return pixels * len(image.getbands()) // times**2
    return pixels * (4 if image.mode in ("I", "F", "P") else len(image.getbands()))


def unpacks_to_too_much(image: Image, wanted_side: int) -> bool:
    """Tell whether a picture would take more memory than any photo needs."""
    return unpacked_bytes(image, wanted_side) > MOST_UNPACKED
