"""The written evaluation, as data: what the client takes home and a technician can check, section by section. Pure.

`valuation.report.sheet`, `quotation` and `retire_letter` are the shorter papers beside it.
"""

from __future__ import annotations

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_advice import Reason
from valuation.engine.rows import Tables
from valuation.facts.visit import Visit
from valuation.language import later, say
from valuation.report import evaluation_limits as limits_of
from valuation.report.document import Block, Document, Grid, Points, Section, Verdict, Words
from valuation.report.evaluation_piano import condition, in_other_words, the_piano, what_was_looked_at
from valuation.report.evaluation_ways import prices_in_short, way_named, ways, ways_side_by_side
from valuation.report.evaluation_work import work
from valuation.report.format import money
from valuation.report.heads import head_facts, heading
from valuation.report.not_yet import not_yet
from valuation.report.occasion import Occasion
from valuation.report.words import (
    beside_the_verdict,
    clarity_sentence,
    flip_sentence,
    reason_in_short,
    settle_sentence,
    verdict_sentence,
)

_MOST_REASONS, _MOST_FAULTS_TURNING = 8, 2

_TITLES = {"upright": later("Evaluation of an upright piano"), "grand": later("Evaluation of a grand piano")}


def evaluation(visit: Visit, appraisal: Appraisal, tables: Tables, occasion: Occasion) -> Document:
    """Return the written evaluation.

    Parameters
    ----------
    visit : Visit
        What was seen.
    appraisal : Appraisal
        What was worked out from it, with the same tables.
    occasion : Occasion
        Who writes, for what, with which photos and choices.

    Returns
    -------
    Document
        The same for the same input, in the language spoken. Where the piano is not evaluated yet, what to look at
        first and nothing else.
    """
    if not appraisal.ready:
        return not_yet(visit, appraisal, tables, occasion)
    sections = [
        Section(title=say("In short"), blocks=tuple(in_short(appraisal, tables, occasion))),
        Section(title=say("What this paper is for"), blocks=tuple(limits_of.purpose(visit, appraisal, occasion))),
        Section(title=say("The piano"), blocks=tuple(the_piano(visit, tables, occasion))),
        Section(
            title=say("What was looked at, and what was not"),
            blocks=tuple(what_was_looked_at(visit, appraisal, tables, occasion)),
        ),
        Section(title=say("Condition"), blocks=tuple(condition(visit, appraisal, tables, occasion))),
        Section(title=say("In other words"), blocks=tuple(in_other_words(appraisal, tables)), compact=True),
        Section(title=say("The ways forward"), blocks=tuple(ways(appraisal, tables, occasion))),
        Section(title=say("Why, and what would change it"), blocks=tuple(why(appraisal))),
        Section(title=say("The work and its price"), blocks=tuple(work(appraisal, tables, occasion))),
        Section(title=say("Values"), blocks=tuple(limits_of.values(visit, appraisal, tables, occasion))),
        Section(title=say("Cautions"), blocks=tuple(limits_of.cautions(appraisal, tables))),
        Section(title=say("How it was worked out"), blocks=tuple(limits_of.method(appraisal, occasion))),
        Section(
            title=say("Limits, our own interest, and who else to ask"),
            blocks=tuple(limits_of.limits(visit, appraisal, tables, occasion)),
        ),
        Section(
            title=say("For the record"),
            blocks=(*limits_of.not_made(visit, tables), *limits_of.trace(appraisal, occasion)),
            compact=True,
        ),
        Section(title=say("The ways, side by side"), across=True, blocks=tuple(ways_side_by_side(occasion))),
    ]
    return Document(
        **heading(say(_TITLES[visit.piano.kind]), visit, appraisal, occasion),
        facts=head_facts(visit, appraisal, occasion, as_of=say("Values as of")),
        sections=tuple(section for section in sections if section.blocks),
    )


def in_short(appraisal: Appraisal, tables: Tables, occasion: Occasion) -> list[Block]:
    """Return the answer: what comes before all, the verdict, the condition in a few words, each way with its price."""
    told = occasion.told
    return [
        *(Words(text=text, style="stop") for text in told.first),
        Verdict(sentence=verdict_sentence(appraisal), how_sure=clarity_sentence(appraisal, way_named(appraisal))),
        Points(items=tuple(text for text in (" ".join(beside_the_verdict(appraisal)), " ".join(told.found)) if text)),
        Points(items=told.unseen),
        prices_in_short(appraisal, occasion),
        *limits_of.invented_prices(tables),
        *limits_of.not_set_yet(tables, appraisal.on),
    ]


def why(appraisal: Appraisal) -> list[Block]:
    """Return the reasons for and against by weight, what would turn the verdict, and whether to look further."""
    weighed = [reason for reason in appraisal.reasons if reason.code != "stop_rule"][:_MOST_REASONS]
    named = way_named(appraisal)
    turning = [flip for flip in appraisal.flips if flip.below is not None or flip.above is not None]
    faults = sorted((flip for flip in appraisal.flips if flip.state), key=lambda flip: -flip.chance)
    flips = [flip_sentence(flip, appraisal, named) for flip in [*turning, *faults[:_MOST_FAULTS_TURNING]]]
    return [
        *(_weighed(weighed, appraisal) if weighed else [Words(text=say("Nothing to weigh it against."))]),
        Words(text=say("What would change it:")),
        Points(items=tuple(flips) or (say("Nothing within reach turns this verdict."),)),
        Words(text=settle_sentence(appraisal)),
    ]


def _weighed(reasons: list[Reason], appraisal: Appraisal) -> list[Block]:
    """Return the reasons as a table, the weightiest first: each says for which way it speaks, and how loudly."""
    named = way_named(appraisal)
    rows = tuple(
        (reason_in_short(reason, appraisal), named(reason.speaks_for), named(reason.over), money(reason.weight))
        for reason in reasons
    )
    note = [say("The reasons by their weight, on average over all that may turn out.")]
    if any(reason.code == "part" for reason in reasons):
        note.append(say("For a part: how much more than if it were sound."))
    return [
        Words(text=" ".join(note)),
        Grid(
            caption=say("The reasons by their weight"),
            head=(
                say("What counts"),
                say("speaks for"),
                say("rather than"),
                say("by, in {currency}", currency=appraisal.currency),
            ),
            rows=rows,
            align="lllr",
            widths=(2, 1, 1, 0.6),
        ),
    ]
