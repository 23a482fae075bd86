"""A quotation: fixed lines with one true total, what may be found line by line, a place to accept it. Pure."""

from __future__ import annotations

from decimal import Decimal

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.pack import ORIENTATION, cited, pack_of
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say
from valuation.report.client_words import of_100, way_name, years_words
from valuation.report.document import Block, Document, Grid, Heading, Points, Section, Signatures, Words
from valuation.report.evaluation_limits import invented_prices, not_set_yet, plain_cautions
from valuation.report.evaluation_standards import told_of
from valuation.report.evaluation_work import line_words, what_was_set
from valuation.report.fault_words import line_answers, seen_when_words, seen_words
from valuation.report.format import cents, exact
from valuation.report.heads import head_facts, heading
from valuation.report.labels import day_words
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.quote import FixedLine, IfFound, Quote, most_together
from valuation.report.tax_words import tax_label, with_tax
from valuation.report.their_version import NoVersion, TheirVersion

YES_OR_NO = later("□ yes  □ no")

_CARRIED = "to_workshop"
_TAKEN = "action_to_workshop"
_TUNINGS = {"tune", "pitch_raise"}


def option_to_quote(appraisal: Appraisal) -> str:
    """Return the option that is quoted where nobody names one: the verdict's, or the best that has work in it."""
    if appraisal.best.lines:
        return appraisal.verdict
    quotable = [option for option in appraisal.options if option.lines]
    return max(quotable, key=lambda option: option.expected_net).option


def quotation(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion, option: str = "") -> Document:
    """Return a quotation for a way as the client wants it.

    Parameters
    ----------
    visit, appraisal, tables, occasion
        As for `valuation.report.evaluation.evaluation`.
    option : str
        Option that is quoted; `option_to_quote` if left out.

    Raises
    ------
    ValueError
        If the piano is not evaluated yet, the paper is older than the visit, or there is no work in the option, or no
        plan with what the client wants.
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
        raise ValueError(" ".join(occasion.told.of_versions[option]))
    expired = occasion.written_on > occasion.told.holds_until
    first = (*([_expired(occasion)] if expired else []), *occasion.told.first)
    sections = [
        Section(
            title="",
            blocks=(
                *(Words(text=text, style="stop") for text in first),
                *(invented_prices(tables) if expired else ()),
            ),
        ),
        Section(
            title=say("The work: {option}", option=way_name(option)),
            blocks=(*_as_wished(option, occasion), *_work(version, visit, appraisal, tables, expired=expired)),
        ),
        Section(
            title=say("What may be found"),
            blocks=tuple(_if_found(version.quote, visit, appraisal, tables, signed=not expired)),
        ),
        Section(title=say("Please note"), blocks=tuple(_note(version.option, visit, tables))),
        Section(title=say("What the law says"), blocks=tuple(_law(version.quote, visit, tables)), compact=True),
        # what is signed comes last: nothing stands after a signature
        *(
            ()
            if expired
            else (Section(title=say("Terms"), blocks=_terms(version, visit, appraisal, tables, occasion)),)
        ),
    ]
    return Document(
        **heading(say("Quotation"), visit, appraisal, occasion),
        facts=(
            *head_facts(visit, appraisal, occasion, as_of=say("Prices as of")),
            (say("Held until") if expired else say("Holds until"), day_words(occasion.told.holds_until)),
            *(((say("Replaces"), occasion.replaces),) if occasion.replaces else ()),
        ),
        sections=tuple(section for section in sections if section.blocks),
    )


def _as_wished(option: str, occasion: Occasion) -> list[Block]:
    """Return what the client chose, what stays at their wish, what of it is not in the price; what was set by hand."""
    told = occasion.told
    chosen = tuple(f"{q.name}: {q.answer.name}." for q in told.questions if q.answer is not None)
    said = (*chosen, *told.of_versions[option])
    wished: list[Block] = [Heading(text=say("As you want it")), Points(items=said)] if said else []
    return [*what_was_set(occasion), *wished]


def _expired(occasion: Occasion) -> str:
    return say(
        "Its figures held until {day}. They must be reckoned anew before anybody signs. So there is no place to sign.",
        day=day_words(occasion.told.holds_until),
    )


def _work(version: TheirVersion, visit: Visit, appraisal: Appraisal, tables: Tables, *, expired: bool) -> list[Block]:
    quote = version.quote

    def answers(fixed: FixedLine) -> str:
        return say("You chose this.") if fixed.chosen else line_answers(fixed.line, appraisal, tables, visit.piano.kind)

    rows = [(f"{line_words(fixed.line)}\n{answers(fixed)}", exact(fixed.amount)) for fixed in quote.lines]
    rows += _sums(quote)
    held = len(rows) - len(quote.lines)
    total = f"{cents(quote.total)} {appraisal.currency}"
    if expired:
        fixed = say("This was the price: {total}.", total=total)
    elif quote.if_found:
        fixed = say(
            "This price is fixed: {total}. It changes only if we find something that is told of below, and you say yes "
            "to it.",
            total=total,
        )
    else:
        fixed = say("This price is fixed: {total}.", total=total)
    return [
        Grid(
            caption=say("Lines of the quotation, in {currency}", currency=appraisal.currency),
            head=(say("Work"), say("Price")),
            rows=tuple(rows),
            align="lr",
            widths=(1, 0),
            strong=tuple(range(len(rows) - held, len(rows), max(held - 1, 1))),
            held=held,
            style="lines",
        ),
        Words(text=f"{fixed} {years_words(version.prospect.years)}"),
        Words(text=_of_which(quote, tables, visit, appraisal.currency)),
    ]


def _sums(quote: Quote) -> list[tuple[str, str]]:
    """Return the rows below the lines: without a tax there is one sum alone."""
    if not quote.taxed.shown:
        return [(say("In all"), cents(quote.total))]
    return [
        (say("Before tax"), cents(quote.before_tax)),
        (tax_label(quote.taxed), cents(quote.tax)),
        (say("In all"), cents(quote.total)),
    ]


def _of_which(quote: Quote, tables: Tables, visit: Visit, currency: str) -> str:
    """Return what of the price before tax is labour, and how much of that is done at the client's home."""
    operations = tables.of_kind("operations", visit.piano.kind)
    home = [line for line in quote.lines if operations[line.line.operation].where == tables.settings.visit_rate]
    labour, at_home = (sum((line.labour for line in lines), Decimal(0)) for lines in (quote.lines, home))
    if at_home and at_home == labour:
        return say(
            "Of the lines, labour is {labour} {currency}, all of it at your home.",
            labour=exact(labour), currency=currency,
        )  # fmt: skip
    if not at_home:
        return say(
            "Of the lines, labour is {labour} {currency}, all of it in the workshop.",
            labour=exact(labour), currency=currency,
        )  # fmt: skip
    return say(
        "Of the lines, labour is {labour} {currency}; {home} {currency} of that is work at your home.",
        labour=exact(labour), home=exact(at_home), currency=currency,
    )  # fmt: skip


