"""What stands on the sheet of their own piano: how it is, the ways as one picture, their version. Pure.

The page at the table tells the same, from the same functions.
"""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.prospects import LET_GO
from valuation.facts.words import WAYS
from valuation.language import say
from valuation.report.client_words import good_years, paid_or_got, pay_words, way_name
from valuation.report.document import WayBar
from valuation.report.format import cents, exact
from valuation.report.own_choices import questions
from valuation.report.talk.as_wanted import AsWanted
from valuation.report.talk.how_it_is import HowItIs, how_it_is
from valuation.report.ways import worth_range

MOST_WORDS = 10
"""So many words are explained at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """What stands on the sheet.

    Attributes
    ----------
    how : HowItIs
        The drawing with its states, and what was found, numbered.
    ways : tuple of WayBar
        Every way that is open, in the order in which all are told.
    closed : tuple of str
        Ways that are not open, by name.
    version : tuple of str
        Their version in sentences; empty where they don't lean to anything.
    words : tuple of (str, str)
        Words that are used, and what each means.
    """

    how: HowItIs
    ways: tuple[WayBar, ...]
    closed: tuple[str, ...]
    version: tuple[str, ...]
    words: tuple[tuple[str, str], ...]


def leaf_of(wanted: AsWanted) -> Leaf:
    """Return what stands on the sheet of a piano."""
    case = wanted.case
    how = how_it_is(case)
    used = {item.part for item in how.seen}
    names = {case.part_name(part) for part in used}
    there = [way for way in WAYS if way in case.prospects]
    return Leaf(
        how=how,
        ways=tuple(_bar(way, wanted) for way in there),
        closed=tuple(way_name(way) for way in WAYS if way not in there),
        version=_version(wanted),
        words=tuple(word for word in how.glossary if word[0] in names)[:MOST_WORDS],
    )


def _bar(way: str, wanted: AsWanted) -> WayBar:
    case, quote = wanted.case, wanted.quote(way)
    prospect = case.prospects[way]
    if quote is not None:
        low, high = float(quote.total), float(quote.most)
        pays = say("{total}; at most {most}", total=exact(low), most=exact(high)) if high > low else exact(low)
    else:
        low, high = max(prospect.price.low, 0.0), max(prospect.price.high, 0.0)
        pays = paid_or_got(prospect.price)
    worth = prospect.value_after
    return WayBar(
        name=way_name(way),
        pays=pays,
        pays_from=low,
        pays_to=high,
        worth=worth_range(way, case),
        worth_from=0.0 if way == LET_GO else worth.low,
        worth_to=0.0 if way == LET_GO else worth.high,
        years=say("no piano") if way == LET_GO else good_years(prospect.years),
        years_from=prospect.years.low,
        years_to=prospect.years.high,
    )


def _version(wanted: AsWanted) -> tuple[str, ...]:
    """Return the way to which they lean, with its one price, and what their wishes do to it."""
    case = wanted.case
    way = case.wishes.leaning
    if not way:
        return ()
    said = [say("Today you lean to: {way}.", way=way_name(way))]
    quote = wanted.quote(way)
    if quote is not None:
        currency = case.currency
        said.append(say("The price to sign is {total}.", total=f"{cents(quote.total)} {currency}"))
        if quote.if_found:
            said.append(
                say(
                    "{count} things may be found on top, each with its price and your yes or no. All of them together "
                    "would bring it to {most}.",
                    count=len(quote.if_found), most=f"{cents(quote.most)} {currency}",
                )
            )  # fmt: skip
        said += [f"{question.name}: {question.answer.name}." for question in questions(case) if question.answer]
    elif way in case.prospects:
        said.append(pay_words(case.prospects[way].price, case.currency))
    return (*said, *wanted.said.get(way, ()))
