"""What happened, as tables and sentences: counts first, shares only where they tell something."""

from __future__ import annotations

import math

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.learn import Carry, Conversion, Reason, Share
from valuation.learn.carry import NOT_BETTER, SHOWN, TOO_BOLD, TOO_FEW
from valuation.learn.chance import Chance
from valuation.learn.funnel import SETTLE_DAYS
from valuation.report.format import low_to_high, money, number, of_100
from valuation.report.job_words import reason_words
from valuation.report.labels import option_name, with_capital
from valuation.screens import kit, marks
from valuation.service.outcomes import Happened, explained

_OPTIONS = ("rebuild", "partial_repair", "keep", "retire")
_MOST_OPEN = 25
_MOST_GROUPS = 6
BY = {
    "month": later("Month"),
    "source": later("Where they come from"),
    "verdict": later("Verdict"),
    "price": later("Price"),
    "technician": later("Technician"),
}


def share_words(share: Share) -> str:
    """Return a share as counts, with its interval where the cases tell enough."""
    if not share.of:
        return say("none yet")
    count = say("{count} of {all}", count=share.count, all=share.of)
    if not share.is_told:
        return say("{count}: too few to tell", count=count)
    low, high = round(100 * share.low), round(100 * share.high)
    return say("{count} ({low} to {high} of 100)", count=count, low=low, high=high)


def way(found: Happened, book: Tables) -> None:
    """Draw how far evaluations got."""
    names = {row.id: say(row.name) for row in book.stages}
    rows = [[with_capital(names[r.stage]), f"{r.reached}", share_words(r.of_before)] for r in found.way]
    caption = say(
        "Each stage, and how many got so far or further. The share is of those that were entered at the stage before."
    )
    headers = [say("Stage"), say("Reached"), say("Of those at the stage before")]
    st.html(marks.table(caption, headers, rows))


def conversions(found: Happened, by: str, currency: str) -> None:
    """Draw what became of the evaluations, group by group."""
    groups = found.by[by]
    if by == "month":
        groups = tuple(reversed(groups))
    headers = [say(BY[by]), say("Evaluations"), say("Yes"), say("No"), say("Open"), say("Became jobs in half a year")]
    rows = [
        [_group(one, by, found, currency), *(f"{n}" for n in (one.evaluations, one.yes, one.no, one.open)),
         share_words(one.settled)]
        for one in groups
    ]  # fmt: skip
    caption = say(
        "The share counts only evaluations at least {days} days old: younger ones have had no time to become jobs.",
        days=SETTLE_DAYS,
    )
    kit.long_table(f"more_{by}_groups", caption, headers, rows, most=_MOST_GROUPS)


def _group(one: Conversion, by: str, found: Happened, currency: str) -> str:
    if not one.group:
        return say("not known")
    if by == "verdict":
        return option_name(one.group) if one.group in _OPTIONS else one.group
    if by == "price":
        edges = [0.0, *found.price_edges, math.inf]
        low, high = edges[int(one.group) - 1], edges[int(one.group)]
        if low == 0:
            return say("under {price} {currency}", price=money(high), currency=currency)
        if high == math.inf:
            return say("from {price} {currency}", price=money(low), currency=currency)
        return f"{low_to_high(money(low), money(high))} {currency}"
    return one.group


def reasons_lost(found: Happened, book: Tables) -> None:
    """Draw why evaluations came to a no."""
    if not found.lost:
        st.markdown(say("Nobody has said no yet."))
        return
    rows = [[reason_words(reason, book) or say("nobody said why"), f"{count}"] for reason, count in found.lost]
    st.html(marks.table(say("Why it came to a no"), [say("Reason"), say("Evaluations")], rows))


def carry_words(carry: Carry) -> list[str]:
    """Return whether a chance for each evaluation can be told, and if not, why, and how many more it takes."""
    if carry.word == SHOWN:
        told = [
            say("Each of {count} evaluations was predicted from the others: what was said fits what came better than "
                "one chance for all.", count=carry.evaluations)
        ]  # fmt: skip
    elif carry.word == TOO_FEW:
        told = [
            say("It can't be told yet which evaluations become jobs: {count} are decided so far.", count=carry.decided)
        ]
    elif carry.word == NOT_BETTER:
        told = [say("What is known of an evaluation has not told more so far than one chance for all.")]
    else:
        assert carry.word == TOO_BOLD
        told = [say("What was said was bolder than what came; until that is better, all get one chance.")]
    if carry.word != SHOWN:
        told.append(say("The figures below are one chance for all, but for the time that each has waited."))
        if carry.more:
            told.append(say_many("About {count} more evaluation might do.", "About {count} more evaluations might do.",
                                 carry.more))  # fmt: skip
    if not math.isnan(carry.brier):
        told.append(
            say("Mean square error of the chance: {brier}; of one chance for all: {base}.",
                brier=f"{carry.brier:.3f}", base=f"{carry.brier_base:.3f}")
        )  # fmt: skip
    return told


def reliability(carry: Carry) -> None:
    """Draw what was said beside what came."""
    if not carry.groups:
        return
    rows = [[of_100(group.said), share_words(group.came)] for group in carry.groups]
    caption = say("Evaluations by the chance that was said they would be jobs by today, and what came of them.")
    st.html(marks.table(caption, [say("Said"), say("Came")], rows))


def open_ones(found: Happened, currency: str) -> None:
    """Draw the open evaluations, the likeliest first."""
    if not found.open:
        st.markdown(say("No evaluation is open."))
        return
    told = [(one, explained(found, one)) for one in found.open[:_MOST_OPEN]]
    rows = [
        [one.title, of_100(chance.share), low_to_high(f"{100 * chance.low:.0f}", of_100(chance.high)),
         "; ".join(_because(chance, reason, currency) for reason in chance.reasons[:2])]
        for one, chance in told
    ]  # fmt: skip
    caption = say_many("{count} open evaluation, the likeliest first", "{count} open evaluations, the likeliest first",
                       len(found.open))  # fmt: skip
    headers = [say("Evaluation"), say("Chance of a job"), say("9 in 10"), say("What weighs most")]
    st.html(marks.table(caption, headers, rows))


def _because(chance: Chance, reason: Reason, currency: str) -> str:
    up = chance.share > reason.chance_if_usual
    otherwise = of_100(reason.chance_if_usual)
    what = _attribute(reason, currency)
    if up:
        return say("{what} speaks for it (else {chance})", what=what, chance=otherwise)
    return say("{what} speaks against it (else {chance})", what=what, chance=otherwise)


def _attribute(reason: Reason, currency: str) -> str:
    match reason.attribute:
        case "waited":
            return say_many("{count} day of waiting", "{count} days of waiting", round(reason.value))
        case "price_over_value":
            return say(
                "a price of {share} times what it would be worth", share=number(round(math.exp(reason.value), 1))
            )
        case "price":
            return say("a price of {price} {currency}", price=money(math.exp(reason.value)), currency=currency)
        case "keeping_it_matters":
            return say("keeping it matters") if reason.value else say("keeping it was said not to matter")
        case "referred":
            return say("sent by someone they trust") if reason.value else say("not sent by anybody")
        case "grand":
            return say("a grand") if reason.value else say("an upright")
        case "verdict_for_work":
            return say("a verdict for work") if reason.value else say("a verdict against work")
    return reason.attribute
