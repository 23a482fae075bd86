"""Of the written evaluation: what a report on a value is expected to state beside the value itself. Pure.

The yardstick is published: the contents of a written report on personal property, USPAP 2024, Standards Rule 8-2(a);
`tests/unit/report/test_standards.py` points each item at its sentence.
"""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.client_words import way_name
from valuation.report.document import Block, Grid, Heading, Points, Words
from valuation.report.occasion import Occasion


def what_is_valued(visit: Visit, occasion: Occasion) -> list[str]:
    """Return whose interest is valued, who took part, what they have learned, and what they did on it before."""
    shop = occasion.shop
    by = visit.technician or shop.name or say("the workshop")
    said = [
        say(
            "What is valued is the whole of the piano, owned outright: free of debts and of claims by others. Who owns "
            "it was taken as told."
        ),
        say("It was looked at by {name}. Nobody else is noted as having taken part.", name=by),
        say("A program worked out the figures from the shop's tables and from what was found."),
    ]
    if shop.qualification:
        said.append(say("What {name} has learned: {words}.", name=by, words=shop.qualification.rstrip(".")))
    said.append(
        say(
            "Work by this workshop on this piano before the visit: {words}",
            words=" ".join(occasion.prior) or say("its books were not searched for this paper; ask the workshop."),
        )
    )
    return said


def how_weighed(appraisal: Appraisal) -> list[Block]:
    """Return how the ways to a value were weighed, how long the piano would be offered, and what is assumed."""
    if appraisal.price_basis == "band table":
        weighed = say(
            "Only one way to a value was open: comparing with what such pianos fetch by the shop's table of prices. "
            "There are too few own sales to check it by."
        )
    else:
        weighed = say(
            "Two sources were weighed: the shop's table of prices, and its own sales, which count the more the more of "
            "them there are."
        )
    return [
        Heading(text=say("How the values came about")),
        Points(
            items=(
                weighed,
                say(
                    "What it cost, or would cost to build again, was left aside: old pianos sell far below it. What it "
                    "could earn was left aside too: such pianos are not let."
                ),
                say(
                    "The value as it stands takes for granted that it is offered where such pianos are sold, for three "
                    "to twelve months. That is from memory."
                ),
                say(
                    "Each value after work stands on a hypothetical condition: that the work is done as told here. On "
                    "the day of this paper it is not."
                ),
                say(
                    "One assumption weighs more than others: that parts which nobody looked at are as such parts are. "
                    "If they are not, values and prices move."
                ),
            )
        ),
    ]


def to_tell_a_buyer(options: list[OptionResult], tables: Tables, kind: str) -> list[Block]:
    """Return what a buyer has to be told of the work once it is done, way by way."""
    rows = [(way_name(option.option), "\n".join(told)) for option in options if (told := told_of(option, tables, kind))]
    if not rows:
        return []
    return [
        Words(text=say("Whoever sells the piano after the work has to tell the buyer what was done to it:")),
        Grid(
            caption=say("What a buyer has to be told"),
            head=(say("Way"), say("To be told")),
            rows=tuple(rows),
            align="ll",
            widths=(0.5, 1),
        ),
    ]


def told_of(option: OptionResult, tables: Tables, kind: str) -> tuple[str, ...]:
    """Return what a buyer has to be told of the fixed work of an option, a sentence each."""
    operations = tables.of_kind("operations", kind)
    return tuple(dict.fromkeys(say(told) for line in option.lines if (told := operations[line.operation].told)))