def _if_found(quote: Quote, visit: Visit, appraisal: Appraisal, tables: Tables, *, signed: bool) -> list[Block]:
    """Return each line that is done only where its fault is seen: what is seen, how often, its price, an answer.

    Small or unlikely ones may have one answer together; they stand below, each with its price and an answer to tick.
    """
    if not quote.if_found:
        return []
    kind = visit.piano.kind
    answer = (say(YES_OR_NO),) if signed else ()
    apart, rest = quote.asked_apart(tables.settings.asked_from)
    rows = [
        (
            str(i),
            f"{seen_words(line.allowance, tables, kind)}\n{say('Then: {done}', done=say(line.allowance.plain))}\n"
            f"{say('Seen: {when}.', when=seen_when_words(line.allowance, tables))}",
            str(of_100(line.allowance.chance)),
            cents(line.price),
            *answer,
        )
        for i, line in enumerate(apart, start=1)
    ]
    first, last = len(apart) + 1, len(quote.if_found)
    if rest:
        small = say(
            "{count} more, each small or unlikely. They are named below, each with its price. Your answer here counts "
            "for all that have none of their own. All of them, at the most:",
            count=len(rest),
        )
        rows.append((f"{first}-{last}", small, "", cents(most_together(rest)), *answer))
    rows.append(("", say("All of it, at the most"), "", cents(quote.most - quote.total), *("" for _ in answer)))
    most = say(
        "The most that it can come to: {most}.",
        most=with_tax(f"{cents(quote.most)} {appraisal.currency}", quote.taxed),
    )
    single = say("Of the larger works on one part only one is ever done; the others are not counted.")
    priced = with_tax(appraisal.currency, quote.taxed)
    told = (say("No."), say("What would be seen, and what is then done"), say("In how many of 100"), say("Price"))
    return [
        Words(
            text=say(
                "Some faults cannot be ruled out yet. Each stands here with its price. If one is found, you are shown "
                "it. Where you say yes, it is done at this price. Where you say no, it is not begun."
            )
        ),
        Grid(
            caption=say("Done only if it is found; prices in {currency}", currency=priced),
            head=(*told, *((say("Your answer, signed"),) if signed else ())),
            rows=tuple(rows),
            align="rlrrl" if signed else "rlrr",
            widths=(0, 1, 0.24, 0, 0.3) if signed else (0, 1, 0.24, 0),
            strong=(len(rows) - 1,),
            held=1,
            style="answers" if signed else "sums",
        ),
        Words(
            text=f"{most} {single}" if quote.most - quote.total < sum(line.price for line in quote.if_found) else most
        ),
        *(_small_ones(rest, first, told, answer, priced, tables, kind) if rest else ()),
    ]


