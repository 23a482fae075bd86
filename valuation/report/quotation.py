"""A quotation: fixed lines with one true total, what may be found line by line, a place to accept it. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say
from valuation.report.client_words import of_100, way_name, years_words
from valuation.report.document import Block, Document, Grid, Heading, Points, Section, Signatures, Words
from valuation.report.evaluation_limits import invented_prices, not_set_yet, plain_cautions
from valuation.report.evaluation_work import line_words, set_and_chosen
from valuation.report.fault_words import line_answers, seen_when_words, seen_words
from valuation.report.format import cents, exact, number
from valuation.report.heads import head_facts, heading
from valuation.report.labels import day_words, with_capital
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.quote import FixedLine, Quote
from valuation.report.tax_words import tax_label
from valuation.report.their_version import NoVersion, TheirVersion

YES_OR_NO = later("□ yes\n□ no")


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
        If the piano is not evaluated yet, the paper is older than the visit, or there is no work in the option.
    """
    if not appraisal.ready:
        raise ValueError("the piano is not evaluated yet; there is nothing to quote")
    if occasion.written_on < visit.on:
        raise ValueError(f"the quotation is of {occasion.written_on}, the visit of {visit.on}; date it from then on")
    option = option or option_to_quote(appraisal)
    chosen = appraisal.option(option)
    if chosen is None or not chosen.lines:
        quotable = ", ".join(o.option for o in appraisal.options if o.lines)
        raise ValueError(f"there is no work to quote for {option!r}; write one of {quotable}")
    version = occasion.told.versions[option]
    if isinstance(version, NoVersion):
        raise ValueError(f"there is no plan for {option!r} with what the client wants left as it is")
    quoted, quote = version.option, version.quote
    sections = [
        Section(title="", blocks=tuple(Words(text=text, style="stop") for text in occasion.told.first)),
        Section(
            title=say("The work: {option}", option=way_name(option)),
            blocks=tuple(_work(version, chosen, visit, appraisal, tables)),
        ),
        Section(title=say("What may be found"), blocks=tuple(_if_found(quote, visit, appraisal, tables))),
        Section(title=say("Chosen and set"), blocks=tuple(set_and_chosen(occasion, (option,)))),
        Section(title=say("Please note"), blocks=tuple(plain_cautions(visit, quoted, tables)), compact=True),
        # what is signed comes last: nothing stands after a signature
        Section(title=say("Terms"), blocks=tuple(_terms(option, quote, visit, appraisal, tables, occasion))),
    ]
    return Document(
        **heading(say("Quotation"), visit, appraisal, occasion),
        dense=True,
        facts=(
            *head_facts(visit, appraisal, occasion),
            (say("Holds until"), day_words(occasion.told.holds_until)),
            *(((say("Replaces"), occasion.replaces),) if occasion.replaces else ()),
        ),
        sections=tuple(section for section in sections if section.blocks),
    )


def _work(version: TheirVersion, plan: OptionResult, visit: Visit, appraisal: Appraisal, tables: Tables) -> list[Block]:
    quote = version.quote

    def answers(fixed: FixedLine) -> str:
        return say("You chose this.") if fixed.chosen else line_answers(fixed.line, appraisal, tables, visit.piano.kind)

    rows: list[tuple[str, ...]] = [
        (
            f"{line_words(fixed.line)}\n{answers(fixed)}",
            number(round(fixed.line.hours, 1)),
            *map(exact, (fixed.labour, fixed.materials, fixed.outside, fixed.amount)),
        )
        for fixed in quote.lines
    ]
    hours = number(round(sum(round(fixed.line.hours, 1) for fixed in quote.lines), 1))
    sums = (sum(getattr(fixed, what) for fixed in quote.lines) for what in ("labour", "materials", "outside"))
    before_tax = len(rows)
    rows += [
        (say("Before tax"), hours, *map(exact, sums), cents(quote.before_tax)),
        (tax_label(quote.taxed), "", "", "", "", cents(quote.tax)),
        (say("In all"), "", "", "", "", cents(quote.total)),
    ]
    fixed = say(
        "This price is fixed: {total} {currency}. It changes only where something is found that is told of below, and "
        "you say yes to it.",
        total=cents(quote.total), currency=appraisal.currency,
    )  # fmt: skip
    alone = say("This price is fixed: {total} {currency}.", total=cents(quote.total), currency=appraisal.currency)
    return [
        Grid(
            caption=say("Lines of the quotation, in {currency}", currency=appraisal.currency),
            head=(say("Work"), say("Hours"), say("Labour"), say("Materials"), say("Bought in"), say("Amount")),
            rows=tuple(rows),
            align="lrrrrr",
            widths=(1, 0, 0, 0, 0, 0),
            strong=(before_tax, len(rows) - 1),
            style="lines",
        ),
        Words(text=f"{fixed if quote.if_found else alone} {years_words(plan.years)}"),
    ]


