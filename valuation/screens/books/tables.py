"""The shop's books as tables and sentences: an interval beside each figure, silence where nothing is told."""

from __future__ import annotations

import streamlit as st

from valuation.engine.rows import Tables
from valuation.language import later, say, say_many
from valuation.learn import Accuracy
from valuation.learn.earned import Earned
from valuation.learn.ratios import LEAST_JOBS, Ratio
from valuation.learn.shares import Share
from valuation.report.format import exact, low_to_high, number, of_100
from valuation.report.job_words import CAUSES
from valuation.report.labels import short_day, with_capital
from valuation.screens import kit, marks
from valuation.screens.happened.tables import share_words
from valuation.screens.safe import bullets, md
from valuation.service.books import Books

BY = {"operation": later("Operation"), "person": later("Person"), "source": later("Where they come from")}
_MOST, _OVER = 4, 3


def operation_names(book: Tables) -> dict[str, str]:
    """Return what operations are called."""
    return {row.id: with_capital(say(row.name)) for row in book.operations}


def per_hour(ratio: Ratio) -> str:
    """Return money an hour with its interval; words where there is none or too few jobs."""
    if ratio.value is None:
        return "–"
    if ratio.low is None or ratio.high is None:
        return say("{value} (too few jobs for limits)", value=exact(ratio.value))
    band = low_to_high(exact(ratio.low), exact(ratio.high))
    return say("{value} ({band})", value=exact(ratio.value), band=band)


def times(ratio: Ratio) -> str:
    """Return a ratio near 1 with its interval."""
    if ratio.low is None or ratio.high is None or ratio.value is None:
        return say("too few to tell")
    band = low_to_high(_two(ratio.low), _two(ratio.high))
    return say("{value} ({band})", value=_two(ratio.value), band=band)


def _two(value: float | None) -> str:
    return number(round(value or 0.0, 2))


def first_words(found: Books, book: Tables, currency: str) -> list[str]:
    """Return what an hour earned, on what the shop loses, and which jobs in hand run over, in a few sentences."""
    whole = found.earned.whole
    if not found.earned.jobs:
        return [
            say("No job that went home in this time has a price and hours, so nothing can be told."), *_over(found)
        ]  # fmt: skip
    said = [
        say_many("{count} job went home, with {hours} hours.", "{count} jobs went home, with {hours} hours.",
                 len(found.earned.jobs), hours=exact(whole.hours)),
        say("Earned an hour, in {currency} before tax: {money}; the lines were priced at {rate}.",
            money=per_hour(whole.per_hour), currency=currency, rate=exact(whole.rate)),
    ]  # fmt: skip
    if found.earned.margin is None:
        said.append(say("Say on the page 'Bench' what an hour of each person costs the shop, and the margin is told."))
    else:
        said.append(say("Margin: {margin} of 100 of the price are left when hours and materials are paid.",
                        margin=f"{100 * found.earned.margin:.0f}"))  # fmt: skip
    names = operation_names(book)
    losing = [one for one in found.earned.by["operation"] if one.says and one.lost > 0]
    said += [
        say("Most lost: {what}, {money} {currency} in {jobs} jobs.", what=names.get(one.of, one.of),
            money=exact(one.lost), currency=currency, jobs=one.jobs)
        for one in losing[:3]
    ]  # fmt: skip
    if not losing:
        said.append(
            say("Nothing can be told yet on which operation the shop loses: fewer than {least} jobs, or within luck.",
                least=LEAST_JOBS)
        )  # fmt: skip
    if without := len(found.earned.without):
        said.append(say_many("{count} job lacks its price or its hours and is left out.",
                             "{count} jobs lack their price or their hours and are left out.", without))  # fmt: skip
    return said + _over(found)


def _over(found: Books) -> list[str]:
    """Return which jobs in hand will take more than they were priced at, the farthest over first."""
    over = sorted((one for one in found.in_hand if one.over > 0), key=lambda one: -one.over)
    if not over:
        return []
    each = [
        say("{job} ({hours} h instead of {priced})", job=one.title, hours=exact(one.at_completion),
            priced=exact(one.priced))
        for one in over[:_OVER]
    ]  # fmt: skip
    more = [say("{count} more", count=len(over) - _OVER)] if over[_OVER:] else []
    return [say("Runs over: {jobs}.", jobs="; ".join([*each, *more]))]


def earned(found: Books, by: str, book: Tables, currency: str) -> None:
    """Draw what each operation, person or source earned an hour, the most lost first."""
    groups = found.earned.by[by]
    if not groups:
        return
    names = operation_names(book) if by == "operation" else {}
    rows = [
        [names.get(one.of, one.of) or say("not known"), f"{one.jobs}", number(round(one.hours, 1)),
         per_hour(one.per_hour), exact(one.rate), _lost(one)]
        for one in groups
    ]  # fmt: skip
    headers = [say(BY[by]), say("Jobs"), say("Hours"), say("Earned an hour"), say("Priced at"), say("Lost")]
    caption = say(
        "In {currency}, before tax; limits hold in 9 of 10. Lost: what the hours would have brought at the rate of "
        "the lines, less what they earned; '–' where the jobs don't tell.", currency=currency,
    )  # fmt: skip
    kit.long_table(f"more_{by}", caption, headers, rows, most=_MOST)


def _lost(one: Earned) -> str:
    return exact(one.lost) if one.says else "–"


