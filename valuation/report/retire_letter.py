"""A plain letter to somebody whose piano is at its end: what was found, what can be kept, where it can go. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.money import tax_of
from valuation.engine.pack import ORIENTATION, cited, pack_of
from valuation.engine.prospects import ANOTHER, LET_GO
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say
from valuation.report.client_words import pay_words
from valuation.report.document import Block, Document, Points, Section, Signatures, Words
from valuation.report.evaluation_limits import invented_prices
from valuation.report.fault_words import stop_sentences
from valuation.report.format import exact, honest, money, money_range, years_range
from valuation.report.heads import heading
from valuation.report.labels import day_words, listed
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.quote import quote_of
from valuation.report.tax_words import with_tax

_IVORY = "ivory_tops"
_MOST_FAULTS = 3

_TITLES = {"upright": later("About your upright piano"), "grand": later("About your grand piano")}


def retire_letter(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the letter; arguments as for `valuation.report.evaluation.evaluation`.

    It says that we advise to part with the piano only where that is the verdict.

    Raises
    ------
    ValueError
        If the piano is not evaluated yet.
    """
    if not appraisal.ready:
        raise ValueError("the piano is not evaluated yet; there is no letter to write")
    name, law = visit.client.name, _law(visit, tables)
    sections = [
        Section(
            title="",
            blocks=(
                Words(text=say("Dear {name},", name=name) if name else say("Good day,")),
                *_found(visit, appraisal, tables, occasion),
            ),
        ),
        Section(title=say("Would anybody pay for it?"), blocks=tuple(_worth(appraisal, occasion))),
        Section(title=say("Where it can go"), blocks=(Points(items=_go(visit, tables, appraisal, occasion)),)),
        Section(title=say("What you may want to keep"), blocks=(Points(items=_keep(visit)),)),
        Section(title=say("So that nobody gets hurt"), blocks=(Points(items=_safety(visit, appraisal, tables)),)),
        *([Section(title=say("What the law says"), blocks=(Points(items=law),))] if law else []),
        Section(title=say("If you want to go on playing"), blocks=tuple(_playing(occasion))),
        Section(title=say("If you decide differently"), blocks=tuple(_otherwise(visit, appraisal, tables, occasion))),
    ]
    head = heading(say(_TITLES[visit.piano.kind]), visit, appraisal, occasion)
    town = occasion.shop.town
    day = day_words(occasion.written_on)
    return Document(
        **head,
        address=tuple(line for line in (name, visit.place) if line),
        place_and_day=f"{town}, {day}" if town else day,
        facts=(),
        sections=tuple(section for section in sections if section.blocks),
    )


