"""What an appraisal tells of the work: each way and scope with its lines, prices and worth.

A field's name here is its key in the public JSON.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from valuation.engine.rows.country import TaxRow
from valuation.facts.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a quote. Hours and amounts are expected values; `amount` is before tax.

    Attributes
    ----------
    part : str
        Part that it treats; empty for shared steps.
    hours, rate : float
        [h], [money/h].
    findings : tuple of str
        Findings that call for it, worst first.
    faults : tuple of str
        Faults that it answers, the likeliest first; a shared step answers those of the work that brings it.
    because : tuple of str
        Operations of the plan that bring it along.
    with_it : tuple of str
        Operations whose hours and amounts are in this line too: opening further, what must come after.
    pieces : float
        How many pieces a small repair treats; 0 for other work.
    """

    operation: str
    name: str
    plain: str
    part: str
    hours: float
    rate: float
    labour: float
    materials: float
    outside: float
    amount: float
    findings: tuple[str, ...]
    faults: tuple[str, ...]
    because: tuple[str, ...]
    with_it: tuple[str, ...]
    pieces: float
    rows: tuple[str, ...]


def tax_on(lines: Iterable[Line], tax: TaxRow) -> float:
    """Return the tax on some lines, by the kind of each amount [money]."""
    return sum(tax.on(line.labour, line.materials, line.outside) for line in lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """An if-found line: work that is done only where the open piano shows that it is needed.

    Attributes
    ----------
    option, scope, part, operation, name, plain : str
        Option, scope and part concerned; what is then done.
    faults : tuple of str
        Faults that would call for it.
    large : bool
        A larger remedy: of those of one part only one is ever done.
    seen_when : str
        'visit', or the step of an opening that shows it.
    chance : float
        That it is needed [-].
    labour, materials, outside : float
        If it is needed, before tax.
    if_needed : float
        What the price would then rise by, with tax.
    expected : float
        Chance times rise: what the expected price holds for it. For deciding, never a price to sign.
    """

    option: str
    scope: str
    part: str
    operation: str
    name: str
    plain: str
    faults: tuple[str, ...]
    large: bool
    seen_when: str
    chance: float
    labour: float
    materials: float
    outside: float
    if_needed: float
    expected: float
    rows: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionResult:
    """One way, or one scope of it. Money with tax, in the shop's currency.

    Attributes
    ----------
    scope : str
        Id of the scope behind it; 'pays' where none is named; empty for 'retire'.
    fixed_price : float
        What the fixed lines add up to, with tax: the price that is signed.
    most_price : float
        The fixed lines and every if-found line.
    serves : float
        Chance that the piano serves once it is done [-].
    tuned : bool
        It may be tuned once it is done.
    beats_keeping : float
        Share of draws in which it is better than keeping it [-].
    price, value_after, net, cost_per_year, years : Range
        1 in 10, middle, 9 in 10 of the draws.
    expected_price, expected_value, expected_net : float
        Exact means; `expected_price` is for deciding.
    before_tax, tax : float
        What the fixed lines add up to, and the tax on it.
    affordable : bool
        Within the client's budget, if there is one.
    over_budget : float
        Chance that the price passes the budget [-].
    exchange : bool
        'Retire' with the replacement.
    breakdown : dict of str to float
        What the expected net is made of.
    plan : dict of str to str
        Part to level.
    treatments : dict of str to str
        Part to operation, for the parts that are treated.
    """

    option: str
    scope: str
    price: Range
    value_after: Range
    net: Range
    cost_per_year: Range
    years: Range
    expected_price: float
    expected_value: float
    expected_net: float
    fixed_price: float
    most_price: float
    before_tax: float
    tax: float
    serves: float
    tuned: bool
    beats_keeping: float
    chance_best: float
    affordable: bool
    over_budget: float
    exchange: bool
    breakdown: dict[str, float]
    plan: dict[str, str]
    treatments: dict[str, str]
    lines: tuple[Line, ...]
    allowances: tuple[Allowance, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ScopeResult:
    """One scope: how far to go.

    Attributes
    ----------
    why_not : str
        Rule by which it is not offered: 'leaves_broken', 'gate_fails', 'as_safe', 'as_below', 'near_rebuild',
        'nothing_worn'.
    """

    scope: str
    verdict: str
    name: str
    plain: str
    offered: bool
    why_not: str
    result: OptionResult
