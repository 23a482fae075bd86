"""The sheet of their own piano as PDF: one leaf, the drawing on its front."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from valuation.paper.evaluation import evaluation_pdf
from valuation.paper.typeset import typeset
from valuation.report.document import Document, to_plain

_DRAWING = "drawing.svg"


def sheet_pdf(
    content: Document, *, paper: str = "a4", made_on: date, photos: Mapping[str, bytes] | None = None
) -> bytes:
    """Return the sheet as PDF; arguments as for `valuation.paper.evaluation.evaluation_pdf`.

    Where the piano is not evaluated yet there is no drawing, and it is laid out as any other note.
    """
    plain, drawn = to_plain(content), b""
    for section in plain["sections"]:
        for block in section["blocks"]:
            if block["block"] == "drawing":
                drawn = block.pop("svg").encode()
                block["name"] = _DRAWING
    if not drawn:
        return evaluation_pdf(content, paper=paper, made_on=made_on, photos=photos)
    return typeset("sheet", plain, paper=paper, made_on=made_on, pictures={**(photos or {}), _DRAWING: drawn})
