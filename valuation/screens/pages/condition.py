"""Condition: score with its band for each part, the odds, what pulled which way, what was not looked at."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.checks import part_of_checks
from valuation.screens import frame, kit, marks, page_list, parts_shown
from valuation.screens.safe import bullets, md

_HERE = f"{page_list.FOLDER}/condition.py"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    found = frame.appraised(draft, book)
    st.title(say("Condition"), anchor=False)
    st.html(marks.score(found.score_low, found.score, found.score_high))
    st.markdown(
        say("The whole piano. 100 is as new, below 20 a part has failed; the band is where 8 in 10 such pianos lie.")
    )
    with st.expander(say("What the four states mean")):
        st.markdown(bullets(f"**{md(say(state.name))}**: {md(say(state.meaning))}" for state in book.states))
    open_checks = _open_checks(found, book)
    for component in found.components:
        parts = [part for part in found.parts if part.component == component.component]
        worst = next(part for part in parts if part.part == component.worst_part)
        label = say("{component}: {state}, {score} of 100", component=say(component.name), state=say(worst.state),
                    score=f"{component.score:.0f}")  # fmt: skip
        if box := kit.folded(draft.key(f"condition_{component.component}"), label):
            with box:
                parts_shown.component(component, parts, draft, book, open_checks)
    if box := kit.folded(draft.key("condition_history"), say("How it has lived")):
        with box:
            parts_shown.history(found, draft, book, open_checks)
    frame.end(book)


def _open_checks(found: Appraisal, book: Tables) -> dict[str, tuple[list[str], list[str]]]:
    """Return by part the names of the checks not made, and of those that could not be seen."""
    part_of = part_of_checks(book)
    by_part: dict[str, tuple[list[str], list[str]]] = {}
    checks = {row.id: row for row in book.checks}
    for which, ids in enumerate((found.not_looked_at, found.cannot_see)):
        for id_ in ids:
            by_part.setdefault(part_of[id_], ([], []))[which].append(say(checks[id_].name))
    return by_part


if __name__ == "__main__":
    page()
