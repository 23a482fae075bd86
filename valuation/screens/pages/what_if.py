"""What if: turn a figure and see the verdict move; beside it what it was."""

from __future__ import annotations

import math

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Flip
from valuation.language import say
from valuation.report.format import money, of_100
from valuation.report.labels import option_name
from valuation.report.words import clarity_sentence, flip_sentence, verdict_sentence
from valuation.screens import charts, frame, marks
from valuation.screens.not_yet import evaluated
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.service import Study, decide_at, report, what_if

_HERE = f"{frame.FOLDER}/what_if.py"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.title(say("What if"), anchor=False)
    before, study = evaluated(draft, book), frame.studied(draft, book)
    st.markdown(say("These figures are turned for a look only; the visit stays as it is."))
    answer, sliders = st.columns(2, gap="medium")
    with sliders:
        changes = _sliders(draft, before, study, {flip.driver: flip for flip in before.flips})
    after = report(study, decide_at(study, what_if(study, **changes)), turns=False) if changes else before
    with answer:
        _answer(before, after)
    _table(before, after)
    panels = {say("Net"): [
        charts.Bar(option_name(o.option), o.net, o.expected_net, o.option == after.verdict, _net(before, o.option))
        for o in after.options
    ]}  # fmt: skip
    figure, said = charts.chart(panels, after.currency)
    st.markdown(say("Line: 8 of 10 lie on it. Dot: expected now. Ring: at the visit's figures."))
    st.plotly_chart(figure, theme=None, key="what_if_chart", alt=said, config={"staticPlot": True})
    frame.end(book)


def _sliders(draft: Draft, before: Appraisal, study: Study, flips: dict[str, Flip]) -> dict[str, float]:
    """Draw the sliders; return the stakes that were changed."""
    stakes, changes = study.figures.stakes, {}
    value = flips.get("finished_value")
    if value is not None and value.today:
        turned = _money_slider(draft, "finished", say("Worth when finished"), value.today, (0.3, 2.5), before, value)
        if turned != value.today:
            changes["finished_scale"] = turned / value.today
    rate = flips.get("hourly_rate")
    if rate is not None and rate.today:
        turned = _money_slider(draft, "rate", say("An hour in the workshop"), rate.today, (0.4, 2.5), before, rate)
        if turned != rate.today:
            changes["rate_scale"] = turned / rate.today
    far = max(20_000.0, 2 * stakes.to_hear)
    label = f"{say('What it is worth to hear this very piano')} ({before.currency})"
    turned = _slider(draft, "to_hear", label, 0.0, far, stakes.to_hear, _step(far), before, flips.get("to_hear"))
    if turned != stakes.to_hear:
        changes["to_hear"] = turned
    turned = _slider(draft, "horizon", say("Years to look ahead"), 3.0, max(40.0, stakes.horizon), stakes.horizon, 1.0,
                     before, flips.get("horizon"))  # fmt: skip
    if turned != stakes.horizon:
        changes["horizon"] = turned
    st.button(say("Back to the visit's figures"), key="what_if_back", on_click=_back, args=(draft,))
    return changes


def _money_slider(
    draft: Draft, name: str, label: str, today: float, reach: tuple[float, float], before: Appraisal, flip: Flip
) -> float:
    step = _step(today * reach[1])
    low, high = (max(step, round(today * share / step) * step) for share in reach)
    return _slider(draft, name, f"{label} ({before.currency})", low, high, today, step, before, flip)


def _slider(
    draft: Draft, name: str, label: str, low: float, high: float, today: float, step: float, before: Appraisal,
    flip: Flip | None,
) -> float:  # fmt: skip
    """Draw one slider with the point at which the verdict turns; untouched it stands exactly at today's figure."""
    key = draft.key(f"what_if_{name}")
    nearest = min(max(low + round((today - low) / step) * step, low), high)
    if held(key) is None:
        fill(key, nearest)
    turned = st.slider(label, low, high, step=step, key=key, format="localized")
    if flip is not None:
        st.markdown(md(flip_sentence(flip, before)))
    return today if turned == nearest else turned


def _step(reach: float) -> float:
    """Return a round step of about a two hundredth of the reach."""
    rough = reach / 200
    size = 10 ** math.floor(math.log10(rough))
    return float(max(1.0, next(n for n in (1, 2, 5, 10) if n * size >= rough) * size))


def _back(draft: Draft) -> None:
    for name in ("finished", "rate", "to_hear", "horizon"):
        fill(draft.key(f"what_if_{name}"), None)


def _answer(before: Appraisal, after: Appraisal) -> None:
    """Draw the verdict now, above the sliders, so that it is seen to move; below it what it was."""
    with st.container(key="what_if_now", border=True):
        st.markdown(say("**Now: {verdict}**", verdict=md(verdict_sentence(after))))
        st.html(marks.counts(after.beats_next))
        st.markdown(md(clarity_sentence(after)))
    with st.container(key="what_if_before", border=True):
        st.markdown(say("At the visit's figures: {verdict}", verdict=md(verdict_sentence(before))))
        st.html(marks.counts(before.beats_next))
        st.markdown(md(clarity_sentence(before)))


def _table(before: Appraisal, after: Appraisal) -> None:
    st.header(say("The options, before and now"), anchor=False)
    rows, ahead = [], say("just ahead") if after.clarity == "close" else say("the verdict")
    for option in after.options:
        was, earlier = _net(before, option.option), before.option(option.option)
        name = option_name(option.option)
        rows.append(
            [
                f"{name} ({ahead})" if option.option == after.verdict else name,
                say("none") if was is None else money(was),
                money(option.expected_net),
                "" if was is None else money(option.expected_net - was),
                say("none") if earlier is None else of_100(earlier.chance_best),
                of_100(option.chance_best),
            ]
        )
    headers = [
        say("Option"),
        say("Net before"),
        say("Net now"),
        say("Moved by"),
        say("Best in, before"),
        say("Best in, now"),
    ]
    caption = say("Money in {currency}. Net: what it comes to over the years, all counted.", currency=after.currency)
    st.html(marks.table(caption, headers, rows))


def _net(appraisal: Appraisal, option: str) -> float | None:
    found = appraisal.option(option)
    return found.expected_net if found else None


if __name__ == "__main__":
    page()
