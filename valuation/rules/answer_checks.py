"""What must hold within one row of checks.csv, by how the check is answered."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from valuation.engine.rows.evidence import CheckRow
from valuation.engine.rows.words import SEVERITIES
from valuation.errors import quoted
from valuation.facts.answers import CANNOT_SEE, NOT_LOOKED_AT
from valuation.files.row_shapes import Fault

PIECES = "pieces"
_CUTS = ("cut_slight", "cut_marked", "cut_severe")
_MEASURED = ("unit", "better", *_CUTS)
_ONLY_NUMBERS = (*_MEASURED, "repeats_within", "lowest", "highest", "summary", "readings_of", "limit", "of_all")
_SHARE = ("share_below", "share_above")
_WORD = re.compile(r"[a-z0-9_]([a-z0-9_ '/-]*[a-z0-9_])?")


def check_answer(row: CheckRow) -> Iterator[Fault]:
    """Yield (column, message) where the columns filled don't fit the way the check is answered."""
    if row.answer == "choice":
        yield from _unused(row, _ONLY_NUMBERS, "a check answered by a choice")
        if row.per_ten_humidity:
            yield "per_ten_humidity", "a check answered by a choice has no reading that humidity could move; write 0"
        yield from _check_words(row)
        return
    yield from _unused(row, SEVERITIES, "a check answered by a number")
    yield from _needed(row, _MEASURED, "a check answered by a number")
    yield from _check_cuts(row)
    yield from _check_summary(row)


def is_share(row: CheckRow) -> bool:
    """Say whether the check's number is the share of readings beyond a limit."""
    return row.summary in _SHARE


def _check_summary(row: CheckRow) -> Iterator[Fault]:
    if is_share(row):
        yield from _needed(row, ("limit",), "a share")
        if row.unit and row.unit != "%":
            yield "unit", f"a share is told in %, not in {row.unit}"
    else:
        yield from _needed(row, ("repeats_within",), "a check answered by a number")
        if row.summary != PIECES:
            yield from _unused(row, ("limit", "of_all"), "a check that is not a share")
    if row.answer == "readings":
        yield from _needed(row, ("summary",), "a check answered by readings")
    else:
        yield from _unused(row, ("summary",), "a check answered by one number")


def _check_cuts(row: CheckRow) -> Iterator[Fault]:
    cuts = [cut for cut in (getattr(row, name) for name in _CUTS) if cut is not None]
    if row.better and len(cuts) == len(_CUTS):
        rising = row.better == "low"
        if not all(a < b if rising else a > b for a, b in pairwise(cuts)):
            order, listed = "rise" if rising else "fall", ", ".join(f"{cut:g}" for cut in cuts)
            yield "cut_slight", f"where {row.better} is better the cuts must {order} from slight to severe: {listed}"
    if row.lowest is not None and row.highest is not None and not row.lowest < row.highest:
        yield "highest", f"highest must be greater than lowest: {row.highest:g} is not above {row.lowest:g}"


def _check_words(row: CheckRow) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for severity in SEVERITIES:
        text = getattr(row, severity)
        if not text:
            continue
        word, colon, looks = (piece.strip() for piece in text.partition(":"))
        if not colon or not looks or not _WORD.fullmatch(word):
            message = f"{quoted(text)} must be 'word: what it looks like', the word of a-z, 0-9, _, -, ', / and spaces"
            yield severity, message
        if word in seen:
            message = f"the word {quoted(word)} stands under {seen[word]} already; give each severity its own"
            yield severity, message
        if word in SEVERITIES and word != severity:
            yield severity, f"the word {quoted(word)} is the name of another severity; use another word"
        if word in (*CANNOT_SEE, NOT_LOOKED_AT):
            yield severity, f"{quoted(word)} is kept for a check that was not made; use another word"
        seen[word] = severity
    if not row.none:
        yield "none", "a check answered by a choice needs words for none"
    if not (row.slight or row.marked or row.severe):
        yield "marked", "a check answered by a choice needs words for at least one of slight, marked and severe"


def _needed(row: CheckRow, names: tuple[str, ...], what: str) -> Iterator[Fault]:
    for name in names:
        if getattr(row, name) in ("", None):
            yield name, f"{what} needs its {name}; fill the cell"


def _unused(row: CheckRow, names: tuple[str, ...], what: str) -> Iterator[Fault]:
    for name in names:
        if getattr(row, name) not in ("", None):
            yield name, f"{what} has no use for {name}; empty the cell"
