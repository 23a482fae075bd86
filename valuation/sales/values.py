"""Which value is meant: the kinds of value, each with its published definition, and who may say them for what."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from valuation.errors import UserError
from valuation.facts.columns import column
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Range
from valuation.files.plain_text import read_text
from valuation.files.read_csv import read_table
from valuation.language import later, say

PACKAGED = Path(__file__).resolve().parent / "value_kinds.csv"
"""The kinds of value that come with the tool."""

MOST_BYTES = 200_000
"""A larger file is not read [bytes]."""

PURPOSES = (
    later("decision"),
    later("sale"),
    later("insurance"),
    later("tax"),
    later("estate"),
    later("donation"),
    later("division"),
    later("court"),
)
"""What a value may be wanted for."""

OWN_DECISION = ("decision", "sale")
"""Purposes for which an estimate of the shop's will do; all others need a qualified appraiser."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueKind:
    """A kind of value: what the word means, in whose words, and in which market."""

    id: str = column("kind of value")
    name: str = column("name shown to people")
    definition: str = column("what it means")
    quoted: bool = column("the definition stands word for word in its source")
    source: str = column("where the definition is published, or 'common practice'")
    market: str = column("the market in which it is formed")
    used_for: str = column("what it is used for")


@dataclass(frozen=True, slots=True, kw_only=True)
class ValueStatement:
    """One value of one piano, with all that has to be said with it.

    Attributes
    ----------
    of : str
        What is valued: ``as it stands``, a plan, or the replacement.
    kind : ValueKind
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
    kind: ValueKind
    amount: Range
    on: date
    basis: str
    sales_used: int


def read_value_kinds(path: Path | None = None) -> dict[str, ValueKind]:
    """Read the kinds of value.

    Parameters
    ----------
    path : Path, optional
        A CSV file with the columns of `ValueKind`; the packaged one if left out.

    Returns
    -------
    dict of id to ValueKind
        In the order of the file.

    Raises
    ------
    UserError
        With every fault of the file.
    """
    path = PACKAGED if path is None else path
    text, problems = read_text(path, most_bytes=MOST_BYTES)
    rows, faults = read_table(text, path.name, ValueKind)
    if problems + faults:
        raise UserError(problems + faults)
    return {row.id: row for _, row in rows}


def state_values(
    now: Range,
    after: dict[str, Range],
    replacement: Range,
    haul_away: float,
    *,
    on: date,
    prices: PricesByState,
    kinds: dict[str, ValueKind],
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
    kinds : mapping of id to ValueKind
        As `read_value_kinds` gives it.

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
        state("as it stands", "fair_market", now),
        *(state(plan, "fair_market", amount) for plan, amount in after.items()),
        state("replacement", "replacement", replacement, of_this_piano=False),
        state("disposal", "salvage", disposal, of_this_piano=False),
    )


def appraiser_note(purpose: str) -> str:
    """Return what must be said of a value wanted for a purpose.

    Parameters
    ----------
    purpose : str
        One of `PURPOSES`.

    Returns
    -------
    str
        One or two sentences; empty where an estimate of the shop's will do.

    Raises
    ------
    ValueError
        If the purpose is not one of them.

    References
    ----------
    .. [1] 26 CFR 1.170A-17, Qualified appraisal and qualified appraiser.
    .. [2] 26 CFR 20.2031-6(b), household and personal effects of an estate.

    Examples
    --------
    >>> appraiser_note("decision")
    ''
    """
    if purpose not in PURPOSES:
        raise ValueError(f"'{purpose}' is not a purpose; write one of {', '.join(PURPOSES)}")
    if purpose in OWN_DECISION:
        return ""
    return say(
        "A value for {purpose} must come from a qualified, licensed appraiser who has no interest in the work. "
        "The figures here are an estimate by a workshop that offers the work, and may not be used for it.",
        purpose=say(purpose),
    )
