"""The sheet of their own piano, one leaf: the drawing with what was found; the ways, their version. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.money import tax_of
from valuation.engine.pack import appraiser
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.document import Document, Points, Section, WayPicture, Words
from valuation.report.drawn import drawn, photos_elsewhere
from valuation.report.evaluation_limits import holds, invented_prices
from valuation.report.heads import head_facts, heading
from valuation.report.labels import listed, with_capital
from valuation.report.not_yet import not_yet
from valuation.report.occasion import Occasion
from valuation.report.tax_words import with_tax


def sheet(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the sheet; arguments as for `valuation.report.evaluation.evaluation`."""
    if not appraisal.ready:
        return not_yet(visit, appraisal, tables, occasion)
    told, leaf = occasion.told, occasion.leaf
    assert leaf is not None, "a piano that is evaluated has its leaf"
    how, tax = leaf.how, tax_of(tables, appraisal.on)
    advice = [Words(text=text) for text in told.advice] if occasion.advice else []
    last = (
        *told.by_hand,
        holds(occasion),
        say("This is our own estimate, and no certified value. Who certifies one: {appraiser}.",
            appraiser=appraiser(tables)),
        say("We also sell the work told of here. A second opinion is welcome."),
        say("Nothing is ordered by this sheet."),
        *([say(tax.says)] if tax.says else []),
    )  # fmt: skip
    sections = (
        Section(
            title=say("How it is"),
            blocks=(
                *(Words(text=text, style="stop") for text in how.first),
                drawn(visit, how, occasion),
                *photos_elsewhere(how, occasion),
            ),
        ),
        Section(
            title=say("The ways you have"),
            blocks=(
                WayPicture(
                    heads=(
                        say("You pay, in {currency}", currency=with_tax(appraisal.currency, tax)),
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
        facts=head_facts(visit, appraisal, occasion, as_of=say("Values as of")),
        sections=tuple(section for section in sections if section.blocks),
    )


def _closed(ways: tuple[str, ...]) -> list[Words]:
    return [Words(text=say("Not open: {ways}.", ways=listed(ways)), style="small")] if ways else []
