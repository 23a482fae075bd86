"""The inspection form as PDF."""

from __future__ import annotations

from dataclasses import asdict

from valuation.paper.typeset import typeset
from valuation.report.inspection_form import InspectionForm


def form_pdf(form: InspectionForm, *, paper: str) -> bytes:
    """Return the form as PDF, on ``a4`` or ``letter``; the same bytes for the same form."""
    return typeset("form", asdict(form), paper=paper)
