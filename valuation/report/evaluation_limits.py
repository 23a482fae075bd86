"""Of the written evaluation: values, how it was worked out, cautions, limits, interest, and the trace of it all."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.engine.pack import appraiser
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say, say_many
from valuation.report.client_words import way_name
from valuation.report.document import Block, Facts, Grid, Points, Signatures, Words
from valuation.report.evaluation_piano import checks_of
from valuation.report.evaluation_standards import how_weighed, to_tell_a_buyer, what_is_valued
from valuation.report.evaluation_ways import in_order
from valuation.report.figure_words import unsaid_words
from valuation.report.format import exact, money_range, number
from valuation.report.labels import day_words, listed, with_capital
from valuation.report.occasion import Occasion, ValueSaid
from valuation.report.own_words import in_one_line

_RANKS = ("stop", "warn", "note")


def purpose(visit: Visit, appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return what the paper is for, what it may not be used for, and which value is meant, as of which day."""
    client = visit.client
    blocks: list[Block] = []
    if client.purpose:
        blocks.append(Words(text=say("Asked for, in the client's words: “{words}”", words=client.purpose)))
    if client.wishes:
        blocks.append(Words(text=say("Wished for: “{words}”", words=client.wishes)))
    if occasion.chose:
        blocks += [Words(text=say("You told us:")), Facts(rows=occasion.chose)]
    blocks.append(
        Words(
            text=say(
                "It is written so that you can decide: to keep the piano, to repair it, to rebuild it, or to part with "
                "it. It is for nobody and nothing else. It may not be used for tax, insurance, an estate, a gift to be "
                "deducted, or a court."
            )
        )
    )
    if occasion.not_for:
        blocks.append(Words(text=occasion.not_for, style="stop"))
    main = next(iter(occasion.values), None)
    if main:
        blocks.append(Words(text=_definition(main)))
    blocks.append(Points(items=tuple(what_is_valued(visit, occasion))))
    blocks.append(
        Words(
            text=say(
                "Values and prices are as of {day}; the piano was seen on {seen}, and this paper was written on "
                "{written}.",
                day=day_words(appraisal.on), seen=day_words(visit.on), written=day_words(occasion.written_on),
            )
        )
    )  # fmt: skip
    return blocks


def _definition(value: ValueSaid) -> str:
    if value.quoted:
        return say(
            "'Value' of the piano means its {kind}: “{definition}” ({source}). Market: {market}.",
            kind=value.kind, definition=value.definition, source=value.source, market=value.market,
        )  # fmt: skip
    return say(
        "'Value' of the piano means its {kind}: {definition} ({source}). Market: {market}.",
        kind=value.kind, definition=value.definition, source=value.source, market=value.market,
    )  # fmt: skip


