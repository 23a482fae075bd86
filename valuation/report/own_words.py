"""Somebody's own words within our sentences: what runs from right to left must not turn what stands around it."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import fields, is_dataclass, replace
from typing import Any

_TURNS = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
"""Signs that set a direction: they come from elsewhere by copying, and are needed no more once words are kept apart."""


def kept_apart(thing: Any) -> Any:
    r"""Return a visit, an occasion or the like with every text in it that runs from right to left kept apart.

    Each such line stands between the signs that Unicode has for it (first strong isolate, UAX 9), so that the words
    before and after keep their order. Any other text stays as it is.

    Examples
    --------
    >>> kept_apart(("abc", "\u05d0\u05d1")) == ("abc", "\u2068\u05d0\u05d1\u2069")
    True
    """
    if isinstance(thing, str):
        if not any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in thing):
            return thing
        return "\n".join(f"\u2068{_TURNS.sub('', line)}\u2069" if line else line for line in thing.splitlines())
    if is_dataclass(thing) and not isinstance(thing, type):
        changed = {f.name: kept_apart(value) for f in fields(thing) if (value := getattr(thing, f.name))}
        return replace(thing, **changed)
    if isinstance(thing, tuple):
        return tuple(kept_apart(item) for item in thing)
    if isinstance(thing, dict):
        return {key: kept_apart(item) for key, item in thing.items()}
    return thing


def in_one_line(text: str, most: int = 80) -> str:
    r"""Return a text for a place that holds one line only, such as below a signature; in full it stands elsewhere.

    Examples
    --------
    >>> in_one_line("Anna\nBerta", 7)
    'Anna B…'
    """
    line = " ".join(text.split())
    return line if len(line) <= most else f"{line[: most - 1]}…"
