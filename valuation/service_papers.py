"""What can be printed, for the command line and the screens: beside `valuation.service`, and loaded only for paper."""

from __future__ import annotations

from valuation.core.rows import Tables
from valuation.paper.form import form_pdf
from valuation.paper.typeset import PAPERS
from valuation.report.inspection_form import form_order, inspection_form

__all__ = ["PAPERS", "form_order", "print_form"]


def print_form(tables: Tables, kind: str, *, paper: str = "a4", system: str = "metric") -> bytes:
    """Return the inspection form for one kind of piano as PDF, in the language spoken.

    Parameters
    ----------
    tables : Tables
        The shop's tables: their checks stand on the form, in the order of `form_order`.
    kind : str
        ``upright`` or ``grand``.
    paper : str
        One of `PAPERS`.
    system : str
        Units of the fields: ``metric`` or ``imperial``.
    """
    return form_pdf(inspection_form(tables, kind, system), paper=paper)