def priced(found: Books) -> None:
    """Draw prices and materials against what was quoted."""
    rows = [
        [say("Agreed on, over quoted"), f"{found.agreed_of_quoted.jobs}", times(found.agreed_of_quoted)],
        [say("Paid in the end, over agreed on"), f"{found.final_of_agreed.jobs}", times(found.final_of_agreed)],
        [say("Materials, over what was priced"), f"{found.materials_of_priced.jobs}", times(found.materials_of_priced)],
    ]
    headers = [say("What"), say("Jobs"), say("Ratio, 9 in 10")]
    st.html(marks.table(say("Prices: 0.95 means a twentieth less"), headers, rows))


def estimates(found: Books, book: Tables) -> None:
    """Draw hours against those expected: whole jobs, components, operations; the farthest off first."""
    compared = found.estimates
    if not compared.whole.jobs:
        st.markdown(say("No job of this time has both an estimate and hours."))
        return
    st.markdown(
        say("A bias of 1.2 means a fifth more hours than were priced; the spread says how unevenly. Figures are given "
            "from {least} jobs on.", least=LEAST_JOBS)
    )  # fmt: skip
    components = {row.id: with_capital(say(row.name)) for row in book.components}
    names = operation_names(book)
    _accuracies("whole", say("Whole jobs"), [(say("All jobs"), compared.whole)])
    _accuracies(
        "by_component", say("By component"), [(components[one.of], one) for one in _farthest(compared.components)]
    )
    _accuracies("by_operation", say("By operation"), [(names[one.of], one) for one in _farthest(compared.operations)])


def _farthest(found: tuple[Accuracy, ...]) -> list[Accuracy]:
    return sorted(found, key=lambda one: (not one.is_told, one.estimated - one.done))


def _accuracies(key: str, caption: str, named: list[tuple[str, Accuracy]]) -> None:
    if not named:
        return
    headers = [say("What"), say("Jobs"), say("Expected, h"), say("Done, h"), say("Bias"), say("Spread"),
               say("Within the estimate")]  # fmt: skip
    rows = [
        [name, f"{one.jobs}", exact(one.estimated), exact(one.done), _bias(one),
         say("too few to tell") if one.spread is None else _two(one.spread),
         share_words(one.within) if one.within else "–"]
        for name, one in named
    ]  # fmt: skip
    kit.long_table(f"more_{key}", caption, headers, rows, most=_MOST)


def _bias(one: Accuracy) -> str:
    if one.bias is None:
        return say("too few to tell")
    return say("{bias} ({low} to {high})", bias=_two(one.bias), low=_two(one.bias_low), high=_two(one.bias_high))


def said_and_found(found: Books, book: Tables) -> None:
    """Draw how likely if-found lines were told to be, and how often the open piano needed them."""
    if not found.said:
        st.markdown(say("No if-found line of these jobs is answered yet."))
        return
    names = operation_names(book)
    told = [one for one in found.said if not one.operation or one.says]
    rows = [
        [names.get(one.operation, one.operation) or say("All if-found lines"), of_100(one.said), _needed(one.needed)]
        for one in told
    ]  # fmt: skip
    caption = say("All lines, and the work of which the jobs tell that it was said wrongly")
    st.html(marks.table(caption, [say("Work"), say("Said, on the average"), say("Needed")], rows))


def _needed(share: Share) -> str:
    return share_words(share)


def visits(found: Books, currency: str) -> None:
    """Draw what the evaluation visits took, and what came of them."""
    seen = found.visited
    if not seen.visits:
        st.markdown(say("No visit was made in this time."))
        return
    hours = seen.minutes / 60
    said = [
        say_many("{count} visit, {agreed} became a job.", "{count} visits, {agreed} became a job.", len(seen.visits),
                 agreed=seen.agreed),
        say("Time at the piano, known of {timed}: {hours} hours. Charged for {charged}: {fees} {currency}, with tax.",
            timed=seen.timed, hours=number(round(hours, 1)), charged=seen.charged, fees=exact(seen.fees),
            currency=currency),
        say("Finished jobs that came of them have earned {money} {currency}, before tax.",
            money=exact(found.from_visits), currency=currency),
    ]  # fmt: skip
    if hours:
        each = exact((seen.fees + found.from_visits) / hours)
        said.append(say("For each hour of looking: {money} {currency}.", money=each, currency=currency))
    st.markdown(bullets(map(md, said)))


def year_after(found: Books, currency: str) -> None:
    """Draw what came back within a year."""
    after = found.year_after
    if not after.back.of:
        st.markdown(say("No job has been at home for a year yet."))
        return
    said = [
        say("Came back within a year: {share}.", share=share_words(after.back)),
        say("That took {hours} hours and cost {cost} {currency}.", hours=number(round(after.hours, 1)),
            cost=exact(after.cost), currency=currency),
    ]  # fmt: skip
    said += [say("{cause}: {count}", cause=with_capital(say(CAUSES[cause])), count=n) for cause, n in after.causes]
    st.markdown(bullets(map(md, said)))


def in_hand(found: Books) -> None:
    """Draw the jobs in hand with what they will have taken."""
    if not found.in_hand:
        st.markdown(say("No job is in hand."))
        return
    rows = [
        [one.title, exact(one.priced), number(round(one.done, 1)), exact(one.left), exact(one.at_completion),
         short_day(one.promised) if one.promised else "–"]
        for one in found.in_hand
    ]  # fmt: skip
    headers = [say("Job"), say("Priced, h"), say("Done, h"), say("Still to do, h"), say("In all, h"), say("Promised")]
    caption = say("What is still to do goes on from the hours booked on each operation")
    kit.long_table("more_in_hand", caption, headers, rows, most=_MOST)
