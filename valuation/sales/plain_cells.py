"""Text that a spreadsheet would take for a formula, and how to keep it text.

References
----------
.. [1] CWE-1236, Improper Neutralization of Formula Elements in a CSV File, MITRE Common Weakness Enumeration.
"""

from __future__ import annotations

from dataclasses import fields, replace

from valuation.sales.sale import Sale

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def guarded(text: str) -> str:
    """Return `text` for a CSV cell: with an apostrophe before it where a spreadsheet would see a formula.

    Line ends become line feeds: a lone carriage return would begin a new row.

    Examples
    --------
    >>> guarded("=1+1"), guarded("oak"), guarded("'=1")
    ("'=1+1", 'oak', "''=1")
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{text}" if is_formula(text) else text


def unguarded(sale: Sale) -> Sale:
    """Return the sale with the apostrophes of `guarded` taken off its texts."""
    texts = {f.name: getattr(sale, f.name) for f in fields(sale) if isinstance(getattr(sale, f.name), str)}
    return replace(sale, **{n: text[1:] for n, text in texts.items() if text.startswith("'") and is_formula(text)})


def is_formula(text: str) -> bool:
    """Return whether a spreadsheet would take `text`, or what follows its apostrophes, for a formula."""
    return text.lstrip(" '").startswith(FORMULA_STARTS)
