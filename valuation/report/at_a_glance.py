"""What a verdict shows at a glance: the state of each part for the drawing, and the ways side by side. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose

from valuation.drawing import NOT_LOOKED_AT, UNSEEN, drawn_parts
from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_condition import PartResult
from valuation.engine.appraised_work import OptionResult, ScopeResult
from valuation.engine.decision import PAYS, RETIRE
from valuation.engine.rows import STATES, Tables
from valuation.engine.rows.country import TaxRow
from valuation.facts.visit import Range
from valuation.language import say
from valuation.report.labels import option_name, with_capital
from valuation.report.quote import quote_of

_WORN = STATES.index("worn")
MOST_NUMBERED = 3
"""Parts that are told beside the drawing, at most."""


def part_states(found: Appraisal, tables: Tables, kind: str) -> dict[str, str]:
    """Return the state of each part in which it is drawn; what nobody could see is no state, nor is what nobody saw."""
    checks, part_of = tables.of_kind("checks", kind), {row.id: row.part for row in tables.faults}
    hidden = {part_of.get(checks[check].reads) for check in found.cannot_see}
    drawn = set(drawn_parts(kind))
    return {
        part.part: part.state if part.looked_at else UNSEEN if part.part in hidden else NOT_LOOKED_AT
        for part in found.parts
        if part.part in drawn
    }


def part_names(tables: Tables, kind: str) -> dict[str, str]:
    """Return what each drawn part is called on the drawing."""
    drawn = set(drawn_parts(kind))
    return {row.id: say(row.called or row.name) for row in tables.parts if row.id in drawn}


def worst_seen(found: Appraisal, kind: str) -> tuple[PartResult, ...]:
    """Return the parts that were looked at and are worn or failed, the worst first."""
    drawn = set(drawn_parts(kind))
    bad = [
        part for part in found.parts
        if part.looked_at and part.part in drawn and STATES.index(part.state) >= _WORN
    ]  # fmt: skip
    return tuple(sorted(bad, key=lambda part: (-STATES.index(part.state), part.score)))[:MOST_NUMBERED]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way as it stands beside the others. Money with tax, in the shop's currency.

    Attributes
    ----------
    fixed, most : float
        The price that is signed, and with all that may be found. Below nought: what is left over.
    worth : float
        What the piano, or the one in its place, is worth then, on average.
    years : Range
        Good years; nought where there are none.
    chosen : bool
        It is the verdict.
    """

    name: str
    fixed: float
    most: float
    worth: float
    years: Range
    chosen: bool


def ways(found: Appraisal, tax: TaxRow) -> tuple[Way, ...]:
    """Return the ways that are offered, from the least work to the most, and parting with it last, priced as signed."""
    best = found.best
    offered = [(scope, quote_of(scope.result, tax)) for scope in found.scopes if scope.offered]
    rows = [
        Way(
            name=_name(scope), fixed=float(quote.total), most=float(quote.most),
            worth=scope.result.expected_value, years=scope.result.years,
            chosen=(scope.verdict, scope.scope) == (best.option, best.scope),
        )
        for scope, quote in sorted(offered, key=lambda priced: priced[1].total)
        if not _told_by_what_pays(scope, best)
    ]  # fmt: skip
    parting = found.option(RETIRE)
    if parting is not None:
        rows.append(
            Way(
                name=say("Another piano instead") if parting.exchange else say("Part with it"),
                fixed=parting.expected_price, most=parting.expected_price, worth=parting.expected_value,
                years=parting.years, chosen=found.verdict == RETIRE,
            )
        )  # fmt: skip
    return tuple(rows)


def _name(scope: ScopeResult) -> str:
    if scope.scope == PAYS:
        return say("{way}, as far as it pays", way=option_name(scope.verdict))
    return with_capital(say(scope.name))


def _told_by_what_pays(scope: ScopeResult, best: OptionResult) -> bool:
    """Tell whether a scope is left out: it is signed at the same price as what pays, or pays and is not the verdict."""
    if scope.scope == PAYS:
        return best.scope != PAYS
    same = isclose(scope.result.fixed_price, best.fixed_price)
    return best.scope == PAYS and scope.verdict == best.option and same


def scales(rows: tuple[Way, ...]) -> Mapping[str, float]:
    """Return the greatest money and years of all ways: what a full bar stands for."""
    return {
        "money": max((max(row.most, row.worth) for row in rows), default=1.0) or 1.0,
        "years": max((row.years.high for row in rows), default=1.0) or 1.0,
    }
