"""A plain letter to somebody whose piano is at its end: what was found, what can be kept, where it can go. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.pack import ORIENTATION, cited, pack_of
from valuation.engine.prospects import ANOTHER
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say
from valuation.report.document import Block, Document, Points, Section, Signatures, Words
from valuation.report.evaluation_limits import invented_prices
from valuation.report.fault_words import stop_sentences
from valuation.report.format import money, money_range, years_range
from valuation.report.heads import heading
from valuation.report.labels import day_words, listed
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line

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
                *_found(visit, appraisal, occasion),
            ),
        ),
        Section(title=say("What you can keep"), blocks=(Points(items=_keep()),)),
        Section(title=say("Where it can go"), blocks=(Points(items=_go(appraisal, occasion)),)),
        Section(title=say("So that nobody gets hurt"), blocks=(Points(items=_safety(visit, appraisal, tables)),)),
        *([Section(title=say("Where the law has a say"), blocks=(Points(items=law),))] if law else []),
        Section(title=say("If you want to go on playing"), blocks=tuple(_playing(occasion))),
        Section(title=say("If you see it otherwise"), blocks=tuple(_otherwise(visit, appraisal, tables, occasion))),
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


def _found(visit: Visit, appraisal: Appraisal, occasion: Occasion) -> list[Block]:
    day = day_words(visit.on)
    blocks: list[Block] = [
        Words(
            text=say(
                "Thank you for letting us look at your piano on {day}. This letter says in plain words what we "
                "found, and "
                "what you can do now.",
                day=day,
            )
        )
    ]
    if appraisal.verdict == "retire":
        blocks.append(
            Words(
                text=say(
                    "We have to tell you that work on it does not pay. We live by such work, and still advise "
                    "against it."
                )
            )
        )
    else:
        blocks.append(Words(text=say("You asked what you can do if you part with it. Here is what helps with that.")))
    blocks.append(Words(text=" ".join(occasion.told.found)))
    if "rebuild" in occasion.prospects:
        blocks.append(Words(text=_what_a_rebuild_would_be(appraisal, occasion)))
    blocks.append(
        Words(
            text=say(
                "Wood, felt and wire grow old, in the best of houses too. That takes nothing from what this "
                "piano has been "
                "to those who played it."
            )
        )
    )
    return blocks


def _what_a_rebuild_would_be(appraisal: Appraisal, occasion: Occasion) -> str:
    rebuilt = occasion.prospects["rebuild"]
    price, value = money(_fixed(appraisal)), money(rebuilt.expected_value)
    if round(rebuilt.years.high) < 1:
        return say(
            "To rebuild it would cost {price} {currency} or more, tax included, and even then nobody could promise "
            "that it plays well. It would sell for about {value} {currency}.",
            price=price, currency=appraisal.currency, value=value,
        )  # fmt: skip
    return say(
        "To rebuild it would cost {price} {currency} or more, tax included. It would then be good for {years} years, "
        "and would sell for about {value} {currency}.",
        price=price, currency=appraisal.currency, value=value, years=years_range(rebuilt.years),
    )  # fmt: skip


def _fixed(appraisal: Appraisal) -> float:
    option = appraisal.option("rebuild")
    assert option is not None, "a way that is open has its option"
    return option.fixed_price


def _keep() -> tuple[str, ...]:
    return (
        say("A photo of it in its place, with those who played it. Take it before it is moved."),
        say(
            "The music desk, the name from above the keys, a hammer, a key, the lamp, the stool. Ask us to take "
            "them off, so that nobody is hurt."
        ),
        say(
            "A part of the case can become a shelf or a frame. Leave the strings and the iron frame to those who "
            "know them."
        ),
    )


def _go(appraisal: Appraisal, occasion: Occasion) -> tuple[str, ...]:
    said = []
    if appraisal.worth_selling:
        said.append(
            say(
                "Sell it as it stands: about {value} {currency}, 8 of 10 between {range}. Show this letter to "
                "the buyer.",
                value=money(appraisal.value_now.likely),
                currency=appraisal.currency,
                range=money_range(appraisal.value_now),
            )
        )  # fmt: skip
    else:
        said.append(say("We do not think that anybody would pay for it as it stands."))
    said += [
        say("Give it to somebody who knows its state, and give this letter with it."),
        say("Ask a school, church or club before you offer it: they may have to pay for disposal later."),
        say("A workshop may take it for its parts. Ask more than one."),
    ]
    haul = next((-value.amount.likely for value in occasion.values if value.of == "disposal"), 0.0)
    away = say("Have it taken away by carriers who know pianos, to where your local rules say that it may go.")
    if haul > 0:
        away += " " + say("That costs about {amount} {currency}.", amount=money(haul), currency=appraisal.currency)
    said.append(away)
    said.append(
        say(
            "It is no household waste: iron, varnished wood, felt and lead weights go different ways. The waste "
            "office of your town says which."
        )
    )
    return tuple(said)


def _safety(visit: Visit, appraisal: Appraisal, tables: Tables) -> tuple[str, ...]:
    """Return what can hurt: what must not be done, and the cautions of opening, tilting and carrying it."""
    reached = {row.id for row in tables.of_kind("operations", visit.piano.kind).values() if row.level == "access"}
    stops = [say("For whoever works on it next: {text}", text=text) for text in stop_sentences(appraisal)]
    handled = [say(row.plain) for row in tables.cautions if row.operation in reached and row.plain]
    handled.append(say("Leave carrying it to people who move pianos."))
    told = say(
        "Please do not take it apart, break it up or burn it yourselves: its strings are under great tension "
        "even when it no longer plays."
    )
    return tuple(dict.fromkeys([told, *stops, *handled]))


def _law(visit: Visit, tables: Tables) -> tuple[str, ...]:
    """Return what the country's law binds of what this piano is made of."""
    bound = [cited(row) for row in pack_of(tables).on_paper("letter", visit.piano.features) if row.feature]
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
    return [Words(text=" ".join((*other.rows["done"][:1], other.price, *other.rows["wrong"][1:])))]


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
        *invented_prices(tables),
        Words(text=say("With kind regards")),
        Signatures(places=((in_one_line(visit.technician), in_one_line(occasion.shop.name)),)),
    ]
