"""A quotation: the work of one way line by line, what may turn up, how long it holds, a line to accept it. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal, OptionResult
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.client_words import way_name, years_words
from valuation.report.document import Block, Document, Grid, Heading, Points, Section, Signatures, Words
from valuation.report.evaluation import head_facts, heading
from valuation.report.evaluation_limits import cautions, invented_prices
from valuation.report.evaluation_ways import quote_of
from valuation.report.evaluation_work import held_name, line_words, set_and_chosen, what_may_turn_up
from valuation.report.format import exact, money_range, number, percent
from valuation.report.labels import day_words
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.shown_quote import Shown
from valuation.report.ways import WORK


def option_to_quote(appraisal: Appraisal) -> str:
    """Return the option that is quoted where nobody names one: the verdict's, or the best that has work in it."""
    if appraisal.best.lines:
        return appraisal.verdict
    quotable = [option for option in appraisal.options if option.lines]
    return max(quotable, key=lambda option: option.expected_net).option


def quotation(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion, option: str = "") -> Document:
    """Return a quotation.

    Parameters
    ----------
    visit, appraisal, tables, occasion
        As for `valuation.report.evaluation.evaluation`.
    option : str
        Option that is quoted; `option_to_quote` if left out.

    Raises
    ------
    ValueError
        If the appraisal has no such option, or there is no work in it.
    """
    option = option or option_to_quote(appraisal)
    chosen = appraisal.option(option)
    if chosen is None or not chosen.lines:
        quotable = ", ".join(o.option for o in appraisal.options if o.lines)
        raise ValueError(f"there is no work to quote for {option!r}; write one of {quotable}")
    quote = quote_of(chosen, appraisal, tables)
    sections = [
        Section(
            title=say("The work: {option}", option=way_name(option)),
            blocks=tuple(_work(chosen, quote, appraisal, tables)),
        ),
        Section(title=say("Chosen and set"), blocks=tuple(set_and_chosen(occasion, (option,)))),
        Section(title="", blocks=tuple(what_may_turn_up(occasion, (option,)) if option in WORK else ())),
        # what is signed comes last: nothing stands after a signature
        Section(title=say("Cautions"), blocks=tuple(cautions(appraisal, tables)), compact=True),
        Section(title=say("Terms"), blocks=tuple(_terms(chosen, quote, visit, appraisal, tables, occasion))),
    ]
    return Document(
        **heading(say("Quotation"), visit, appraisal, occasion),
        dense=True,
        facts=(
            *head_facts(visit, appraisal, occasion),
            (say("Holds until"), day_words(occasion.told.holds_until)),
        ),
        sections=tuple(section for section in sections if section.blocks),
    )


def _work(option: OptionResult, quote: Shown, appraisal: Appraisal, tables: Tables) -> list[Block]:
    rows: list[tuple[str, ...]] = [
        (line_words(line), number(round(line.hours, 1)), *map(exact, amounts))
        for line, amounts in zip(quote.lines_of, quote.amounts, strict=True)
    ]
    columns = list(zip(*quote.amounts, strict=True))
    hours = number(round(sum(round(line.hours, 1) for line in quote.lines_of), 1))
    rows.append((say("All lines"), hours, *(exact(sum(column)) for column in columns)))
    lines = len(rows) - 1
    if quote.allowances:
        rows.append((held_name(), "", "", "", "", exact(quote.allowances)))
    rows += [
        (say("Before tax"), "", "", "", "", exact(quote.before_tax)),
        (say("Tax, {percent}", percent=percent(tables.settings.tax)), "", "", "", "", exact(quote.tax)),
        (say("In all"), "", "", "", "", exact(quote.total)),
    ]
    return [
        Grid(
            caption=say("Lines of the quotation, in {currency}", currency=appraisal.currency),
            head=(say("Work"), say("Hours"), say("Labour"), say("Materials"), say("Bought in"), say("Amount")),
            rows=tuple(rows),
            align="lrrrrr",
            widths=(1, 0, 0, 0, 0, 0),
            strong=(lines, len(rows) - 1),
            style="lines",
        ),
        *([_held()] if quote.allowances else []),
        Words(
            text=say(
                "Eight of ten such jobs come to {range} {currency}. {years}",
                range=money_range(option.price),
                currency=appraisal.currency,
                years=years_words(option.years),
            )
        ),
    ]


def _held() -> Words:
    return Words(
        text=say(
            "What is held is an average over all that may turn up. If nothing turns up it is not spent; if "
            "something does, "
            "its price stands below."
        )
    )


def _holds(occasion: Occasion) -> str:
    until = day_words(occasion.told.holds_until)
    if occasion.written_on > occasion.told.holds_until:
        return say("Its figures held until {day}: they must be reckoned anew before anybody signs.", day=until)
    return say("This quotation holds until {day}.", day=until)


def _terms(
    option: OptionResult, quote: Shown, visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion
) -> list[Block]:
    said = [
        _holds(occasion),
        say("Only what stands in the lines is meant; anything else is quoted by itself and agreed in writing."),
        *occasion.shop.terms,
    ]
    accepted = say(
        "Accepted: {option}, {total} {currency} in all, tax included. Day and signature",
        option=way_name(option.option), total=exact(quote.total), currency=appraisal.currency,
    )  # fmt: skip
    return [
        Points(items=tuple(said)),
        *invented_prices(tables),
        Heading(text=say("Acceptance")),
        Signatures(
            places=(
                (accepted, in_one_line(visit.client.name)),
                (say("For the workshop. Day and signature"), in_one_line(visit.technician or occasion.shop.name)),
            )
        ),
    ]
