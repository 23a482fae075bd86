"""The sheet of their own piano, one leaf: the drawing with what was found; the ways, their version. Pure."""

from __future__ import annotations

from valuation.drawing import draw, drawn_parts
from valuation.drawing.draw import in_words
from valuation.engine.appraisal import Appraisal
from valuation.engine.pack import appraiser
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.document import Document, Drawing, Numbered, Points, Section, WayPicture, Words
from valuation.report.evaluation_limits import invented_prices
from valuation.report.heads import head_facts, heading
from valuation.report.labels import listed, with_capital
from valuation.report.not_yet import not_yet
from valuation.report.occasion import Occasion
from valuation.report.talk.how_it_is import SHOWN, HowItIs, Seen


def sheet(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the sheet; arguments as for `valuation.report.evaluation.evaluation`."""
    if not appraisal.ready:
        return not_yet(visit, appraisal, tables, occasion)
    told, leaf = occasion.told, occasion.leaf
    assert leaf is not None, "a piano that is evaluated has its leaf"
    how = leaf.how
    advice = [Words(text=text) for text in told.advice] if occasion.advice else []
    last = (
        *told.by_hand,
        told.holds,
        say("This is our own estimate, and no certified value. For one ask: {appraiser}.", appraiser=appraiser(tables)),
        say("We also sell the work told of here. A second opinion is welcome."),
        say("Nothing is ordered by this sheet."),
    )
    sections = (
        Section(
            title=say("How it is"),
            blocks=(
                *(Words(text=text, style="stop") for text in how.first),
                Drawing(svg=drawing_of(visit.piano.kind, how), alt=_alt(visit.piano.kind, how)),
                Numbered(items=tuple(_numbered(item, occasion) for item in how.seen[:SHOWN])),
                *_rest(how),
            ),
        ),
        Section(
            title=say("The ways you have"),
            blocks=(
                WayPicture(
                    heads=(
                        say("You pay, in {currency}, with tax", currency=appraisal.currency),
                        say("It is worth then"),
                        say("Good years"),
                    ),
                    ways=leaf.ways,
                ),
                *_closed(leaf.closed),
                Words(
                    text=say(
                        "In 8 of 10 such cases worth and good years end within these figures. Good years end when a "
                        "part gives out that you need to play."
                    ),
                    style="small",
                ),
            ),
        ),
        Section(title=say("Your version"), blocks=(Points(items=leaf.version),) if leaf.version else ()),
        Section(title=say("What we would do"), blocks=tuple(advice)),
        Section(
            title=say("In other words"),
            blocks=(Points(items=tuple(f"{with_capital(name)}: {what}" for name, what in leaf.words)),)
            if leaf.words
            else (),
            compact=True,
        ),
        Section(title=say("Please note"), blocks=(Points(items=last), *invented_prices(tables)), compact=True),
    )
    return Document(
        **heading(say("Your piano"), visit, appraisal, occasion),
        facts=head_facts(visit, appraisal, occasion),
        sections=tuple(section for section in sections if section.blocks),
    )


def _closed(ways: tuple[str, ...]) -> list[Words]:
    return [Words(text=say("Not open: {ways}.", ways=listed(ways)), style="small")] if ways else []


def drawing_of(kind: str, how: HowItIs) -> str:
    """Return the drawing of a piano with the numbers of what was found on it, as SVG."""
    there = set(drawn_parts(kind))
    return draw(
        kind,
        {part: state for part, state in how.states.items() if part in there},
        names={part: name for part, name in how.names.items() if part in there},
        numbers={item.part: (item.number,) for item in how.seen[:SHOWN] if item.part in there},
    )


def _alt(kind: str, how: HowItIs) -> str:
    there = set(drawn_parts(kind))
    states = {part: state for part, state in how.states.items() if part in there}
    return in_words(kind, states, {part: name for part, name in how.names.items() if part in there})


def _numbered(item: Seen, occasion: Occasion) -> tuple[int, str, str, str]:
    """Return number, sentence, photo and what it shows; the photo is the first of a check that showed the fault."""
    photo = next((photo for check in item.checks for photo in occasion.photos if photo.check == check), None)
    shown = say("Photo: {what}", what=item.text)
    name, alt = (photo.name, photo.alt or photo.caption or shown) if photo is not None else ("", "")
    return item.number, f"{item.name}. {item.text}", name, alt


def _rest(how: HowItIs) -> list[Words]:
    more = sum(1 for item in how.seen[SHOWN:])
    also = say("Also found: {parts}.", parts=listed([item.name for item in how.seen[SHOWN:]])) if more else ""
    texts = [text for text in (also, *how.rest, how.unseen) if text]
    return [Words(text=" ".join(texts), style="small")] if texts else []
