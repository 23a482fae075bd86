"""What must hold within one row, once all its cells are readable.

Each check is a function ``check(row)`` that yields (column, message) for every fault; `ROW_CHECKS` says which row
has which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from valuation.engine.rows.condition import ConflictRow, FaultRow, OddsRow, PartRow, StateRow, TiltRow
from valuation.engine.rows.country import PAPERS, LawRow, TaxRow
from valuation.engine.rows.evidence import CheckRow, ReadingRow, TakenOverRow
from valuation.engine.rows.jobs import HandoverRow
from valuation.engine.rows.market import BandRow, EraRow, ReplacementRow, SizeRow
from valuation.engine.rows.piano import ChoiceRow
from valuation.engine.rows.words import AT_VISIT, SEVERITIES, STATES
from valuation.engine.rows.work import (
    CautionRow,
    CureRow,
    ForbiddenRow,
    MaterialRow,
    OpeningRow,
    OperationRow,
    RateRow,
    ScopeRow,
)
from valuation.errors import quoted
from valuation.files.row_shapes import Fault, below, dates_run_forward, falls, ranges_rise, shares_add_up
from valuation.rules.answer_checks import check_answer

HUNDRED_WITHIN = 1e-6
"""How far odds of 100 may add up to something other than 100."""

REMEDIES = ("small", "large")
STOPS = ("stop_tune", "stop_raise", "stop_play", "stop_move")


def check_row(row: Any) -> Iterator[Fault]:
    """Yield (column, message) for every fault within one row."""
    for check in ROW_CHECKS.get(type(row), ()):
        yield from check(row)


def _odds_are_of_a_hundred(row: OddsRow) -> Iterator[Fault]:
    total = sum(getattr(row, severity) for severity in SEVERITIES)
    if abs(total - 100) > HUNDRED_WITHIN:
        yield "none", f"the odds {', '.join(SEVERITIES)} add to {total:.6g}; they must add to 100"


def _fails_for_at_least_its_weight(row: PartRow) -> Iterator[Fault]:
    if row.value_failed < row.value_weight:
        yield "value_failed", "it is less than value_weight; a part that has failed can't cost less of the worth"


def _tilt_rises(row: TiltRow) -> Iterator[Fault]:
    if not row.mild <= row.usual <= row.hard:
        yield "usual", f"mild, usual and hard must rise: {row.mild:g}, {row.usual:g}, {row.hard:g}"


def _makes_no_better(row: FaultRow) -> Iterator[Fault]:
    for milder, worse in pairwise(("makes_slight", "makes_marked", "makes_severe")):
        before, after = getattr(row, milder), getattr(row, worse)
        if STATES.index(after) < STATES.index(before):
            yield worse, f"{after} is better than the {before} of {milder}; a worse fault can't make its part better"


def _fault_is_whole(row: FaultRow) -> Iterator[Fault]:
    if row.cause and not row.tilt:
        yield "tilt", f"say how strongly {row.cause} brings it about, or empty the cause"
    if row.tilt and not row.cause:
        yield "cause", "say what brings it about, or empty the tilt"
    extents = (row.extent_slight, row.extent_marked, row.extent_severe)
    if not row.piece and set(extents) != {1.0}:
        yield "piece", "say what is counted, such as 'pin', or empty the extents"


def _conflict_is_of_two(row: ConflictRow) -> Iterator[Fault]:
    if row.fault == row.with_fault:
        yield "with_fault", "a fault can't conflict with itself; name another"


def _follow_up_is_whole(row: CheckRow) -> Iterator[Fault]:
    if row.asked_after and not row.asked_from:
        yield "asked_from", f"say from which severity of {quoted(row.asked_after)} on it is asked"
    if row.asked_from and not row.asked_after:
        yield "asked_after", "say after which check it is asked, or empty asked_from"
    if row.asked_after == row.id:
        yield "asked_after", "a check can't be asked after itself; name another"
    if row.quick and row.asked_after:
        yield "quick", "the quick look asks it only after another check; write no, or empty asked_after"


def _operation_is_whole(row: OperationRow) -> Iterator[Fault]:
    if row.level in REMEDIES and not row.part:
        yield "part", f"a {row.level} remedy needs its part; fill the cell, or make the level access, follow or service"
    if row.level not in REMEDIES:
        for name in ("part", "renews", "lasts_years"):
            if getattr(row, name):
                yield name, f"only a small or large remedy has it; empty the cell, or change the level '{row.level}'"
    if row.level == "large" and row.rung < 1:
        yield "rung", "a large remedy stands on a rung of its part's ladder; write 1 for the least, 2, 3 and so on"
    if row.level != "large" and row.rung:
        yield "rung", f"only a large remedy has a rung; empty the cell, or change the level '{row.level}'"
    if row.loss_of_value and not row.told:
        yield "told", "it lowers the value, so say what a buyer must be told"


def _cure_leaves_no_worse(row: CureRow) -> Iterator[Fault]:
    treated = [(found, getattr(row, found)) for found in SEVERITIES[1:] if getattr(row, found)]
    for found, left in treated:
        if SEVERITIES.index(left) > SEVERITIES.index(found):
            yield found, f"it makes a {found} fault {left}; a remedy can't leave more than it found"
    if not treated:
        yield "severe", "say what is left of at least one of slight, marked and severe"


def _one_reason_forbids(row: ForbiddenRow) -> Iterator[Fault]:
    if bool(row.fault) == bool(row.feature):
        given = "both" if row.fault else "neither"
        yield "fault", f"name exactly one that forbids it, a fault or a feature; given: {given}"
    yield from _since_goes_with_fault(row)


def _caution_has_one_reason(row: CautionRow) -> Iterator[Fault]:
    reasons = [name for name in ("always", "fault", "operation", "feature") if getattr(row, name)]
    if len(reasons) != 1:
        given = " and ".join(reasons) or "none"
        yield "always", f"fill exactly one of always, fault, operation and feature; given: {given}"
    yield from _since_goes_with_fault(row)


def _since_goes_with_fault(row: ForbiddenRow | CautionRow) -> Iterator[Fault]:
    if row.fault and not row.since:
        yield "since", f"say from which severity of the fault on: {', '.join(SEVERITIES[1:])}"
    if row.since and not row.fault:
        yield "since", "only a fault has a severity; empty the cell"


def _closed_takes_nothing(row: OpeningRow) -> Iterator[Fault]:
    for name in ("operations", "forces", "needs", "renews"):
        if row.step == 0 and getattr(row, name):
            yield name, "step 0 opens nothing; empty the cell"
    if row.id == AT_VISIT:
        yield "id", f"'{AT_VISIT}' is kept for what is seen without opening anything; use another name"


def _scope_can_be_filled(row: ScopeRow) -> Iterator[Fault]:
    if row.systems_least > row.systems_most:
        yield (
            "systems_most",
            f"it may renew {row.systems_most} systems at most but must renew {row.systems_least}; no plan could",
        )


def _taken_over_somewhere(row: TakenOverRow) -> Iterator[Fault]:
    if row.severity and not row.check:
        yield "severity", "an answer that is passed over reads nothing; empty the cell, or name the check"


def _era_runs_forward(row: EraRow) -> Iterator[Fault]:
    if row.to_year < row.from_year:
        yield "to_year", f"the era ends in {row.to_year}, before it begins in {row.from_year}"


def _choice_is_free_or_work(row: ChoiceRow) -> Iterator[Fault]:
    if row.free and row.operation:
        yield "free", "an operation is given, so there is work in it; write no, or empty the operation"


def _standard_is_whole(row: HandoverRow) -> Iterator[Fault]:
    if row.to_key < row.from_key:
        yield "to_key", f"the keys end at {row.to_key}, before they begin at {row.from_key}"
    if row.low is None and row.high is None and row.even_within is None:
        yield "low", "the standard asks for nothing; fill low, high or even_within"
    if row.low is not None and row.high is not None and row.low > row.high:
        yield "high", f"it is less than low: {row.high:g} is below {row.low:g}, so nothing could be within"


def _papers_are_known(row: LawRow) -> Iterator[Fault]:
    for paper in row.papers:
        if paper not in PAPERS:
            yield "papers", f"there is no paper {quoted(paper)}; write some of {', '.join(PAPERS)}"


ROW_CHECKS: dict[type, tuple[Callable[[Any], Iterator[Fault]], ...]] = {
    SizeRow: (below("from_mm", "to_mm"),),
    EraRow: (_era_runs_forward,),
    BandRow: (falls("", STATES), dates_run_forward),
    ReplacementRow: (ranges_rise, dates_run_forward),
    ChoiceRow: (_choice_is_free_or_work,),
    HandoverRow: (_standard_is_whole,),
    TakenOverRow: (_taken_over_somewhere,),
    StateRow: (below("score_low", "score_high"),),
    PartRow: (falls("play_", STATES), falls("years_", STATES[:3]), _fails_for_at_least_its_weight),
    TiltRow: (_tilt_rises,),
    FaultRow: (_makes_no_better, _fault_is_whole),
    OddsRow: (_odds_are_of_a_hundred,),
    ConflictRow: (_conflict_is_of_two,),
    ReadingRow: (shares_add_up(*SEVERITIES),),
    CheckRow: (check_answer, _follow_up_is_whole),
    OperationRow: (ranges_rise, _operation_is_whole),
    CureRow: (ranges_rise, _cure_leaves_no_worse),
    ForbiddenRow: (_one_reason_forbids,),
    CautionRow: (_caution_has_one_reason,),
    OpeningRow: (_closed_takes_nothing,),
    ScopeRow: (_scope_can_be_filled,),
    MaterialRow: (ranges_rise, dates_run_forward),
    RateRow: (dates_run_forward,),
    TaxRow: (dates_run_forward,),
    LawRow: (_papers_are_known,),
}