def values(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the values, each with its kind; how they came about; what a buyer is told; what the other kinds mean."""
    if not occasion.values:
        return []
    rows = tuple(
        (_of(value), with_capital(value.kind), money_range(value.amount), _basis(value, appraisal))
        for value in occasion.values
    )
    first = occasion.values[0].kind
    others = list({v.kind: v for v in occasion.values if v.kind != first}.values())
    return [
        Grid(
            caption=say("Values in {currency}, as of {day}", currency=appraisal.currency, day=day_words(appraisal.on)),
            head=(say("Of what"), say("Kind of value"), say("Low to high"), say("Rests on")),
            rows=rows,
            align="llrl",
            widths=(1.9, 1.1, 1, 1.2),
        ),
        *_compared(appraisal, occasion),
        *how_weighed(appraisal),
        *to_tell_a_buyer(in_order(appraisal), tables, visit.piano.kind),
        *(Words(text=_definition_of_other(value), style="small") for value in others),
    ]


def _compared(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return the shop's own sales that are nearest to the piano, as far as the prices rest on them."""
    if not occasion.comparables:
        return []
    what = say("The nearest sales, brought to this piano, in {currency}", currency=appraisal.currency)
    return [
        Words(text=what),
        Grid(
            caption=what,
            head=(say("Sold"), say("What was sold, and how"), say("Price"), say("Adjusted by"), say("Adjusted")),
            rows=occasion.comparables,
            align="llrrr",
            widths=(0.8, 2.6, 0.7, 0.7, 0.8),
        ),
    ]


def _of(value: ValueSaid) -> str:
    if value.of == "as it stands":
        return say("The piano as it stands")
    if value.of == "replacement":
        return say("A comparable sound instrument, delivered and tuned")
    if value.of == "disposal":
        return say("Having it taken away and disposed of")
    return say("The piano if this were done: {way}", way=way_name(value.of))


def _basis(value: ValueSaid, appraisal: Appraisal) -> str:
    if value.basis == "band table":
        return say("the shop's table of prices")
    sales = say_many("{count} sale", "{count} sales", appraisal.sales_used)
    if value.basis == "sales":
        return say("the shop's own sales ({sales})", sales=sales)
    return say("the shop's own sales ({sales}) and its table of prices", sales=sales)


def _definition_of_other(value: ValueSaid) -> str:
    quoted, told = later("{kind}: “{definition}” ({source})."), later("{kind}: {definition} ({source}).")
    return say(
        quoted if value.quoted else told,
        kind=with_capital(value.kind),
        definition=value.definition,
        source=value.source,
    )


def method(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return how the figures came about, and what they rest on."""
    said = [
        say(
            "Condition: each check moves the odds of one fault, by a table that says how often a fault so severe "
            "reads so. Several looks at one thing count as one. A part is as bad as its worst fault. The air that a "
            "piano has lived in, and how much it was played, move several faults at once. These odds are from memory "
            "and common practice, and are the weakest link."
        ),
        say(
            "Price: each way is a list of work, with hours and materials from the shop's tables. A step that several "
            "need is counted once. What is likelier needed than not is fixed. The rest is done only if it is found, at "
            "its own price."
        ),
        say(
            "Value: by comparing with what such pianos sell for, by kind, size, reputation, age and state. After work, "
            "each part counts in the state in which the work leaves it. What the work costs was not taken as its "
            "value. Nor was what the piano could earn."
        ),
        say(
            "Choice: the ways are weighed over {years} years, at {interest} a year. What counts is the price, what the "
            "piano is still worth in the end, the good years at what the market asks for them, and what comes once it "
            "gives out. What it is worth to you counts too: to have this very piano ({have}, as you said), and to hear "
            "it ({hear}, as you said). That chooses among the ways. It never changes what they hold or cost.",
            years=number(appraisal.horizon),
            interest=say("{number} %", number=number(100 * appraisal.discount_rate)),
            have=say("{amount} {currency}", amount=exact(appraisal.to_have), currency=appraisal.currency),
            hear=say("{amount} {currency}", amount=exact(appraisal.to_hear), currency=appraisal.currency),
        ),
        say("The workshop's own interest is no part of the reckoning."),
    ]
    if occasion.held is not None:
        count, of = occasion.held
        said.append(
            say("So far, of {of} jobs whose price this workshop had told as a range, {count} ended within it; 8 of 10 "
                "are meant to.", of=of, count=count)
        )  # fmt: skip
    if occasion.prices_from:
        said.append(occasion.prices_from)
    return [Points(items=tuple(said))]


def invented_prices(tables: Tables) -> list[Block]:
    """Return the warning that belongs on every paper as long as prices are invented."""
    invented = {row.id for row in tables.sources if row.kind == "invented"}
    priced: tuple[Sequence[Any], ...] = (tables.bands, tables.rates, tables.materials, tables.replacements)
    if not any(row.source in invented for rows in priced for row in rows):
        return []
    return [
        Words(
            text=say(
                "The tables still hold invented prices, to try the tool with: no decision may rest on these figures."
            ),
            style="stop",
        )
    ]


def not_set_yet(tables: Tables, on: date) -> list[Block]:
    """Return which of the figures that matter most are still those that the tool ships with."""
    told = unsaid_words(tables, on)
    return [Words(text=told, style="small")] if told else []


def cautions(appraisal: Appraisal, tables: Tables) -> list[Block]:
    """Return what can hurt, and what the law may bind, the most serious first, in plain words.

    What only whoever does the work has to know is left out, and so is what stands first on the paper.
    """
    sources = {row.id: row for row in tables.sources}
    rows = {row.id: row for row in tables.cautions}
    stopping = {fault for faults in appraisal.stops.values() for fault in faults}
    told = sorted((rows[c.caution] for c in appraisal.cautions), key=lambda row: _RANKS.index(row.rank))
    items = []
    for row in told:
        if not row.plain or row.always or row.fault in stopping:
            continue
        source, text = sources.get(row.source), say(row.plain)
        if source is not None and source.kind == "published":
            text = say("{text} ({source})", text=text, source=say(source.title))
        items.append(text)
    return [Points(items=tuple(dict.fromkeys(items)))] if items else []


def plain_cautions(visit: Visit, option: OptionResult, tables: Tables) -> list[Block]:
    """Return what a client has to know of the work and of how the piano is built, in plain words."""
    planned = {line.operation for line in option.lines}
    built = visit.piano.features
    rows = [row for row in tables.cautions if row.plain and (row.operation in planned or row.feature in built)]
    rows.sort(key=lambda row: _RANKS.index(row.rank))
    items = tuple(dict.fromkeys(say(row.plain) for row in rows))
    return [Points(items=items)] if items else []


def limits(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return limiting conditions, the interest of whoever writes, who else to ask, and until when the figures hold."""
    shop = occasion.shop
    said = [
        say(
            "It holds for the piano as it was seen on {day}; nothing was taken apart beyond what is told.",
            day=day_words(visit.on),
        ),
        say("What was told about the piano was taken as told, and not checked."),
        say(
            "A part that nobody looked at is reckoned as such parts are in pianos of that age and life. If it is "
            "found to be otherwise, the figures change."
        ),
        holds(occasion),
        *always_said(appraisal, tables),
        say(
            "This certifies nothing. If you need a certified value, somebody else has to look at the piano, who gains "
            "nothing by the work. In this country that is: {appraiser}.",
            appraiser=appraiser(tables),
        ),
    ]
    if shop.fee:
        said.append(shop.fee)
    said.append(say("Others who can be asked: {names}", names=" ".join(occasion.told.ask_others)))
    if shop.second_opinion:
        said.append(say("By name: {names}.", names=listed(shop.second_opinion)))
    return [
        Points(items=tuple(said[:-2])),
        Points(items=tuple(said[-2:])),  # so much stays with the signature
        Signatures(places=((say("Evaluated by"), in_one_line(visit.technician or shop.name)),)),
    ]


def holds(occasion: Occasion) -> str:
    """Return until when the figures hold, or that they held."""
    if occasion.written_on > occasion.told.holds_until:
        return say(
            "These figures held until {day}. They must be reckoned anew before anything is decided by them.",
            day=day_words(occasion.told.holds_until),
        )
    return occasion.told.holds


def always_said(appraisal: Appraisal, tables: Tables) -> list[str]:
    """Return what is said with every piano, such as that the writer sells the work."""
    always = {row.id for row in tables.cautions if row.always}
    return [say(caution.text) for caution in appraisal.cautions if caution.caution in always]


def not_made(visit: Visit, tables: Tables) -> list[Block]:
    """Return the checks that were not made, by name: the scope of the look, for whoever checks it."""
    made = {finding.check for finding in visit.findings}
    missing = [say(row.name).removesuffix(".") for row in checks_of(visit, tables) if row.id not in made]
    asked = " ".join(name if name.endswith("?") else f"{name}." for name in missing)
    return [Words(text=say("Checks not made: {checks}", checks=asked), style="small")] if missing else []


def trace(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    """Return with what the same figures can be made again."""
    return [
        Words(
            text=say(
                "Tables {hash}, prices of {day}, {draws} draws from seed {seed}, version {version} of the tool. "
                "With these "
                "and the findings the same figures come again.",
                hash=appraisal.tables_hash[:16],
                day=day_words(appraisal.on),
                draws=exact(appraisal.draws),
                seed=appraisal.seed,
                version=occasion.version or "-",
            ),
            style="small",
        )
    ]
