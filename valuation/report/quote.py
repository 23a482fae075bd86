"""A quote as it is shown and signed: lines in whole money, sums of what is shown, tax exact to the cent. Pure.

Amounts are decimals here: a reader who adds them up, and multiplies by the rate of the tax, gets the same to the cent.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from valuation.engine.adding import Added
from valuation.engine.appraised_work import Allowance, Line, OptionResult, tax_on
from valuation.engine.results import most_of
from valuation.engine.rows.country import TaxRow

_CENT = Decimal("0.01")
_UNIT = Decimal(1)
_KINDS = ("labour", "materials", "outside")


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedLine:
    """A line to sign, its amounts in whole money before tax.

    Attributes
    ----------
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
    taxed : TaxRow
        How each kind of amount is taxed.
    before_tax, tax, total : Decimal
        The sum of the lines, the tax on that sum by its kinds, both together.
    most : Decimal
        The total with all that may be found: of the larger works on one part only one is ever done.
    """

    lines: tuple[FixedLine, ...]
    taxed: TaxRow
    before_tax: Decimal
    tax: Decimal
    total: Decimal
    if_found: tuple[IfFound, ...]
    most: Decimal

    def asked_apart(self, share: float) -> tuple[tuple[IfFound, ...], tuple[IfFound, ...]]:
        """Return the if-found lines that are asked for one by one, and the small or unlikely ones, asked for together.

        Parameters
        ----------
        share : float
            Of the total: from what so much is to be expected of a line on, it is asked for by itself [-].
        """
        least = share * float(self.total)
        apart = tuple(line for line in self.if_found if line.allowance.expected >= least)
        rest = tuple(line for line in self.if_found if line.allowance.expected < least)
        return (apart, rest) if len(rest) > 1 else (self.if_found, ())


def quote_of(option: OptionResult, taxed: TaxRow, chosen: Collection[str] = ()) -> Quote:
    """Return the quote of an option.

    Parameters
    ----------
    taxed : TaxRow
        How each kind of amount is taxed.
    chosen : collection of str
        Operations that the client asked for beside the plan.
    """
    lines = tuple(_fixed(line, line.operation in chosen) for line in option.lines)
    before_tax = sum((line.amount for line in lines), Decimal(0))
    tax = _tax(taxed, *(sum((getattr(line, kind) for line in lines), Decimal(0)) for kind in _KINDS))
    if_found = tuple(_if_found(allowance, taxed) for allowance in option.allowances)
    return Quote(
        lines=lines,
        taxed=taxed,
        before_tax=before_tax,
        tax=tax,
        total=before_tax + tax,
        if_found=if_found,
        most=before_tax + tax + most_together(if_found),
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


def _if_found(allowance: Allowance, taxed: TaxRow) -> IfFound:
    amounts = [_whole(getattr(allowance, kind)) for kind in _KINDS]
    before_tax, tax = sum(amounts, Decimal(0)), _tax(taxed, *amounts)
    return IfFound(allowance=allowance, before_tax=before_tax, tax=tax, price=before_tax + tax)


def _tax(taxed: TaxRow, labour: Decimal, materials: Decimal, outside: Decimal) -> Decimal:
    """Return the tax on amounts by their kind, exact, to the cent."""
    rates = (Decimal(repr(rate)) for rate in (taxed.labour, taxed.material, taxed.outside))
    return _to_cent(sum((rate * of for rate, of in zip(rates, (labour, materials, outside), strict=True)), Decimal(0)))


def most_together(if_found: Iterable[IfFound]) -> Decimal:
    """Return the most that some if-found lines can come to: of the larger works on one part only one is ever done."""
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


def with_chosen(option: OptionResult, chosen: Iterable[Added], tax: TaxRow) -> OptionResult:
    """Return an option with the work that the client chose beside the plan, less what it makes needless.

    Parameters
    ----------
    tax : TaxRow
        How each kind of amount is taxed.
    """
    for more in chosen:
        have = {line.operation for line in option.lines}
        lines = (
            *(line for line in option.lines if line.operation not in more.spared),
            *(line for line in more.lines if line.operation not in have),
        )
        allowances = tuple(a for a in option.allowances if a.operation not in more.spared)
        before_tax, owed = sum(line.amount for line in lines), tax_on(lines, tax)
        option = replace(
            option,
            lines=lines,
            allowances=allowances,
            before_tax=before_tax,
            tax=owed,
            fixed_price=before_tax + owed,
            most_price=before_tax + owed + most_of(allowances),
        )
    return option
