"""One page to be left at the end of the visit: the answer, each way with price and years, what is not known. Pure."""

from __future__ import annotations

from valuation.core.appraisal import Appraisal
from valuation.core.rows import Tables
from valuation.core.visit import Visit
from valuation.language import say
from valuation.report.document import Document, Points, Section, Signatures
from valuation.report.evaluation import head_facts, heading, in_short
from valuation.report.evaluation_limits import always_said, valid_until
from valuation.report.labels import day_words
from valuation.report.occasion import Occasion
from valuation.report.own_words import in_one_line
from valuation.report.words import settle_sentence


def summary(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the one-page summary; arguments as for `valuation.report.evaluation.evaluation`."""
    said = [
        settle_sentence(appraisal),
        say("The figures hold until {day}.", day=day_words(valid_until(occasion, tables))),
        *always_said(appraisal, tables),
    ]
    signed = (
        (say("Left with the client by"), in_one_line(visit.technician or occasion.shop.name)),
        (say("Received by"), in_one_line(visit.client.name)),
    )
    return Document(
        **heading(say("Summary of the visit"), visit, appraisal, occasion),
        dense=True,
        facts=head_facts(visit, appraisal, occasion),
        sections=(
            Section(title=say("In short"), blocks=tuple(in_short(appraisal, tables))),
            Section(title=say("To be borne in mind"), blocks=(Points(items=tuple(said)), Signatures(places=signed))),
        ),
    )
