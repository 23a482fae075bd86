"""What must hold within one row of checks.csv, by how the check is answered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from valuation.core.rows import GRADES, CheckRow
from valuation.files.faults import quoted

Fault = tuple[str, str]

CANNOT_SEE = ("can't be seen", "cannot be seen")
NOT_LOOKED_AT = "not looked at"
_MEASURED = ("unit", "better", "cut_fair", "cut_poor", "cut_failed", "lowest", "highest")
_NEVER_CHOSEN = (*_MEASURED, "target", "repeats_within", "summary", "readings_of", "limit", "of_all")
_WORD = re.compile(r"[a-z0-9_]([a-z0-9_ ]*[a-z0-9_])?")
_SHARE = ("share_below", "share_above")


def check_answer(row: CheckRow) -> Iterator[Fault]:
    """Yield (column, message) where the columns filled don't fit the way the check is answered."""
    if row.answer == "choice":
        yield from _unused(row, _NEVER_CHOSEN, "a check answered by a choice")
        yield from _check_words(row)
        return
    yield from _unused(row, GRADES, "a check answered by a number")
    yield from _needed(row, _MEASURED, "a check answered by a number")
    yield from _check_cuts(row)
    yield from _check_summary(row)


def is_share(row: CheckRow) -> bool:
    """Say whether the check's number is the share of readings beyond a limit."""
    return row.summary in _SHARE


def _check_summary(row: CheckRow) -> Iterator[Fault]:
    if is_share(row):
        yield from _needed(row, ("of_all", "limit", "readings_of"), "a share")
        yield from _unused(row, ("repeats_within",), "a share, whose doubt follows from how many were tried,")
        if row.unit and row.unit != "%":
            yield "unit", f"a share is told in %, not in {row.unit}"
    else:
        yield from _needed(row, ("repeats_within",), "a check answered by a number")
        yield from _unused(row, ("of_all", "limit"), "a check that is not a share")
    if row.answer == "readings":
        yield from _needed(row, ("summary",), "a check answered by readings")
    else:
        yield from _unused(row, ("summary", "readings_of"), "a check answered by one number")


def _check_cuts(row: CheckRow) -> Iterator[Fault]:
    cuts = (row.cut_fair, row.cut_poor, row.cut_failed)
    if row.better and None not in cuts:
        rising = row.better != "high"
        steps = pairwise(cuts)
        if not all(a < b if rising else a > b for a, b in steps):
            order = "rise" if rising else "fall"
            yield "cut_fair", f"where {row.better} is better the cuts must {order} from fair to failed: {_listed(cuts)}"
    if row.better == "near":
        yield from _needed(row, ("target",), "a check where nearer is better")
        if row.cut_fair is not None and row.cut_fair <= 0:
            yield "cut_fair", "where nearer is better the cuts are distances from the target; write them above 0"
    else:
        yield from _unused(row, ("target",), f"a check where {row.better or 'high'} is better")
    if row.lowest is not None and row.highest is not None:
        if not row.lowest < row.highest:
            yield "highest", f"highest must be greater than lowest: {row.highest:g} is not above {row.lowest:g}"
        elif row.target is not None and not row.lowest <= row.target <= row.highest:
            yield "target", f"the target {row.target:g} lies outside {row.lowest:g} to {row.highest:g}"


def _check_words(row: CheckRow) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for grade in GRADES:
        text = getattr(row, grade)
        if not text:
            continue
        word, colon, looks = (piece.strip() for piece in text.partition(":"))
        if not colon or not looks or not _WORD.fullmatch(word):
            yield grade, f"{quoted(text)} must be 'word: what it looks like', the word of a-z, 0-9, _ and spaces"
        if word in seen:
            yield grade, f"the word {quoted(word)} stands under {seen[word]} already; give each grade its own"
        if word in GRADES and word != grade:
            yield grade, f"the word {quoted(word)} is the name of another grade; use another word"
        if word in (*CANNOT_SEE, NOT_LOOKED_AT):
            yield grade, f"{quoted(word)} is kept for a check that was not made; use another word"
        seen[word] = grade
    if not row.good:
        yield "good", "a check answered by a choice needs words for good"
    if not (row.fair or row.poor or row.failed):
        yield "poor", "a check answered by a choice needs words for at least one of fair, poor and failed"


def _needed(row: CheckRow, names: tuple[str, ...], what: str) -> Iterator[Fault]:
    for name in names:
        if getattr(row, name) in ("", None):
            yield name, f"{what} needs its {name}; fill the cell"


def _unused(row: CheckRow, names: tuple[str, ...], what: str) -> Iterator[Fault]:
    for name in names:
        if getattr(row, name) not in ("", None):
            yield name, f"{what} has no use for {name}; empty the cell"


def _listed(numbers: tuple[float, ...]) -> str:
    return ", ".join(f"{number:g}" for number in numbers)
