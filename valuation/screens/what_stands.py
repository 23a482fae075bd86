"""What stands of one check: read, not entered; findings are entered on the walk, or typed in from a form."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraised_condition import FindingResult
from valuation.engine.rows import CheckRow, Tables
from valuation.language import later, say
from valuation.report.format import number
from valuation.report.labels import PLACE_NAMES, choice_looks, finding_words, in_sentence
from valuation.screens import clashes
from valuation.screens.photos_shown import show_photos
from valuation.screens.recorded import value_words
from valuation.screens.safe import md
from valuation.screens.state import QUICK_LOOK, Draft

STATIONS = {QUICK_LOOK: later("Quick look")} | PLACE_NAMES
"""The quick look, then the walk."""


def what_stands(draft: Draft, check: CheckRow, part: str, results: list[FindingResult], book: Tables) -> None:
    """Draw what is known of one check.

    Parameters
    ----------
    part : str
        Name of the part that it tells about.
    results : list of FindingResult
        What its finding came to, the check's own first, then those taken from its readings.
    """
    field = f"finding.{check.id}"
    finding = draft.finding(check.id)
    with st.container(border=True, key=draft.key(f"check_{check.id}")):
        quick = f" · {say('quick look')}" if check.quick else ""
        st.text(f"{part} · {number(check.minutes)} min{quick}")
        stands = value_words(draft.visit, field, draft.stored(field), book, draft.system)
        st.markdown(f"**{md(say(check.name))}** {md(stands)}")
        if finding and finding.grade:
            st.text(choice_looks(check, finding.grade))
        elif finding and not finding.cannot_see:
            _comes_to(draft, check, results, book)
        clashes.settle(draft, field, book)
        show_photos(draft, check.id)


def _comes_to(draft: Draft, check: CheckRow, results: list[FindingResult], book: Tables) -> None:
    rows = book.of_kind("checks", draft.visit.piano.kind)
    for result in results:
        words = finding_words(result, rows[result.check], draft.system, draft.tried(rows[result.check]))
        if result.check == check.id:
            name = say("Comes to")
        else:
            name = md(say("From these readings, {name}", name=in_sentence(say(result.name))))
        st.markdown(f"{name}: **{md(words)}**")