def _found(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    day = day_words(visit.on)
    blocks: list[Block] = [
        Words(
            text=say(
                "Thank you for letting us look at your piano on {day}. You asked us what can become of it if it does "
                "not stay with you. Here is what we know.",
                day=day,
            )
        )
    ]
    if appraisal.verdict == "retire":
        blocks.append(
            Words(
                text=say(
                    "We are sorry: we do not advise spending money on this piano. We live by such work, and say so "
                    "all the same."
                )
            )
        )
    assert occasion.leaf is not None, "a piano that is evaluated has its leaf"
    worst = [seen.text for seen in occasion.leaf.how.seen[:_MOST_FAULTS]]
    if worst:
        blocks.append(Words(text=say("What weighs most: {faults}", faults=" ".join(worst))))
    if "rebuild" in occasion.prospects:
        blocks.append(Words(text=_what_a_rebuild_would_be(appraisal, tables, occasion)))
    blocks.append(
        Words(
            text=say(
                "Wood, felt and wire grow old, in the best of houses too. Nobody did anything wrong. What the piano "
                "has been to those who played it stays."
            )
        )
    )
    return blocks


def _what_a_rebuild_would_be(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> str:
    option, rebuilt = appraisal.option("rebuild"), occasion.prospects["rebuild"]
    assert option is not None, "a way that is open has its option"
    tax = tax_of(tables, appraisal.on)
    price = with_tax(f"{exact(quote_of(option, tax).total)} {appraisal.currency}", tax)
    value = money(rebuilt.expected_value, appraisal.currency)
    if round(rebuilt.years.high) < 1:
        return say(
            "To rebuild it would cost {price}, or more. Even then nobody could promise that it plays well. It would "
            "sell for about {value}.",
            price=price, value=value,
        )  # fmt: skip
    return say(
        "To rebuild it would cost {price}, or more. It would then have {years} good years, and would sell for about "
        "{value}.",
        price=price, value=value, years=years_range(rebuilt.years),
    )  # fmt: skip


def _worth(appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    gone = occasion.prospects[LET_GO].price
    if appraisal.worth_selling:
        text = say(
            "Perhaps {value} {currency} as it stands; in 8 of 10 such cases between {range}. Show this letter to the "
            "buyer.",
            value=money(appraisal.value_now.likely), currency=appraisal.currency,
            range=money_range(appraisal.value_now),
        )  # fmt: skip
    elif honest(gone.low) < 0:
        told = say("Perhaps a little, but do not count on it. Even free of charge nobody has to take it.")
        text = f"{told} {pay_words(gone, appraisal.currency)}"
    else:
        text = say(
            "We do not think so. That is so with most old pianos today, and says nothing against this one. Even free "
            "of charge nobody has to take it."
        )
    return [Words(text=text)]


def _go(visit: Visit, tables: Tables, appraisal: Appraisal, occasion: Occasion) -> tuple[str, ...]:
    shop = occasion.shop
    said = [say("These take old pianos near us: {names}.", names=listed(shop.takers))] if shop.takers else []
    said += [
        say("Give it to somebody who knows how it is, and give this letter with it."),
        say("A school, church or club may like it. Ask first. They may have to pay for disposal later."),
        say("A workshop may take it for its parts. Ask more than one."),
    ]
    haul = next((-value.amount.likely for value in occasion.values if value.of == "disposal"), 0.0)
    away = say("Else carriers who know pianos take it to where your town says that it may go.")
    if haul > 0:
        away += " " + say("That costs about {amount} {currency}.", amount=money(haul), currency=appraisal.currency)
    said.append(away)
    rows = pack_of(tables).on_paper("letter", visit.piano.features)
    said += [cited(row) for row in rows if row.topic == "disposal"]
    return tuple(said)


def _keep(visit: Visit) -> tuple[str, ...]:
    tops = (say("The key tops are ivory. Leave them on the keys, and do not sell them by themselves."),)
    return (
        say("A photo of it in its place, with those who played it."),
        say(
            "The music desk, the name from above the keys, a hammer, the lamp. Ask us to take them off, so that "
            "nobody is hurt."
        ),
        say(
            "The stool, its papers and the number inside belong to the piano. If somebody takes it, give them along; "
            "else they may stay with you."
        ),
        *(tops if _IVORY in visit.piano.features else ()),
    )


def _safety(visit: Visit, appraisal: Appraisal, tables: Tables) -> tuple[str, ...]:
    """Return what can hurt: what must not be done, and the cautions of opening, tilting and carrying it."""
    reached = {row.id for row in tables.of_kind("operations", visit.piano.kind).values() if row.level == "access"}
    handled = [say(row.plain) for row in tables.cautions if row.operation in reached and row.plain]
    if "move" in appraisal.stops:
        handled.append(say("Nobody should carry it before we have made it safe to carry."))
    handled.append(say("Leave carrying it to people who move pianos."))
    told = say(
        "Please do not take it apart, break it up or burn it yourselves. Its strings are under great tension, even "
        "when it no longer plays."
    )
    return tuple(dict.fromkeys([told, *stop_sentences(appraisal), *handled]))


def _law(visit: Visit, tables: Tables) -> tuple[str, ...]:
    """Return what the country's law binds of what this piano is made of."""
    rows = pack_of(tables).on_paper("letter", visit.piano.features)
    bound = [cited(row) for row in rows if row.topic != "disposal"]
    if not bound:
        return ()
    return (
        say(
            "Some of what it is made of is protected. To keep it is one thing; before you sell it, give it away or "
            "take it across a border, ask the authority where you live."
        ),
        *bound,
        say(ORIENTATION),
    )


def _playing(occasion: Occasion) -> list[Block]:
    other = occasion.told.way(ANOTHER)
    if not other.open:
        return []
    return [Words(text=" ".join((*other.rows["done"][:1], other.price, *other.rows["wrong"][-1:])))]


def _otherwise(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    turns = any(flip.driver == "to_hear" and flip.above is not None for flip in appraisal.flips)
    said = [
        say("The piano is yours, and so is the choice. To keep it for love is a good reason."),
        *(occasion.told.heart if turns else ()),
        *occasion.told.unseen,
        *occasion.told.who,
        say("Others who can be asked: {names}", names=" ".join(occasion.told.ask_others)),
    ]
    if occasion.shop.second_opinion:
        said.append(say("By name: {names}.", names=listed(occasion.shop.second_opinion)))
    return [
        Points(items=tuple(said)),
        *([Words(text=say(tax.says))] if (tax := tax_of(tables, appraisal.on)).says else []),
        *invented_prices(tables),
        Words(text=say("With kind regards")),
        Signatures(places=((in_one_line(visit.technician), in_one_line(occasion.shop.name)),)),
    ]
