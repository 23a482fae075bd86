"""What was promised against what came: all, by month, and by who made the evaluation."""

from __future__ import annotations

import streamlit as st

from valuation.language import later, say
from valuation.learn.scoreboard import DAY, HOURS, PRICE, Score, month_of, scores, who_of
from valuation.report.format import low_to_high, of_100
from valuation.screens import marks
from valuation.service.books import Books

_KINDS = {PRICE: later("Prices told"), HOURS: later("Hours told"), DAY: later("Days promised")}
_BY = {"all": later("All"), "month": later("Month of delivery"), "who": later("Who evaluated")}
_GROUP = {"all": lambda _: "", "month": month_of, "who": who_of}


def first_words(found: Books) -> list[str]:
    """Return the sorts of promises of which the cases tell that they hold more or less often than was said."""
    words = {
        PRICE: later("{count} of {of} prices told held; {said} were meant to."),
        HOURS: later("The hours told held for {count} of {of} jobs; {said} were meant to."),
        DAY: later("{count} of {of} promised days were kept; {said} were meant to be."),
    }
    return [
        say(words[one.kind], of=one.kept.of, count=one.kept.count, said=of_100(one.said))
        for one in scores(found.promises)
        if one.says
    ]


def promises(found: Books) -> None:
    """Draw how often each sort of promise held, with the interval that so few carry."""
    if not found.promises:
        st.markdown(say("No job of this time was delivered of which a price, hours or a day had been told."))
        return
    by = st.pills(
        say("By"), list(_BY), format_func=lambda one: say(_BY[one]), key="promises_by", default="all", required=True,
    ) or "all"  # fmt: skip
    told = scores(found.promises, _GROUP[by])
    rows = [
        [say(_KINDS[one.kind]), *([one.of or say("not written down")] if by != "all" else []), of_100(one.said),
         say("{count} of {of}", count=one.kept.count, of=one.kept.of), _limits(one)]
        for one in told
    ]  # fmt: skip
    headers = [say("What"), *([say(_BY[by])] if by != "all" else []), say("Said to hold"), say("Held"),
               say("That is, 9 in 10")]  # fmt: skip
    caption = say(
        "Prices and hours count where the client took the way that they were told for; what was added later doesn't."
    )
    st.html(marks.table(caption, headers, rows))


def _limits(one: Score) -> str:
    if not one.kept.is_told:
        return say("too few to tell")
    return low_to_high(f"{100 * one.kept.low:.0f}", of_100(one.kept.high))
