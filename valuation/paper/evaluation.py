"""The written evaluation, and the papers laid out like it, as PDF."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from valuation.paper.typeset import typeset
from valuation.report.document import Document, to_plain


def evaluation_pdf(
    content: Document, *, paper: str = "a4", made_on: date, photos: Mapping[str, bytes] | None = None
) -> bytes:
    """Return a paper as PDF.

    Parameters
    ----------
    paper : str
        ``a4`` or ``letter``.
    made_on : date
        Day of the paper.
    photos : mapping of str to bytes, optional
        The pictures by the names that the content has for them.
    """
    return typeset("evaluation", to_plain(content), paper=paper, made_on=made_on, pictures=photos)
