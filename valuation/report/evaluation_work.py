"""Of the written evaluation: the work line by line, what was set by hand and chosen, and what may be found."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import Line
from valuation.engine.money import tax_of
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.client_words import way_name
from valuation.report.document import Block, Grid, Heading, Points, Words
from valuation.report.evaluation_ways import in_order
from valuation.report.format import cents, exact, number, years_range
from valuation.report.labels import with_capital
from valuation.report.occasion import Occasion
from valuation.report.quote import Quote, quote_of
from valuation.report.tax_words import tax_label
from valuation.report.their_version import STAYS, TheirVersion
from valuation.report.ways import WORK


def work(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the lines of each way that has work in it with what they add up to, and what may be found."""
    ways = tuple(way for way in WORK if way in occasion.prospects)
    tax = tax_of(tables, appraisal.on)
    return [
        *set_and_chosen(occasion, ways),
        _side_by_side(appraisal, tables),
        *([Words(text=say(tax.says))] if tax.says else []),
        *what_may_turn_up(occasion, ways),
    ]


def set_and_chosen(occasion: Occasion, ways: tuple[str, ...]) -> list[Block]:
    """Return what was set by hand with the reason given, and what the client has chosen with what it costs.

    Parameters
    ----------
    ways : tuple of str
        Ways whose prices are told.
    """
    told = occasion.told
    blocks = what_was_set(occasion)
    chosen = [question for question in told.questions if question.answer is not None]
    priced = [way for way in STAYS if way in ways]
    if chosen and priced:
        rows = [(q.name, q.answer.name, *(q.answer.costs[way] for way in priced)) for q in chosen if q.answer]
        rows.append((say("Price to sign, as chosen"), "", *(_price_as_chosen(way, occasion) for way in priced)))
        blocks.append(
            Grid(
                caption=say("What was chosen, and what it does to the price"),
                head=(say("Question"), say("Chosen"), *(way_name(way) for way in priced)),
                rows=tuple(rows),
                align="ll" + "l" * len(priced),
                widths=(1.2, 1.2, *(1.2 for _ in priced)),
                strong=(len(rows) - 1,),
            )
        )
    said = tuple(dict.fromkeys(text for way in priced for text in told.of_versions[way]))
    if said:
        blocks.append(Points(items=said))
    return blocks


def _price_as_chosen(way: str, occasion: Occasion) -> str:
    version = occasion.told.versions[way]
    return cents(version.quote.total) if isinstance(version, TheirVersion) else say("cannot be done so")


def what_was_set(occasion: Occasion) -> list[Block]:
    """Return what the workshop set by hand, with the reason given."""
    if not occasion.told.by_hand:
        return []
    told = say("Not left to the reckoning, but set by hand; all figures hold with it:")
    return [Words(text=told), Points(items=occasion.told.by_hand)]


def _side_by_side(appraisal: Appraisal, tables: Tables) -> Grid:
    """Return the lines of every way that has work in it, in one table: the same line is read across."""
    options = [option for option in in_order(appraisal) if option.lines]
    tax = tax_of(tables, appraisal.on)
    quotes = [quote_of(option, tax) for option in options]
    rows = [(line_words(line), *amounts) for line, amounts in _lines_of_all(quotes)]
    sums = [(say("Hours"), *(number(round(sum(fixed.line.hours for fixed in q.lines))) for q in quotes))]
    if tax.shown:
        sums += [
            (say("Before tax"), *(cents(q.before_tax) for q in quotes)),
            (tax_label(tax), *(cents(q.tax) for q in quotes)),
        ]
    sums += [
        (say("In all: what is fixed"), *(cents(q.total) for q in quotes)),
        (say("With all that may be found, at most"), *(cents(q.most) for q in quotes)),
        (say("Good years"), *(years_range(o.years) if round(o.years.high) else say("none") for o in options)),
    ]
    rows += sums
    return Grid(
        caption=say("The work line by line, in {currency}", currency=appraisal.currency),
        head=(say("Work"), *(way_name(option.option) for option in options)),
        rows=tuple(rows),
        align="l" + "r" * len(options),
        widths=(1, *(0.0 for _ in options)),
        strong=(len(rows) - 3,),
        held=len(sums),
        style="lines",
    )


def line_words(line: Line) -> str:
    """Return what is done in the workshop's words, and below it what that means."""
    return f"{with_capital(say(line.name))}\n{say(line.plain)}"


def _lines_of_all(quotes: list[Quote]) -> list[tuple[Line, list[str]]]:
    """Return each operation of any quote once, in the order of the work, with its amount in each quote."""
    lines: dict[str, Line] = {}
    # the longest quote gives the order; what only another has goes to where its own order puts it
    for quote in sorted(quotes, key=lambda quote: -len(quote.lines)):
        before = None
        for line in (fixed.line for fixed in quote.lines):
            if line.operation not in lines:
                lines = _after(lines, before, line)
            before = line.operation
    amounts = [{fixed.line.operation: exact(fixed.amount) for fixed in quote.lines} for quote in quotes]
    return [(line, [of_quote.get(operation, "–") for of_quote in amounts]) for operation, line in lines.items()]


def _after(lines: dict[str, Line], before: str | None, line: Line) -> dict[str, Line]:
    if before is None:
        return {line.operation: line, **lines}
    placed: dict[str, Line] = {}
    for operation, there in lines.items():
        placed[operation] = there
        if operation == before:
            placed[line.operation] = line
    return placed


def what_may_turn_up(occasion: Occasion, ways: tuple[str, ...]) -> list[Block]:
    """Return what may be found and weighs most, each named and priced beforehand.

    Parameters
    ----------
    ways : tuple of str
        Ways with work in them that are told.
    """
    rows = [
        (with_capital(surprise.name), surprise.seen, surprise.done, *(surprise.words[way] for way in ways))
        for surprise in occasion.told.surprises
        if any(surprise.words[way] != say("nothing more") for way in ways)
    ]
    if not ways or not rows:
        return []
    return [
        Heading(text=say("What may be found")),
        Words(
            text=say(
                "Some faults cannot be ruled out yet. Here are those that weigh most; a quotation has them all, each "
                "with its price. If one is found you are shown it, and nothing of it is begun without your word in "
                "writing."
            )
        ),
        Grid(
            caption=say("What may be found, and what it adds to the price"),
            head=(
                say("Part"),
                say("What would be seen"),
                say("What is then done"),
                *(way_name(way) for way in ways),
            ),
            rows=tuple(rows),
            align="lll" + "l" * len(ways),
            widths=(0.8, 1.5, 1.4, *(1.0 for _ in ways)),
        ),
    ]
