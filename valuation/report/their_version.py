"""Their version: a way planned anew by what the client wants done and left, with one true price. Pure.

What they decline, and each part that is to stay as it is, is planned around; what they ask for is done whatever is
found. The page, the sheet and the quotation all show this one price.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from valuation.engine.adding import added
from valuation.engine.appraised_work import OptionResult
from valuation.engine.decision import gates_hold
from valuation.engine.prospects import Prospect, prospects
from valuation.engine.results import planned
from valuation.engine.rows import QUESTIONS, ChoiceRow
from valuation.engine.study import Answer, Study, decide_at
from valuation.engine.without import without
from valuation.report.quote import Quote, quote_of, with_chosen
from valuation.report.wishes import Wishes

STAYS = ("keep", "partial_repair", "rebuild")
"""Ways on which the piano stays."""


@dataclass(frozen=True, kw_only=True)
class TheirVersion:
    """A way as the client wants it.

    Attributes
    ----------
    way : str
        'keep', 'partial_repair' or 'rebuild'.
    option : OptionResult
        The way with what they asked for; its ranges are single figures.
    prospect : Prospect
        Years, playing and worth of the way planned anew; what they asked for beside it is not counted there.
    quote : Quote
        Fixed lines, if-found lines, tax, and the most it can come to.
    asked : tuple of ChoiceRow
        Choices whose work is in the price.
    not_in_price : tuple of ChoiceRow
        Choices that are quoted by themselves.
    against_wish : tuple of ChoiceRow
        Choices that would change a part that is to stay as it is: not in the price until they say which of the two.
    left : tuple of str
        Parts that stay as they are because the client wants it so.
    """

    way: str
    option: OptionResult
    prospect: Prospect
    quote: Quote
    asked: tuple[ChoiceRow, ...]
    not_in_price: tuple[ChoiceRow, ...]
    against_wish: tuple[ChoiceRow, ...]
    left: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoVersion:
    """A way that there is not with what the client wants.

    Attributes
    ----------
    why_not : str
        Rule by which it is not offered, see `valuation.report.ways.refusal_words`; empty where no plan holds.
    """

    way: str
    why_not: str


Versions = Mapping[str, TheirVersion | NoVersion]
"""By way of `STAYS`."""


def their_versions(study: Study, answer: Answer, wishes: Wishes) -> dict[str, TheirVersion | NoVersion]:
    """Return every way on which the piano stays as the client wants it; as for `their_version`."""
    return {way: their_version(study, answer, wishes, way) for way in STAYS}


def their_version(study: Study, answer: Answer, wishes: Wishes, way: str) -> TheirVersion | NoVersion:
    """Return a way as the client wants it, or why there is none.

    Parameters
    ----------
    study : Study
        The piano with the levels that the workshop set by hand; those that go against a wish no longer hold.
    answer : Answer
        The study decided, which is their version where they decline nothing.
    wishes : Wishes
        Their choices, and the parts that are to stay as they are.
    way : str
        One of `STAYS`.

    Raises
    ------
    ValueError
        If the piano goes on that way, or there is no such way.
    """
    if way not in STAYS:
        raise ValueError(f"{way!r} is no way on which the piano stays; write one of {', '.join(STAYS)}")
    rows = chosen_rows(study, wishes)
    parts = _parts_left(study, wishes)
    left, decided = planned_anew(study, answer, wishes)
    scope = decided.decision.best.get(way)
    if scope is None:
        refused = [other.why_not for other in decided.decision.scopes if other.verdict == way and not other.offered]
        return NoVersion(way=way, why_not=refused[-1] if refused else "")
    if way != "keep" and not gates_hold(decided.bench, scope.plan):
        return NoVersion(way=way, why_not="gate_fails")
    option = planned(left, decided, scope)
    asked, not_in_price, against = [], [], []
    wanted: set[str] = set()
    for row in rows:
        if row.free:
            continue
        operation = left.catalogue.operations.get(row.operation)
        if operation is not None and operation.part in parts:
            against.append(row)
            continue
        more = added(left, decided, option, row.operation) if operation is not None else None
        if more is None:
            not_in_price.append(row)
            continue
        asked.append(row)
        if more.lines:
            option = with_chosen(option, [more], study.prices.tax)
            wanted |= {line.operation for line in more.lines}
    return TheirVersion(
        way=way,
        option=option,
        prospect=prospects(left, decided)[way],
        quote=quote_of(option, study.prices.tax, wanted),
        asked=tuple(asked),
        not_in_price=tuple(not_in_price),
        against_wish=tuple(against),
        left=parts,
    )


def chosen_rows(study: Study, wishes: Wishes) -> tuple[ChoiceRow, ...]:
    """Return the choices that the client has made and that this piano allows, in the order asked."""
    rows = {row.id: row for row in study.tables.choices}
    chosen = [rows.get(wishes.chosen(question)) for question in QUESTIONS]
    return tuple(row for row in chosen if row is not None and _fits(row, study))


def _fits(row: ChoiceRow, study: Study) -> bool:
    return not row.feature or row.feature in study.visit.piano.features


def _parts_left(study: Study, wishes: Wishes) -> tuple[str, ...]:
    return tuple(part for part in wishes.left_original if part in study.condition.network.part_index)


def planned_anew(study: Study, answer: Answer, wishes: Wishes) -> tuple[Study, Answer]:
    """Return the piano less what the client declines and wants left, with what is then decided."""
    declined = frozenset(name for row in chosen_rows(study, wishes) for name in row.declines)
    parts = frozenset(_parts_left(study, wishes))
    return _planned_anew(study, declined, parts) if declined or parts else (study, answer)


@lru_cache(maxsize=8)
def _planned_anew(study: Study, declined: frozenset[str], parts: frozenset[str]) -> tuple[Study, Answer]:
    left = without(study, declined, parts)
    return left, decide_at(left)
