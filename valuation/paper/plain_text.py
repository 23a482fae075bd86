"""Whatever a person wrote, made fit to be printed: as text, in lines that can break."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from typing import Any

MISSING = "□"
"""Stands for a sign that no font of the paper has."""

_LINE_ENDS = re.compile("\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")
_BENDS_DIRECTION = {*"\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"}
_WIDEST_EM = 15.0
"""A word that may be wider gets places to break at: about the width of the narrowest column."""

_MOST_MARKS = 4
"""More accents over one letter would run into the lines above."""

_LATIN_END = 0x24F


def printable(text: str) -> str:
    r"""Return a text as it can be printed: controls gone, long words breakable, right-to-left kept apart.

    Examples
    --------
    >>> printable("a\x00b\r\nc\td")
    'ab\nc d'
    """
    if text.isascii() and text.isprintable() and len(text) < _WIDEST_EM:
        return text
    plain = _few_marks("".join(map(_sign, _LINE_ENDS.sub("\n", text))))
    plain = re.sub(r"[^\s\u200b]+", lambda word: _breakable(word[0]), plain)
    if any(unicodedata.bidirectional(sign) in ("R", "AL") for sign in plain):
        # kept apart line by line, so that it can't turn the words around it
        return "\n".join(f"\u2068{line}\u2069" for line in plain.split("\n"))
    return plain


def _sign(sign: str) -> str:
    category = unicodedata.category(sign)
    if sign == "\n":
        return sign
    if sign == "\t":
        return " "
    if category == "Cc" or sign in _BENDS_DIRECTION:
        return ""
    return MISSING if category in ("Cs", "Co", "Cn") else sign


def _few_marks(text: str) -> str:
    kept: list[str] = []
    marks = 0
    for sign in text:
        marks = marks + 1 if unicodedata.category(sign) in ("Mn", "Me") else 0
        if marks <= _MOST_MARKS:
            kept.append(sign)
    return "".join(kept)


def _breakable(word: str) -> str:
    if sum(map(_width_em, word)) <= _WIDEST_EM:
        return word
    pieces = [word[0]]
    for sign in word[1:]:
        joins = unicodedata.category(sign) in ("Mn", "Me", "Mc", "Cf", "Sk") or pieces[-1] == "\u200d"
        pieces.append(sign if joins else f"\u200b{sign}")
    return "".join(pieces)


def _width_em(sign: str) -> float:
    if unicodedata.category(sign) in ("Mn", "Me", "Cf"):
        return 0.0
    if unicodedata.east_asian_width(sign) in ("W", "F"):
        return 1.0
    return 0.5 if sign.islower() or not sign.isalpha() else 0.75


def throughout(data: Any, change: Any) -> Any:
    """Return lists and mappings with every text in them changed; keys stay."""
    if isinstance(data, str):
        return change(data)
    if isinstance(data, dict):
        return {key: throughout(value, change) for key, value in data.items()}
    if isinstance(data, (list, tuple)):
        return [throughout(value, change) for value in data]
    return data


def without(texts: Iterable[str]) -> Any:
    """Return a change of text that puts `MISSING` for each of some signs."""
    pattern = re.compile("|".join(re.escape(text) for text in sorted(texts, key=len, reverse=True)))
    return lambda text: pattern.sub(MISSING, text)


def latin_only(text: str) -> str:
    """Return a text with `MISSING` for everything beyond the Latin letters: what any of the fonts can print."""
    return "".join(sign if ord(sign) <= _LATIN_END else MISSING for sign in text)
