"""What if: turn a figure or type it, and see the verdict move; the answer stays in view."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Flip
from valuation.language import say
from valuation.report.format import exact, of_100, typed_numeral
from valuation.report.words import flip_sentence, verdict_sentence
from valuation.screens import frame, kit, page_list, what_if_moved
from valuation.screens.not_yet import evaluated
from valuation.screens.safe import md
from valuation.screens.state import Draft
from valuation.service import Study, decide_at, report, what_if

_MOST = 1e9
_YEARS = (3.0, 40.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figure:
    """One figure that can be turned; `scale` where the study takes it as a factor on today's."""

    name: str
    label: str
    today: float
    reach: kit.Reach
    scale: str = ""

    def change(self, turned: float) -> tuple[str, float]:
        return (self.scale, turned / self.today) if self.scale else (self.name, turned)


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(page_list.WHAT_IF)
    st.title(say("What if"), anchor=False)
    before, study = evaluated(draft, book), frame.studied(draft, book)
    answer = st.container(key="what_if_answer", gap="xsmall")
    figures = list(_figures(before, study))
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


def _figures(before: Appraisal, study: Study) -> Iterator[_Figure]:
    """Give the figures that can be turned, as the visit has them."""
    stakes, currency = study.figures.stakes, before.currency
    today = {flip.driver: flip.today for flip in before.flips}
    for name, driver, label, scale in (
        ("finished", "finished_value", say("Worth when finished"), "finished_scale"),
        ("rate", "hourly_rate", say("An hour in the workshop"), "rate_scale"),
    ):
        if figure := today.get(driver):
            reach = _reach(0.3 * figure, 2.5 * figure)
            yield _Figure(name=name, label=f"{label} ({currency})", today=figure, reach=reach, scale=scale)
    for name, label, figure in (
        ("to_hear", say("What it is worth to hear this very piano"), stakes.to_hear),
        ("to_have", say("What it is worth to have this very piano"), stakes.to_have),
        ("playing_year", say("What a year of good playing is worth"), stakes.playing_year),
    ):
        reach = _reach(0.0, max(2 * figure, 3_000.0 if name == "playing_year" else 20_000.0))
        yield _Figure(name=name, label=f"{label} ({currency})", today=figure, reach=reach)
    low, high = _YEARS
    reach = kit.Reach(low=low, high=max(high, stakes.horizon), step=1.0)
    yield _Figure(name="horizon", label=say("Years to look ahead"), today=stakes.horizon, reach=reach)


def _reach(low: float, high: float) -> kit.Reach:
    """Return a reach in round steps of about a two hundredth of it."""
    rough = high / 200
    size = 10 ** math.floor(math.log10(rough))
    step = float(max(1.0, next(n for n in (1, 2, 5, 10) if n * size >= rough) * size))
    return kit.Reach(low=round(low / step) * step, high=max(step, round(high / step) * step), step=step)


def _turned(draft: Draft, figure: _Figure, before: Appraisal) -> tuple[str, float] | None:
    """Draw one figure with the point at which the verdict turns; return what was changed."""
    key = draft.key(f"what_if_{figure.name}")
    turned = kit.figure(
        draft.catching, key, figure.label, figure.today, figure.reach, lambda text: _read(text, figure), exact
    )  # fmt: skip
    flip: Flip | None = next((f for f in before.flips if f.driver == _DRIVERS.get(figure.name)), None)
    if flip is not None:
        with st.container(key=f"eyebrow_{figure.name}"):
            st.markdown(md(flip_sentence(flip, before)))
    return figure.change(turned) if turned != figure.today else None


_DRIVERS = {"finished": "finished_value", "rate": "hourly_rate", "to_hear": "to_hear", "horizon": "horizon"}


def _read(text: str, figure: _Figure) -> float:
    """Return what was typed as a figure; a ValueError says what is wrong with it."""
    told = say("'{text}' is not a figure for this; write one such as {example}", text=text[:20],
               example=exact(figure.today or figure.reach.high))  # fmt: skip
    try:
        value = float(typed_numeral(text.strip().replace(" ", "")).replace(",", ""))
    except ValueError as error:
        raise ValueError(told) from error
    least = _YEARS[0] if figure.name == "horizon" else figure.reach.step if figure.scale else 0.0
    if not least <= value <= (100.0 if figure.name == "horizon" else _MOST):
        raise ValueError(told)
    return value


def _put_back(draft: Draft, figures: list[_Figure]) -> None:
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
