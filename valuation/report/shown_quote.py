"""A quote as it is shown: each line rounded first, the sums are sums of what is shown, the tax is exact. Pure.

Tax is that of the shop's country and place, and may differ by kind of line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from valuation.engine.adding import Added
from valuation.engine.appraised_work import Allowance, Line, OptionResult, tax_on
from valuation.engine.results import most_of
from valuation.engine.rows.country import TaxRow

_CENTS = 2


@dataclass(frozen=True)
class Shown:
    """The figures of one option's quote, rounded so that a reader who adds up agrees. Money.

    Attributes
    ----------
    lines_of : tuple of Line
    amounts : tuple of (labour, materials, outside, amount)
        For each line; the last is the sum of the three.
    before_tax, tax, total : float
        Sum of the lines; the tax on it, exact to the cent; what is signed.
    if_found : tuple of Allowance
        The if-found lines, each with its rounded price.
    most : float
        What is signed with all of them.
    """

    lines_of: tuple[Line, ...]
    amounts: tuple[tuple[float, float, float, float], ...]
    before_tax: float
    tax: float
    total: float
    if_found: tuple[Allowance, ...]
    most: float


def shown_quote(option: OptionResult, tax: TaxRow, step: float = 1.0) -> Shown:
    """Return the quote of an option at some taxes, each line to the nearest `step`."""

    def rounded(amount: float) -> float:
        return round(amount / step) * step

    amounts = []
    for line in option.lines:
        pieces = rounded(line.labour), rounded(line.materials), rounded(line.outside)
        amounts.append((*pieces, sum(pieces)))
    before_tax = sum(amount[3] for amount in amounts)
    owed = round(tax.on(*(sum(amount[i] for amount in amounts) for i in range(3))), _CENTS)
    if_found = tuple(replace(a, if_needed=rounded(a.if_needed)) for a in option.allowances)
    return Shown(
        lines_of=option.lines,
        amounts=tuple(amounts),
        before_tax=before_tax,
        tax=owed,
        total=before_tax + owed,
        if_found=if_found,
        most=before_tax + owed + most_of(if_found),
    )


def with_chosen(option: OptionResult, chosen: Iterable[Added], tax: TaxRow) -> OptionResult:
    """Return an option with the work that the client chose beside the plan, less what it makes needless.

    Parameters
    ----------
    option : OptionResult
    chosen : iterable of Added
    tax : TaxRow
        How the shop is taxed.
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
