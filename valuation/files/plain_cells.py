"""Text that a spreadsheet would take for a formula, and how to keep it text.

A spreadsheet that parts cells at semicolons or tabs, as it does in many countries, also sees the middle of a text as
the beginning of a cell, and a line within a text as a row. So each place is guarded where a cell may begin.

References
----------
.. [1] CWE-1236, Improper Neutralization of Formula Elements in a CSV File, MITRE Common Weakness Enumeration.
.. [2] OWASP, CSV Injection: signs that begin a formula, wide ones too, and separators within a text.
"""

from __future__ import annotations

import re

_SIGNS = r"=+\-@＝＋－＠"
_FORMULA = re.compile(rf"[ '\u00a0\ufeff]*[{_SIGNS}\t\r\n]")
_CELL_BEGINS = re.compile(rf"\A(?=[ '\u00a0\ufeff]*[{_SIGNS}\t\r\n])|(?<=[;\t\n])(?='*[{_SIGNS}])")


def guarded(text: str) -> str:
    """Return `text` for a CSV cell: with an apostrophe at each place where a spreadsheet would see a formula.

    Line ends become line feeds: a lone carriage return would begin a new row.

    Examples
    --------
    >>> guarded("=1+1"), guarded("oak"), guarded("'=1"), guarded("oak;=1+1")
    ("'=1+1", 'oak', "''=1", "oak;'=1+1")
    """
    return _CELL_BEGINS.sub("'", text.replace("\r\n", "\n").replace("\r", "\n"))


def unguarded(text: str) -> str:
    """Return the text that `guarded` was given; of another text, one apostrophe fewer before each formula.

    Examples
    --------
    >>> unguarded("'=1+1"), unguarded("oak;'=1+1"), unguarded("it's")
    ('=1+1', 'oak;=1+1', "it's")
    """
    pieces, end = [], 0
    for place in _CELL_BEGINS.finditer(text):
        pieces.append(text[end : place.start()])
        end = place.start() + text.startswith("'", place.start())
    return "".join([*pieces, text[end:]])


def is_formula(text: str) -> bool:
    """Return whether a spreadsheet would take `text`, or what follows its apostrophes, for a formula."""
    return _FORMULA.match(text) is not None
