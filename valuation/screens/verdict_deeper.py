"""All that a verdict rests on, one tap deeper: each box is made when it is opened."""

from __future__ import annotations

from collections.abc import Callable

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import CautionResult
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.language import later, say
from valuation.report.format import money, money_range, of_100, years_range
from valuation.report.labels import in_sentence, option_meaning, option_name
from valuation.report.words import assumed_sentence, flip_sentence
from valuation.screens import (
    charts,
    frame,
    hand_changes_shown,
    kit,
    lead_shown,
    marks,
    page_list,
    reasons_shown,
    scopes_shown,
)  # fmt: skip
from valuation.screens.looks import in_these_looks
from valuation.screens.safe import bullets, md
from valuation.screens.state import Draft
from valuation.service import one_page, to_json, write_visit_text


def more(found: Appraisal, draft: Draft, book: Tables) -> None:
    """Let one thing be asked for, and draw that alone; tapped again, it goes."""
    what: dict[str, tuple[str, Callable[[], None]]] = {
        "reasons": (later("Reasons"), lambda: reasons_shown.reasons(found, draft, book)),
        "change": (later("What would change it"), lambda: _change(found, draft, book)),
        "ways": (later("Figures"), lambda: _ways(found, book)),
        "components": (later("How the piano is"), lambda: scopes_shown.components(found)),
        "limits": (later("Cautions and files"), lambda: _limits(found, draft, book)),
    }
    names = {name: say(title) for name, (title, _) in what.items()}
    with st.container(key="more"):
        asked = kit.peek(draft.key("more"), say("More on this verdict"), names, bare=True)
    if asked:
        with st.container(key=f"more_{asked}"):
            what[asked][1]()


def _change(found: Appraisal, draft: Draft, book: Tables) -> None:
    _flips(found)
    study = frame.studied(draft, book)
    lead_shown.what_moves_the_lead(study, found)
    lead_shown.what_money_can_bring(study, found, book)
    if st.button(say("Turn a figure"), key="to_what_if"):
        frame.go(page_list.WHAT_IF)


def take_visit(draft: Draft, book: Tables) -> None:
    """Draw the button that hands out the visit file."""
    st.download_button(
        say("Visit file"), lambda: write_visit_text(draft.visit, book), f"{draft.name}.toml", "application/toml",
        key="take_visit", on_click="ignore",
    )  # fmt: skip


def _ways(found: Appraisal, book: Tables) -> None:
    headers = [
        say("Option"),
        say("Price"),
        say("Worth then"),
        say("Good years"),
        say("A year costs"),
        say("Net"),
        say("Best in"),
    ]
    st.html(marks.table(_caption(found), headers, [_option_row(o, found) for o in found.options]))
    st.markdown(bullets(f"**{option_name(o.option)}**: {md(option_meaning(o))}" for o in found.options))
    st.markdown(
        say("Line: 8 of 10 lie on it. Dot: what is expected on average. The thick line is the option that is ahead.")
    )
    for number, (title, bars) in enumerate(charts.option_bars(found).items()):
        figure, said = charts.chart(title, bars, found.currency)
        st.plotly_chart(
            in_these_looks(figure), theme=None, key=f"options_chart_{number}", alt=said, config={"staticPlot": True}
        )  # fmt: skip
    scopes_shown.scopes(found, tax_of(book, found.on))


def _caption(found: Appraisal) -> str:
    text = say(
        "Money in {currency}, tax included; low and high: 8 of 10 lie between. "
        "Net: what it comes to over {years} years, all counted.",
        currency=found.currency,
        years=f"{found.horizon:.0f}",
    )
    over = [in_sentence(option_name(o.option)) for o in found.options if not o.affordable]
    if not over or found.budget is None:
        return text
    beyond = say("Beyond the budget of {amount}: {options}.", amount=money(found.budget), options=", ".join(over))
    return f"{text} {beyond}"


def _option_row(option: OptionResult, found: Appraisal) -> list[str]:
    has_years = option.years.high > 0
    name = option_name(option.option)
    if option.exchange:
        name = say("{option}, another piano instead", option=name)
    ahead = say("just ahead") if found.clarity == "close" else say("the verdict")
    return [
        f"{name} ({ahead})" if option.option == found.verdict else name,
        money_range(option.price),
        money(option.expected_value) if option.value_after.high else say("nothing left"),
        years_range(option.years) if has_years else say("none"),
        money(option.cost_per_year.likely) if has_years else say("not played"),
        money(option.expected_net),
        of_100(option.chance_best),
    ]


def _flips(found: Appraisal) -> None:
    turning = [f for f in found.flips if f.below is not None or f.above is not None]
    parts = sorted((f for f in found.flips if f.state), key=lambda f: -f.chance)[:3]
    st.markdown(bullets(md(flip_sentence(flip, found)) for flip in [*turning, *parts]))
    if not turning and not parts:
        st.markdown(say("Nothing within reach turns this verdict."))


def _limits(found: Appraisal, draft: Draft, book: Tables) -> None:
    unseen = [say(part.name) for part in found.parts if not part.looked_at]
    names = {row.id: say(row.name) for row in book.checks}
    if unseen:
        st.markdown(
            say(
                "**Nobody has looked at**: {parts}. That counts as not known, never as good.",
                parts=md(", ".join(unseen)),
            )
        )
    if found.cannot_see:
        cannot = md("; ".join(in_sentence(names[c]) for c in found.cannot_see))
        st.markdown(say("**Could not be seen**: {checks}", checks=cannot))
    if found.assumed:
        st.markdown(md(assumed_sentence(found)))
    always = {row.id for row in book.cautions if row.always}
    told = [c for c in found.cautions if c.caution not in always]
    of_piano = [c for c in told if not c.operation]
    if of_piano:
        st.markdown(bullets(map(_caution, of_piano)))
    of_work = [c for c in told if c.operation]
    if of_work:
        st.subheader(say("When work is done on it"), anchor=False)
        st.markdown(bullets(map(_caution, of_work)))
    with st.container(key="take_along"):
        _take_along(found, draft, book)


def _caution(caution: CautionResult) -> str:
    text = md(say(caution.text))
    return say("**Take care.** {caution}", caution=text) if caution.rank == "warn" else text


def _take_along(found: Appraisal, draft: Draft, book: Tables) -> None:
    if st.button(say("Papers for the client"), key="to_papers"):
        frame.go(page_list.PAPERS)
    stem = draft.name
    # files are handed over when asked for: one made beforehand is gone when the next tap draws the page anew
    text = one_page(
        found, draft.visit, book, frame.prices_from(draft, book), hand_changes_shown.sentences(draft, found)
    )
    with st.container(horizontal=True):
        st.download_button(
            say("One page, as text"),
            lambda: text,
            f"{stem}.txt",
            "text/plain",
            key="take_page",
            on_click="ignore",
        )
        take_visit(draft, book)
        st.download_button(
            say("Everything, as JSON"),
            lambda: to_json(found),
            f"{stem}.json",
            "application/json",
            key="take_json",
            on_click="ignore",
        )
