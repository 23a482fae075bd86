"""Whatever a person wrote, made fit to be printed: as text, in lines that can break."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from itertools import pairwise
from typing import Any

MISSING = "□"
"""Stands for a sign that no font of the paper has."""

_LINE_ENDS = re.compile("\r\n|[\r\v\f\x1c-\x1e\x85\u2028\u2029]")
_BENDS_DIRECTION = {*"\u202a\u202b\u202c\u202d\u202e\u2066\u2067"}
"""Signs that turn the direction of all that follows; those that keep a text apart stay."""

_FORBIDDEN = "\ufeff"
"""A mark of the order of bytes, which no kept PDF may hold."""

_WIDEST_EM = 15.0
"""A word that may be wider gets places to break at: about the width of the narrowest column."""

_PIECE_EM = 5.0
"""Such a word can be broken after about so much."""

_MOST_MARKS = 4
"""More accents over one letter would run into the lines above."""

_LATIN_END = 0x24F


def printable(text: str) -> str:
    r"""Return a text as it can be printed: controls gone, and long words breakable.

    Examples
    --------
    >>> printable("a\x00b\r\nc\td")
    'ab\nc d'
    """
    if text.isascii() and text.isprintable() and len(text) < _WIDEST_EM:
        return text
    plain = _few_marks("".join(map(_sign, _LINE_ENDS.sub("\n", text))))
    return re.sub(r"[^\s\u200b]+", lambda word: _breakable(word[0]), plain)


def _sign(sign: str) -> str:
    category = unicodedata.category(sign)
    if sign == "\n":
        return sign
    if sign == "\t":
        return " "
    if category == "Cc" or sign in _BENDS_DIRECTION or sign == _FORBIDDEN:
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
    """Return a word with places to break at, so far apart that lines are found quickly."""
    if sum(map(_width_em, word)) <= _WIDEST_EM:
        return word
    pieces, width = [word[0]], _width_em(word[0])
    for before, sign in pairwise(word):
        joins = unicodedata.category(sign) in ("Mn", "Me", "Mc", "Cf", "Sk") or before == "\u200d"
        if width >= _PIECE_EM and not joins:
            pieces.append("\u200b")
            width = 0.0
        pieces.append(sign)
        width += _width_em(sign)
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
