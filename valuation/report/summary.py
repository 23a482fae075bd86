"""One page to be left at the end of the visit: the answer, each way with price and years, what is not known. Pure."""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import say
from valuation.report.document import Document, Points, Section, Signatures
from valuation.report.evaluation import in_short
from valuation.report.heads import head_facts, heading
from valuation.report.not_yet import not_yet
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.words import settle_sentence


def summary(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the one-page summary; arguments as for `valuation.report.evaluation.evaluation`."""
    if not appraisal.ready:
        return not_yet(visit, appraisal, tables, occasion)
    told = occasion.told
    wished = "; ".join(f"{question}: {answer}" for question, answer in occasion.chose)
    said = [
        *([say("You told us: {wishes}.", wishes=wished)] if wished else []),
        *told.by_hand,
        settle_sentence(appraisal),
        " ".join((told.holds, *told.who)),
        say("By signing we confirm our talk. Nothing is ordered."),
    ]
    signed = (
        (say("For the workshop"), in_one_line(visit.technician or occasion.shop.name)),
        (say("For the client"), in_one_line(visit.client.name)),
    )
    return Document(
        **heading(say("What we talked about"), visit, appraisal, occasion),
        facts=head_facts(visit, appraisal, occasion),
        sections=(
            Section(title=say("In short"), blocks=tuple(in_short(appraisal, tables, occasion))),
            Section(title=say("Please note"), blocks=(Points(items=tuple(said)), Signatures(places=signed))),
        ),
    )
