"""Work and price: the plan with its levels, to be set by hand; the fixed lines; what is done only if it is found."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.money import tax_of
from valuation.language import say
from valuation.report.format import cents, money_range
from valuation.report.labels import option_name
from valuation.report.quote import quote_of
from valuation.report.tax_words import with_tax
from valuation.report.words import verdict_sentence
from valuation.screens import frame, kit, page_list
from valuation.screens.not_yet import evaluated
from valuation.screens.safe import md
from valuation.screens.state import Draft, fill, held
from valuation.screens.work import lines as work_lines
from valuation.screens.work import plan as work_plan

_HERE = f"{page_list.FOLDER}/work.py"


def page() -> None:
    """Draw the page."""
    draft, book = frame.begin(_HERE)
    st.title(say("Work and price"), anchor=False)
    found = evaluated(draft, book)
    option = _chosen(draft, found)
    quote = quote_of(option, tax_of(book, found.on))
    st.markdown(
        say(
            "Fixed price **{price}**; what is found may bring it to {most}. 8 of 10 such jobs end between {band}. "
            "Verdict: {verdict}",
            price=with_tax(f"{cents(quote.total)} {found.currency}", quote.taxed), most=cents(quote.most),
            band=money_range(option.price), verdict=md(verdict_sentence(found)),
        )
    )  # fmt: skip
    parts = {"plan": say("The plan"), "lines": say("Line by line"), "found": say("Done only if it is found")}
    part = kit.view(draft.key("work_part"), say("Show"), parts, "plan")
    if part == "lines":
        work_lines.lines(draft, quote, found, book)
        work_lines.sums(quote, found)
    elif part == "found":
        work_lines.if_found(draft, quote, found, book)
    else:
        work_plan.plan(draft, option, found, book)
    frame.end(book)


def _chosen(draft: Draft, found: Appraisal) -> OptionResult:
    """Let one option be chosen; to begin with the verdict's, or the best that has any work in it."""
    priced = {o.option: o for o in found.options if o.lines or o.treatments}
    worked = [o for o in priced.values() if o.treatments]
    first = (
        found.verdict
        if found.verdict in priced
        else max(worked or priced.values(), key=lambda o: o.expected_net).option
    )
    key = draft.key("work_option")
    if held(key) not in priced:
        fill(key, first)
    chosen = st.pills(say("Which option"), list(priced), format_func=option_name, key=key, required=True,
                      label_visibility="collapsed")  # fmt: skip
    return priced[chosen or first]


if __name__ == "__main__":
    page()
