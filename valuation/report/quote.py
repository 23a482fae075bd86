"""A quote as it is shown and signed: lines in whole money, sums of what is shown, tax exact to the cent. Pure.

Amounts are decimals here: a reader who adds them up, and multiplies by the rate of the tax, gets the same to the cent.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from valuation.engine.adding import Added
from valuation.engine.appraised_work import Allowance, Line, OptionResult
from valuation.engine.results import most_of

_CENT = Decimal("0.01")
_UNIT = Decimal(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedLine:
    """A line to sign, its amounts in whole money before tax.

    Attributes
    ----------
    line : Line
    labour, materials, outside, amount : Decimal
        `amount` is the sum of the three.
    chosen : bool
        The client asked for it beside the plan.
    """

    line: Line
    labour: Decimal
    materials: Decimal
    outside: Decimal
    amount: Decimal
    chosen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class IfFound:
    """A line that is done only where its fault is seen, and the client says yes: a price of its own, with its tax.

    Attributes
    ----------
    allowance : Allowance
        What is seen, in which part, how often, what is then done.
    before_tax, tax, price : Decimal
    """

    allowance: Allowance
    before_tax: Decimal
    tax: Decimal
    price: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class Quote:
    """What is signed for a way, and the most that it can come to.

    Attributes
    ----------
    lines : tuple of FixedLine
    before_tax, rate, tax, total : Decimal
        The sum of the lines, the share of tax, the tax on that sum, both together.
    if_found : tuple of IfFound
    most : Decimal
        The total with all that may be found: of the larger works on one part only one is ever done.
    """

    lines: tuple[FixedLine, ...]
    before_tax: Decimal
    rate: Decimal
    tax: Decimal
    total: Decimal
    if_found: tuple[IfFound, ...]
    most: Decimal


def quote_of(option: OptionResult, rate: float, chosen: Collection[str] = ()) -> Quote:
    """Return the quote of an option.

    Parameters
    ----------
    option : OptionResult
    rate : float
        Share of tax on everything [-].
    chosen : collection of str
        Operations that the client asked for beside the plan.
    """
    share = Decimal(repr(rate))
    lines = tuple(_fixed(line, line.operation in chosen) for line in option.lines)
    before_tax = sum((line.amount for line in lines), Decimal(0))
    tax = _to_cent(before_tax * share)
    if_found = tuple(_if_found(allowance, share) for allowance in option.allowances)
    return Quote(
        lines=lines,
        before_tax=before_tax,
        rate=share,
        tax=tax,
        total=before_tax + tax,
        if_found=if_found,
        most=before_tax + tax + _most(if_found),
    )


def _fixed(line: Line, chosen: bool) -> FixedLine:
    labour, materials, outside = map(_whole, (line.labour, line.materials, line.outside))
    return FixedLine(
        line=line,
        labour=labour,
        materials=materials,
        outside=outside,
        amount=labour + materials + outside,
        chosen=chosen,
    )


def _if_found(allowance: Allowance, share: Decimal) -> IfFound:
    before_tax = _whole(allowance.if_needed / (1 + float(share)))
    tax = _to_cent(before_tax * share)
    return IfFound(allowance=allowance, before_tax=before_tax, tax=tax, price=before_tax + tax)


def _most(if_found: Iterable[IfFound]) -> Decimal:
    large: dict[str, Decimal] = {}
    small = Decimal(0)
    for line in if_found:
        part = line.allowance.part
        if line.allowance.large:
            large[part] = max(large.get(part, Decimal(0)), line.price)
        else:
            small += line.price
    return small + sum(large.values(), Decimal(0))


def _whole(amount: float) -> Decimal:
    return Decimal(repr(float(amount))).quantize(_UNIT, ROUND_HALF_UP)


def _to_cent(amount: Decimal) -> Decimal:
    return amount.quantize(_CENT, ROUND_HALF_UP)


def with_chosen(option: OptionResult, chosen: Iterable[Added], tax: float) -> OptionResult:
    """Return an option with the work that the client chose beside the plan, less what it makes needless.

    Parameters
    ----------
    option : OptionResult
    chosen : iterable of Added
    tax : float
        Share added to everything [-].
    """
    for more in chosen:
        have = {line.operation for line in option.lines}
        lines = (
            *(line for line in option.lines if line.operation not in more.spared),
            *(line for line in more.lines if line.operation not in have),
        )
        allowances = tuple(a for a in option.allowances if a.operation not in more.spared)
        before_tax = sum(line.amount for line in lines)
        fixed = before_tax * (1 + tax)
        option = replace(
            option,
            lines=lines,
            allowances=allowances,
            before_tax=before_tax,
            tax=before_tax * tax,
            fixed_price=fixed,
            most_price=fixed + most_of(allowances),
        )
    return option
