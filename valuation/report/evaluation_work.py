"""Of the written evaluation: the work line by line, what may turn up, and what more could be done."""

from __future__ import annotations

from valuation.core.appraisal import Appraisal, Line
from valuation.core.rows import Tables
from valuation.language import say
from valuation.report.document import Block, Grid, Heading, Points, Words
from valuation.report.evaluation_ways import in_order, name_of, quote_of
from valuation.report.format import exact, money, number, of_100, percent, years_range
from valuation.report.labels import in_sentence, with_capital
from valuation.report.occasion import Occasion
from valuation.report.shown_quote import Shown
from valuation.report.words import option_word


def work(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the lines of each way that has work in it with what they add up to, and what may turn up or be added."""
    return [
        *set_and_chosen(appraisal, occasion),
        _side_by_side(appraisal, tables),
        *_teardown(appraisal),
        *_further(appraisal, occasion),
    ]


def set_and_chosen(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return what was set by hand with the reason given, and what the client has chosen."""
    blocks: list[Block] = []
    if occasion.set_by_hand:
        names = {part.part: say(part.name) for part in appraisal.parts}
        said = [
            say(
                "{part}: set to '{level}' by hand. Reason given: {reason}",
                part=with_capital(names.get(hand.part, hand.part)),
                level=say(hand.level),
                reason=hand.reason or say("none"),
            )
            for hand in occasion.set_by_hand
        ]
        blocks += [
            Words(text=say("Not left to the reckoning, but set by the evaluator; all figures hold with it:")),
            Points(items=tuple(said)),
        ]
    if occasion.choices:
        told = tuple(say("{question}: {answer}", question=q, answer=a) for q, a in occasion.choices)
        blocks += [Words(text=say("Chosen by the client:")), Points(items=told)]
    return blocks


def _side_by_side(appraisal: Appraisal, tables: Tables) -> Grid:
    """Return the lines of every way that has work in it, in one table: the same line is read across."""
    options = [option for option in in_order(appraisal) if option.lines]
    quotes = [quote_of(option, appraisal, tables) for option in options]
    rows = [(f"{with_capital(say(line.name))}\n{say(line.plain)}", *amounts) for line, amounts in _lines_of_all(quotes)]
    if any(quote.allowances for quote in quotes):
        rows.append(
            (say("Held for what may turn up: the chance times the price"), *(exact(q.allowances) for q in quotes))
        )
    rows += [
        (say("Hours"), *(number(round(sum(line.hours for line in o.lines))) for o in options)),
        (say("Before tax"), *(exact(q.before_tax) for q in quotes)),
        (say("Tax, {percent}", percent=percent(tables.settings.tax)), *(exact(q.tax) for q in quotes)),
        (say("In all"), *(exact(q.total) for q in quotes)),
        (say("Years of good service"), *(years_range(o.years) if o.years.high else say("none") for o in options)),
    ]
    return Grid(
        caption=say("The work line by line, in {currency}", currency=appraisal.currency),
        head=(say("Work"), *(name_of(option) for option in options)),
        rows=tuple(rows),
        align="l" + "r" * len(options),
        widths=(1, *(0.0 for _ in options)),
        strong=(len(rows) - 2,),
        style="lines",
    )


def _lines_of_all(quotes: list[Shown]) -> list[tuple[Line, list[str]]]:
    """Return each operation of any quote once, in the order of the work, with its amount in each quote."""
    lines: dict[str, Line] = {}
    # the longest quote gives the order; what only another has goes to where its own order puts it
    for quote in sorted(quotes, key=lambda quote: -len(quote.lines_of)):
        before = None
        for line in quote.lines_of:
            if line.operation not in lines:
                lines = _after(lines, before, line)
            before = line.operation
    amounts = [{line.operation: exact(a[3]) for line, a in zip(q.lines_of, q.amounts, strict=True)} for q in quotes]
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


def _teardown(appraisal: Appraisal) -> list[Block]:
    grid = teardown_grid(appraisal, [o.option for o in in_order(appraisal)])
    if not grid:
        return []
    return [
        Heading(text=say("What may turn up once it is open")),
        Words(
            text=say(
                "Some faults show only when the piano is apart. They are named here with their price beforehand, and "
                "nothing of it is begun without your word in writing."
            )
        ),
        grid,
    ]


def teardown_grid(appraisal: Appraisal, options: list[str]) -> Grid | None:
    """Return what teardown may demand in some options, each named and priced; None where there is nothing."""
    names = {part.part: with_capital(say(part.name)) for part in appraisal.parts}
    rows = tuple(
        (names[a.part], in_sentence(say(a.name)), option_word(a.option), of_100(a.chance), money(a.if_needed))
        for a in sorted(
            appraisal.allowances, key=lambda a: (options.index(a.option) if a.option in options else 9, -a.expected)
        )
        if a.option in options and a.chance >= 0.005
    )
    if not rows:
        return None
    return Grid(
        caption=say("What teardown may demand, in {currency} with tax", currency=appraisal.currency),
        head=(say("If worse than it looks"), say("then"), say("planned as"), say("Chance"), say("Adds")),
        rows=rows,
        align="lllrr",
        widths=(1.3, 2, 1, 0, 0),
    )


def _further(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return what more could be done while the piano is open, named and priced beforehand."""
    names = {part.part: with_capital(say(part.name)) for part in appraisal.parts}
    rows = tuple(
        (names[more.part], in_sentence(say(more.name)), option_word(option), money(more.adds), money(more.alone))
        for option, furthers in occasion.further
        for more in furthers
    )
    if not rows:
        return []
    return [
        Heading(text=say("What more could be done while it is open")),
        Words(
            text=say(
                "These parts are left alone as planned. Should one of them be wanted, or turn out to be needed, "
                "this is "
                "what it adds then, and what it would cost by itself another day."
            )
        ),
        Grid(
            caption=say("Further work beside the plan, in {currency} with tax", currency=appraisal.currency),
            head=(say("Part"), say("Work"), say("Beside"), say("Adds"), say("Alone")),
            rows=rows,
            align="lllrr",
            widths=(1.3, 2, 1, 0, 0),
        ),
    ]
