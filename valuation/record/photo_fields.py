"""Fields that say what a photo shows: one for each check or part, so that one photo stays with all that it shows.

The first is ``photo.HASH``; where that already stands for something else, the next is ``photo.HASH.CHECK``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

PHOTO = "photo."


def photo_hash(field: str) -> str:
    """Return the name of the photo that a field speaks of; empty where it speaks of none.

    Examples
    --------
    >>> photo_hash("photo.ab12.plate_crack"), photo_hash("story")
    ('ab12', '')
    """
    return field.removeprefix(PHOTO).partition(".")[0] if field.startswith(PHOTO) else ""


def photo_field(name: str, shows: Mapping[str, str], there: Mapping[str, Any]) -> str:
    """Return the field in which it is kept that a photo shows something.

    Parameters
    ----------
    name : str
        Its hash.
    shows : mapping
        ``check`` and ``part``; either may be empty.
    there : mapping of field to value
        What the fields of this photo hold now; None for what was taken away.
    """
    first = f"{PHOTO}{name}"
    own = f"{first}.{shows['check'] or shows['part'] or 'piano'}"
    for field in (first, own):
        value = there.get(field)
        if isinstance(value, dict) and all(value.get(key, "") == shows[key] for key in ("check", "part")):
            return field
    return own if there.get(first) is not None else first
