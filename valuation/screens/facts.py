"""What was typed for one fact of a visit, into the value that is stored or into words on what is wrong. Pure.

The reader of visit files takes it, so both allow the same and say the same.
"""

from __future__ import annotations

import re
from datetime import date

from valuation.batch.flat_visit import visit_text
from valuation.engine.rows import Tables
from valuation.errors import VisitError
from valuation.facts import why_unfit
from valuation.facts.visit import Visit
from valuation.files.visit_values import AnswerError, read_quantity
from valuation.language import say
from valuation.report.format import shown_unit, typed_numeral
from valuation.service import read_visit_text
from valuation.service.visits import from_visit

_IN_FILE = {"piano.size_mm": "piano.size"}
"""Facts that have another name in a visit file than in the store."""

_NUMBERS = (
    *("piano.size_mm", "piano.year", "humidity", "temperature", "finished_value", "minutes"),
    *("client.to_have", "client.to_hear", "client.budget", "client.playing_year", "client.horizon_years"),
)
"""Facts that are numbers: typed with the signs of the language."""

_NEEDED = ("title", "date", "piano.kind")
_MOST_MINUTES = 1440.0

Read = tuple[object, tuple[str, ...]]


def read_fact(field: str, text: str, visit: Visit, tables: Tables, today: date, system: str) -> Read:
    """Return the value of a typed fact, and what is wrong; an empty text is 'not known'.

    Parameters
    ----------
    field : str
        Its field in the store, such as ``piano.year``.
    text : str
        What was typed, or an id of the tables.
    system : str
        'metric' or 'imperial': a length without a unit is taken in the unit shown.

    Returns
    -------
    value : object
        As `Draft.keep` takes it; None where not known or at fault.
    """
    key = _IN_FILE.get(field, field)
    if not text.strip():
        return (None, ()) if field not in _NEEDED else (None, (say("this can't be left out; write it anew"),))
    written = text.strip()
    if field in _NUMBERS or field.startswith("piano.renewed."):
        try:
            written = typed_numeral(written)
        except ValueError as fault:
            return None, (str(fault),)
    if field == "minutes":
        return _minutes(written)
    if field == "client.phone":  # the store alone holds it: no visit file does
        unfit = why_unfit(field, written, today)
        return (None, (unfit,)) if unfit else (written, ())
    if field == "piano.size_mm" and re.fullmatch(r"[\d./ ]+", written):
        written = f"{written} {shown_unit('mm', system)}"
    piano = visit.piano
    cells = {"title": visit.title, "date": visit.on.isoformat(), "piano.kind": piano.kind}
    if piano.year:
        cells |= {"piano.year": str(piano.year), "piano.year_is_about": "yes" if piano.year_is_about else "no"}
    cells |= {"piano.features": ";".join(piano.features)} if piano.features else {}
    try:
        read = read_visit_text(visit_text(cells | {key: written}, tables), "typed", tables, today)
    except VisitError as error:
        own = [problem.message for problem in error.problems if problem.where == key]
        if own:
            return None, tuple(own)
        # what is wrong lies with another fact, which is told there
        read = read_visit_text(
            visit_text(dict(list(cells.items())[:3]) | {key: written}, tables), "typed", tables, today
        )
    return from_visit(read).get(field), ()


def _minutes(text: str) -> Read:
    try:
        return read_quantity(text, "count", 0, _MOST_MINUTES), ()
    except AnswerError as fault:
        return None, (str(fault),)
