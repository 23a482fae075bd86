"""One page to be left at the end of the visit: the answer, each way with price and years, what is not known. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.document import Document, Points, Section, Signatures
from valuation.report.evaluation import head_facts, heading, in_short
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.words import settle_sentence


def summary(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the one-page summary; arguments as for `valuation.report.evaluation.evaluation`."""
    told = occasion.told
    wished = "; ".join(f"{question}: {answer}" for question, answer in occasion.chose)
    said = [
        *([say("You told us: {wishes}.", wishes=wished)] if wished else []),
        *told.by_hand,
        settle_sentence(appraisal),
        " ".join((told.holds, *told.who)),
        say("Our signatures say that we have talked. They order nothing."),
    ]
    signed = (
        (say("For the workshop"), in_one_line(visit.technician or occasion.shop.name)),
        (say("For the client"), in_one_line(visit.client.name)),
    )
    return Document(
        **heading(say("What we talked about"), visit, appraisal, occasion),
        dense=True,
        facts=head_facts(visit, appraisal, occasion),
        sections=(
            Section(title=say("In short"), blocks=tuple(in_short(appraisal, tables, occasion))),
            Section(title=say("To be borne in mind"), blocks=(Points(items=tuple(said)), Signatures(places=signed))),
        ),
    )
