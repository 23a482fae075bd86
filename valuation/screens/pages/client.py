"""With the client: the talk in six steps, for those whose piano it is; one quiet way leads to the other pages."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from valuation.language import say
from valuation.report.case import Case
from valuation.report.talk.steps import HOW, MATTERS, STAND, TURNS_UP, UNKNOWN, WAYS, step_name, steps_for
from valuation.screens import frame, page_list, shop
from valuation.screens.client import comes_next, how_it_is, matters, place, stand, turns_up, unknown, ways
from valuation.screens.safe import md
from valuation.screens.wishes import wishes_of

_HERE = f"{page_list.FOLDER}/client.py"
_STYLE = Path(__file__).parents[1] / "client.css"
_SHOW = {
    HOW: how_it_is.show,
    MATTERS: matters.show,
    WAYS: ways.show,
    TURNS_UP: turns_up.show,
    UNKNOWN: unknown.show,
    STAND: stand.show,
}


def page() -> None:
    """Draw the step in which the talk is."""
    draft, book = frame.before_drawing(_HERE)
    found = frame.appraised(draft, book)
    steps = steps_for(found)
    here = place.step_asked(steps)
    wanted = shop.wanted_of(draft.visit, draft.set_levels, book, frame.sold(draft, book), wishes_of(draft))
    frame.head_at_the_table(_HERE, draft, here)
    st.html(_STYLE)
    place.row_of_steps(steps, here)
    st.title(md(step_name(here)), anchor=False)
    _SHOW.get(here, comes_next.show)(draft, wanted)
    place.onward(steps, here)
    _foot(wanted.case)


def _foot(case: Case) -> None:
    with st.container(key="foot"):
        st.markdown(md(" ".join(_small_print(case))))


def _small_print(case: Case) -> list[str]:
    said = [say("A worth told here is no certified value.")] if case.found.ready else []
    if frame.any_invented(case.book):
        said.append(say("Prices and hours here are invented."))
    return said


if __name__ == "__main__":
    page()
