"""What one piano is worth, each value with its kind: the word of the shop's country and its published definition."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from valuation.engine.rows import ValueKindRow
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Range


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueStatement:
    """One value of one piano, with all that has to be said with it.

    Attributes
    ----------
    of : str
        What is valued: ``as it stands``, a plan, or the replacement.
    amount : Range
        8 in 10 lie between low and high [money].
    on : date
        Day for which it holds.
    basis : str
        ``band table``, ``blend`` or ``sales``.
    sales_used : int
        Number of sales behind it [-].
    """

    of: str
    kind: ValueKindRow
    amount: Range
    on: date
    basis: str
    sales_used: int


def state_values(
    now: Range,
    after: dict[str, Range],
    replacement: Range,
    haul_away: float,
    *,
    on: date,
    prices: PricesByState,
    kinds: Mapping[str, ValueKindRow],
) -> tuple[ValueStatement, ...]:
    """Return the values of one piano, each with its kind and definition.

    Parameters
    ----------
    now : Range
        As it stands [money].
    after : mapping of plan to Range
        After each plan [money].
    replacement : Range
        Price of a comparable replacement [money].
    haul_away : float
        What it costs to have the piano taken away and disposed of [money].
    on : date
        Day of the value.
    prices : PricesByState
        What the values of this piano rest on.
    kinds : mapping of role to ValueKindRow
        Those of the country's pack.

    Returns
    -------
    tuple of ValueStatement
        As it stands, after each plan, the replacement, and as scrap: a cost, so below 0.
    """

    def state(of: str, kind: str, amount: Range, *, of_this_piano: bool = True) -> ValueStatement:
        basis, sales = (prices.basis, prices.sales_used) if of_this_piano else ("band table", 0)
        return ValueStatement(of=of, kind=kinds[kind], amount=amount, on=on, basis=basis, sales_used=sales)

    disposal = Range(low=-haul_away, likely=-haul_away, high=-haul_away)
    return (
        state("as it stands", "market", now),
        *(state(plan, "market", amount) for plan, amount in after.items()),
        state("replacement", "replacement", replacement, of_this_piano=False),
        state("disposal", "salvage", disposal, of_this_piano=False),
    )