def _small_ones(
    rest: tuple[IfFound, ...],
    first: int,
    head: tuple[str, ...],
    answer: tuple[str, ...],
    priced: str,
    tables: Tables,
    kind: str,
) -> tuple[Block, ...]:
    """Return the if-found lines that may have one answer together, each with its price and an answer of its own."""
    rows = (
        (
            str(i),
            f"{seen_words(line.allowance, tables, kind)} {say(line.allowance.plain)}",
            str(of_100(line.allowance.chance)),
            cents(line.price),
            *answer,
        )
        for i, line in enumerate(rest, start=first)
    )
    grid = Grid(
        caption=say("Small or unlikely, done only if it is found; prices in {currency}", currency=priced),
        head=(*head, *((say("Your answer"),) if answer else ())),
        rows=tuple(rows),
        align="rlrrl" if answer else "rlrr",
        widths=(0, 1, 0.24, 0, 0) if answer else (0, 1, 0.24, 0),
        style="ticks" if answer else "sums",
    )
    return Heading(text=say("Small or unlikely")), grid


def _note(option: OptionResult, visit: Visit, tables: Tables) -> list[Block]:
    """Return what the client has to know of the work, and what a buyer has to be told of it one day."""
    told = told_of(option, tables, visit.piano.kind)
    sold = say("If you sell it one day, the buyer has to be told: {what}", what=" ".join(told))
    return [*plain_cautions(visit, option, tables), *([Words(text=sold)] if told else [])]


def _law(quote: Quote, visit: Visit, tables: Tables) -> list[Block]:
    """Return what the law of the shop's country has to say on a quotation, each with where it stands."""
    rows = pack_of(tables).on_paper("quotation", visit.piano.features)
    said = [*([say(quote.taxed.says)] if quote.taxed.says else []), *map(cited, rows)]
    return [Points(items=tuple(said)), Words(text=say(ORIENTATION))] if said else []


def _terms(
    version: TheirVersion, visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion
) -> tuple[Block, ...]:
    until = day_words(occasion.told.holds_until)
    shop, quote = occasion.shop, version.quote
    rows = (
        (say("Holds until"), say("{day}. Until then we are bound by it.", day=until)),
        (say("It replaces"), say("our quotation {number}, which no longer holds.", number=occasion.replaces))
        if occasion.replaces
        else ("", ""),
        (say("How long"), " ".join(occasion.told.way(version.way).rows["time"])),
        (say("Done by"), _done_by(occasion)),
        (say("Carrying"), _carrying(version.option)),
        (say("Tunings"), _tunings(version.option, tables, visit.piano.kind)),
        (say("Warranty"), shop.warranty),
        (say("Payment"), " ".join(shop.terms)),
        (say("The visit"), shop.fee),
        (say("Changes"), say("Only what stands in the lines is meant. Anything else is quoted and agreed in writing.")),
    )
    accepted = say(
        "I accept: {option}. In all: {total}. Day and signature",
        option=way_name(version.way), total=with_tax(f"{cents(quote.total)} {appraisal.currency}", quote.taxed),
    )  # fmt: skip
    return (
        Points(items=tuple(say("{what}: {words}", what=what, words=words) for what, words in rows if words)),
        *invented_prices(tables),
        *not_set_yet(tables, appraisal.on),
        Heading(text=say("Acceptance")),
        Words(text=say("You need not sign today. Take it home, and ask whoever you like.")),
        Signatures(
            places=(
                (accepted, in_one_line(visit.client.name)),
                (say("For the workshop. Day and signature"), in_one_line(visit.technician or shop.name)),
            )
        ),
    )


def _done_by(occasion: Occasion) -> str:
    if occasion.done_by is None:
        return ""
    return say(
        "{day}, as our work stands on {today} and if you agree now. Days found so are kept in 9 of 10.",
        day=day_words(occasion.done_by), today=day_words(occasion.written_on),
    )  # fmt: skip


def _carrying(option: OptionResult) -> str:
    lines = {line.operation for line in option.lines}
    if _CARRIED in lines:
        return say("Carriers take the piano to the workshop and bring it back. That is in the price.")
    if _TAKEN in lines:
        return say("The piano stays with you. We take the parts with us and bring them back. That is in the price.")
    return say("The piano stays where it is. Coming to you is in the price.")


def _tunings(option: OptionResult, tables: Tables, kind: str) -> str:
    """Return which tunings are in the price, and that later ones are not."""
    operations = tables.of_kind("operations", kind)
    done = {line.operation for line in option.lines}
    tuned = bool((done | {name for line in done for name in operations[line].covers}) & _TUNINGS)
    if not tuned:
        return say("None is in the price.")
    later_ones = say("Later tunings are not: a piano in use wants one or two a year.")
    return f"{say('Tuning it after the work is in the price.')} {later_ones}"
