"""Step 6, where you stand: a way as the client wants it, its one price, what may come on top, and whom else to ask."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.language import say
from valuation.report.client_words import of_100, way_name
from valuation.report.format import cents, exact
from valuation.report.quote import IfFound, Quote
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.side_by_side import pay_cell
from valuation.report.talk.turns_up import seen_words_of
from valuation.report.tax_words import tax_label
from valuation.report.ways import jobs_of, why_not_open

_AT_ONCE = 2
"""So many if-found lines are told at once, the dearest to expect first; all others one tap later."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One if-found line: its price, in how many of a hundred it is called for, what is seen then."""

    price: str
    chance: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """A way as the client wants it.

    Attributes
    ----------
    price : str
        What is fixed, with tax; where the piano goes, what is paid or got.
    tax : str
        How much of it is tax; empty where nothing is.
    most : str
        The most that it can come to; empty where that is the same.
    finds, further : tuple of Line
        What is done only where it is found: told at once, and one tap later.
    jobs : tuple of str
        All that is in the price.
    said : tuple of str
        What is to be said because of what they want.
    """

    way: str
    name: str
    price: str
    tax: str
    most: str
    finds: tuple[Line, ...]
    further: tuple[Line, ...]
    jobs: tuple[str, ...]
    said: tuple[str, ...]


def version_of(way: str, wanted: AsWanted) -> Version:
    """Return a way as the client wants it; one that there is not so says why, and has no price."""
    case, quote = wanted.case, wanted.quote(way)
    if way not in case.prospects:
        said = wanted.said.get(way, ()) or (why_not_open(way, case),)
        return Version(
            way=way, name=way_name(way), price="", tax="", most="", finds=(), further=(), jobs=(), said=said
        )  # fmt: skip
    if quote is None:
        return Version(
            way=way, name=way_name(way), price=" ".join(pay_cell(way, wanted)), tax="", most="", finds=(), further=(),
            jobs=jobs_of(way, case), said=(),
        )  # fmt: skip
    lines = tuple(_line(line, wanted) for line in sorted(quote.if_found, key=lambda line: -line.allowance.expected))
    return Version(
        way=way,
        name=way_name(way),
        price=f"{cents(quote.total)} {case.currency}",
        tax=_tax(quote),
        most=_most(quote, case.currency),
        finds=lines[:_AT_ONCE],
        further=lines[_AT_ONCE:],
        jobs=jobs_of(way, case),
        said=wanted.said[way],
    )


def _tax(quote: Quote) -> str:
    if not quote.tax:
        return say(quote.taxed.says) if quote.taxed.says else say("No tax is added.")
    return say("Of this {tax} is tax ({rate}).", tax=cents(quote.tax), rate=tax_label(quote.taxed))


def _most(quote: Quote, currency: str) -> str:
    if quote.most == quote.total:
        return ""
    return say("If all of it turned up: {most} at most.", most=f"{cents(quote.most)} {currency}")


def _line(line: IfFound, wanted: AsWanted) -> Line:
    return Line(
        price=say("{amount} more", amount=f"{exact(line.price)} {wanted.case.currency}"),
        chance=say("in {count} of {all}", count=of_100(line.allowance.chance), all=100),
        seen=seen_words_of(line.allowance, wanted.case),
    )


def to_ask() -> tuple[str, ...]:
    """Return questions to take home: for the workshop, for others, and for the family."""
    return (
        say("What if we wait a year?"),
        say("Which of the old parts could stay?"),
        say("Who does the work, and may we come and see?"),
        say("What does it cost each year afterwards, with tuning?"),
        say("Who of us wants to play it, and who wants to have it?"),
        say("What would another workshop say?"),
    )
