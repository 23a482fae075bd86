"""What must hold within one row, once all its cells are readable.

Each check is a function ``check(row)`` that yields (column, message) for every fault; `ROW_CHECKS` says which row
has which.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from valuation.core.rows import (
    GRADES,
    STATES,
    TREATMENTS,
    AgeRow,
    BandRow,
    CautionRow,
    CheckRow,
    ChoiceRow,
    EraRow,
    HandoverRow,
    MaterialRow,
    OperationRow,
    PartRow,
    PriorRow,
    RateRow,
    ReplacementRow,
    SizeRow,
    StateRow,
    StrengthRow,
)
from valuation.files.answer_checks import check_answer
from valuation.files.row_shapes import Fault, below, dates_run_forward, falls, ranges_rise, shares_add_up


def check_row(row: Any) -> Iterator[Fault]:
    """Yield (column, message) for every fault within one row."""
    for check in ROW_CHECKS.get(type(row), ()):
        yield from check(row)


def _fails_for_at_least_its_weight(row: PartRow) -> Iterator[Fault]:
    if row.value_failed < row.value_weight:
        yield "value_failed", "it is less than value_weight; a part that has failed can't cost less of the worth"


def _era_runs_forward(row: EraRow) -> Iterator[Fault]:
    if row.to_year < row.from_year:
        yield "to_year", f"the era ends in {row.to_year}, before it begins in {row.from_year}"


def _treatment_is_whole(row: OperationRow) -> Iterator[Fault]:
    if row.level in TREATMENTS:
        for name in ("part", "leaves", "lasts_years"):
            if not getattr(row, name):
                yield (
                    name,
                    f"a {row.level} needs its {name}; fill the cell, or make the level access, follow or service",
                )
        if row.holds_to != "failed" and not row.instead:
            yield "instead", f"it mends no more than {row.holds_to}: say what teardown demands where the part is worse"
        if row.holds_to == "failed" and row.instead:
            yield "instead", "it mends even a failed part, so nothing is needed instead; empty the cell"
        return
    for name in ("part", "leaves", "lasts_years", "instead"):
        if getattr(row, name):
            yield name, f"only repair and replace have a {name}; empty the cell, or change the level '{row.level}'"
    if row.holds_to != "failed":
        yield "holds_to", f"only repair and replace hold to a state; empty the cell, or change the level '{row.level}'"


def _caution_has_one_reason(row: CautionRow) -> Iterator[Fault]:
    reasons = [name for name in ("always", "check", "operation", "feature") if getattr(row, name)]
    if len(reasons) != 1:
        given = " and ".join(reasons) or "none"
        yield "always", f"fill exactly one of always, check, operation and feature; given: {given}"
    if row.check and not row.from_grade:
        yield "from_grade", f"say from which grade of the check on: {', '.join(GRADES[1:])}"
    if row.from_grade and not row.check:
        yield "from_grade", "only a check has a grade; empty the cell"


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


ROW_CHECKS: dict[type, tuple[Callable[[Any], Iterator[Fault]], ...]] = {
    StateRow: (below("score_low", "score_high"),),
    PartRow: (falls("play_", STATES), falls("years_", STATES[:3]), _fails_for_at_least_its_weight),
    AgeRow: (below("from_years", "to_years"),),
    PriorRow: (shares_add_up(*STATES),),
    StrengthRow: (shares_add_up(*GRADES),),
    CheckRow: (check_answer,),
    OperationRow: (ranges_rise, _treatment_is_whole),
    MaterialRow: (ranges_rise,),
    RateRow: (dates_run_forward,),
    SizeRow: (below("from_mm", "to_mm"),),
    EraRow: (_era_runs_forward,),
    BandRow: (falls("", STATES), dates_run_forward),
    ReplacementRow: (ranges_rise, dates_run_forward),
    CautionRow: (_caution_has_one_reason,),
    ChoiceRow: (_choice_is_free_or_work,),
    HandoverRow: (_standard_is_whole,),
}
