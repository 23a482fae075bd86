"""A letter as PDF."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from valuation.paper.typeset import typeset
from valuation.report.document import Document, to_plain


def letter_pdf(
    content: Document, *, paper: str = "a4", made_on: date, photos: Mapping[str, bytes] | None = None
) -> bytes:
    """Return a letter as PDF; arguments as for `valuation.paper.evaluation.evaluation_pdf`."""
    return typeset("letter", to_plain(content), paper=paper, made_on=made_on, pictures=photos)
