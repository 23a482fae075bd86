"""A paper about a visit as PDF: the template that suits it, and the drawing among its pictures."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from valuation.paper.typeset import typeset
from valuation.report.document import Document, to_plain

_DRAWN, _DRAWING = "drawing", "drawing.svg"
"""Block that holds the drawing; name under which the template knows the picture."""


def document_pdf(
    content: Document,
    template: str = "evaluation",
    *,
    paper: str = "a4",
    made_on: date,
    photos: Mapping[str, bytes] | None = None,
) -> bytes:
    """Return a paper as PDF; the same bytes for the same content, photos and day.

    Parameters
    ----------
    content : Document
    template : str
        ``evaluation``, ``letter``, or ``sheet``: what has no drawing is laid out as an evaluation instead of a sheet.
    paper : str
        One of `valuation.paper.typeset.PAPERS`.
    made_on : date
        Day of the paper.
    photos : mapping of str to bytes, optional
        The pictures by the names that the content has for them.
    """
    pictures, plain = dict(photos or {}), to_plain(content)
    for block in (block for section in plain["sections"] for block in section["blocks"]):
        if block["block"] == _DRAWN:
            pictures[_DRAWING] = block.pop("svg").encode()
    if template == "sheet" and _DRAWING not in pictures:
        template = "evaluation"
    return typeset(template, plain, paper=paper, made_on=made_on, pictures=pictures)