def _if_found(quote: Quote, visit: Visit, appraisal: Appraisal, tables: Tables) -> list[Block]:
    """Return each line that is done only where its fault is seen: what is seen, how often, its price, an answer."""
    if not quote.if_found:
        return []
    kind = visit.piano.kind
    rows = [
        (
            str(i),
            f"{seen_words(line.allowance, tables, kind)}\n{with_capital(seen_when_words(line.allowance, tables))}",
            say(line.allowance.plain),
            str(of_100(line.allowance.chance)),
            cents(line.price),
            say(YES_OR_NO),
        )
        for i, line in enumerate(quote.if_found, start=1)
    ]
    rows.append(("", say("All of it, at the most"), "", "", cents(quote.most - quote.total), ""))
    most = say(
        "The most that it can come to: {most} {currency}, tax included.",
        most=cents(quote.most), currency=appraisal.currency,
    )  # fmt: skip
    single = say("Of the larger works on one part only one is ever done; the others are not counted.")
    return [
        Words(
            text=say(
                "Some faults cannot be ruled out yet. Each is told here with its price. If one is found you are shown "
                "it. Nothing of it is begun where you said no. If you said yes it is done at this price."
            )
        ),
        Grid(
            caption=say("Done only if it is found; prices in {currency}, tax included", currency=appraisal.currency),
            head=(
                say("No."),
                say("What would be seen"),
                say("What is then done"),
                say("Found in, of 100"),
                say("Price"),
                say("Your answer"),
            ),
            rows=tuple(rows),
            align="rllrrl",
            widths=(0, 1.3, 1.3, 0.5, 0, 0),
            strong=(len(rows) - 1,),
        ),
        Words(text=f"{most} {single}" if any(line.allowance.large for line in quote.if_found) else most),
    ]


def _terms(
    option: str, quote: Quote, visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion
) -> list[Block]:
    until = day_words(occasion.told.holds_until)
    if occasion.written_on > occasion.told.holds_until:
        expired = say(
            "Its figures held until {day}. They must be reckoned anew before anybody signs; so there is no place to "
            "sign.",
            day=until,
        )
        return [Points(items=(expired,)), *invented_prices(tables)]
    said = [
        say("This quotation holds until {day}.", day=until),
        say("Only what stands in the lines is meant; anything else is quoted by itself and agreed in writing."),
        " ".join(occasion.told.way(option).rows["time"]),
        say("Later tunings are not in the price: a piano in use wants one or two a year."),
        *((occasion.shop.fee,) if occasion.shop.fee else ()),
        *occasion.shop.terms,
    ]
    accepted = say(
        "Accepted: {option}, {total} {currency} in all, tax included. Day and signature",
        option=way_name(option), total=cents(quote.total), currency=appraisal.currency,
    )  # fmt: skip
    answered = say("My answers to what may be found stand in their lines. Day and signature")
    client = in_one_line(visit.client.name)
    return [
        Points(items=tuple(said)),
        *invented_prices(tables),
        *not_set_yet(tables, appraisal.on),
        Heading(text=say("Acceptance")),
        Signatures(
            places=(
                (accepted, client),
                (say("For the workshop. Day and signature"), in_one_line(visit.technician or occasion.shop.name)),
                *(((answered, client),) if quote.if_found else ()),
            )
        ),
    ]
