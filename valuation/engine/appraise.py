"""The whole way: from what was found on a piano to a verdict that explains itself.

In: a visit, the tables, a day. Out: an `Appraisal`, the same for the same input, byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from valuation.engine.appraisal import Appraisal
from valuation.engine.doubts import conflicts_of
from valuation.engine.next_looks import known_of, looks_of, readiness_of
from valuation.engine.outcomes import outcomes_of
from valuation.engine.reasons import reasons
from valuation.engine.results import put_together
from valuation.engine.rows.tables import Tables
from valuation.engine.study import Answer, Study, decide_at, study_of
from valuation.engine.turns import flips
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Visit


def appraise(
    visit: Visit,
    tables: Tables,
    *,
    on: date,
    draws: int = 8192,
    seed: int = 0,
    sold: PricesByState | None = None,
    set_levels: Mapping[str, str] | None = None,
    turns: bool = True,
) -> Appraisal:
    """Appraise one visit: condition, scopes with price and value, verdict, reasons, what to check next.

    Parameters
    ----------
    visit : Visit
        What is known of the piano; anything may be unknown.
    tables : Tables
        The shop's tables.
    on : date
        Day whose rates and price bands count.
    draws : int
        Draws behind the bands, a power of two from 1,024 to 65,536. The verdict itself needs none.
    seed : int
        Shifts the draws.
    sold : PricesByState, optional
        Prices from the shop's own sales, instead of those of the band table.
    set_levels : mapping of str to str, optional
        Parts set by hand: 'keep', 'repair' or 'replace'.
    turns : bool
        Work out where the verdict turns: many plans anew, left out where nobody reads it. What is not evaluated yet
        has no verdict to turn.

    Raises
    ------
    NotInForce
        If the tables hold no rate or price band for that day.
    ValueError
        If the number of draws is not such a power of two.
    """
    study = study_of(visit, tables, on=on, sold=sold, set_levels=set_levels, draws=draws, seed=seed)
    return report(study, turns=turns)


def report(study: Study, answer: Answer | None = None, *, turns: bool = True) -> Appraisal:
    """Put together everything that a study says, at today's figures or at those of an answer."""
    answer = answer or decide_at(study)
    known, readiness = known_of(study, answer), readiness_of(study)
    return put_together(
        study,
        answer,
        outcomes_of(study, answer),
        readiness=readiness,
        looks=looks_of(study, known),
        reasons=reasons(study, answer, known),
        flips=flips(study, answer, known) if turns and readiness.ready else (),
        conflicts=conflicts_of(study.tables, study.condition),
    )
