"""What if: turn a figure or type it, and see the verdict move; the answer stays in view."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Flip
from valuation.language import say
from valuation.report.format import exact, of_100
from valuation.report.words import flip_sentence, verdict_sentence
from valuation.screens import frame, kit, page_list, what_if_moved
from valuation.screens.not_yet import evaluated
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.screens.what_if_figures import Figure, figures_of, read_figure
from valuation.service import decide_at, report, what_if


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.WHAT_IF)
    st.title(say("What if"), anchor=False)
    before, study = evaluated(draft, book), frame.studied(draft, book)
    answer = st.container(key="what_if_answer", gap="xsmall")
    figures = list(figures_of(before, study))
    changes = dict(filter(None, (_turned(draft, figure, before) for figure in figures)))
    after = report(study, decide_at(study, what_if(study, **changes)), turns=False) if changes else before
    with answer:
        _answer(before, after)
    kit.action(
        draft.catching, "what_if_back", say("Back to the visit's figures"), _put_back, draft, figures,
        disabled=not changes,
    )  # fmt: skip
    if box := kit.folded(draft.key("what_if_moved"), say("The ways, before and now")):
        with box:
            what_if_moved.table(before, after)
            what_if_moved.chart(before, after)
    frame.end(book)


def _turned(draft: Draft, figure: Figure, before: Appraisal) -> tuple[str, float] | None:
    """Draw one figure with the point at which the verdict turns; return what was changed."""
    key = draft.key(f"what_if_{figure.name}")
    turned = kit.figure(
        draft.catching, key, figure.label, figure.today, figure.reach, lambda text: read_figure(text, figure), exact
    )  # fmt: skip
    flip: Flip | None = next((f for f in before.flips if f.driver == _DRIVERS.get(figure.name)), None)
    if flip is not None:
        with st.container(key=f"eyebrow_{figure.name}"):
            st.markdown(md(flip_sentence(flip, before)))
    return figure.change(turned) if turned != figure.today else None


_DRIVERS = {"finished": "finished_value", "rate": "hourly_rate", "to_hear": "to_hear", "horizon": "horizon"}


def _put_back(draft: Draft, figures: list[Figure]) -> None:
    for figure in figures:
        kit.put_back(draft.key(f"what_if_{figure.name}"))


def _answer(before: Appraisal, after: Appraisal) -> None:
    """Draw the verdict now, and in a line what it was; it stays in view while figures are turned."""
    now = say("Better than the next in {chance}.", chance=of_100(after.beats_next))
    st.markdown(f"**{say('Now: {verdict}', verdict=md(verdict_sentence(after)))}** {md(now)}")
    was = say("At the visit's figures: {verdict}", verdict=md(verdict_sentence(before)))
    st.markdown(f"{was} {md(say('Better than the next in {chance}.', chance=of_100(before.beats_next)))}")


if __name__ == "__main__":
    page()
