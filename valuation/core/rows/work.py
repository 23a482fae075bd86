"""What the workshop does, what goes into it and what an hour costs."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from valuation.core.columns import column
from valuation.core.rows import words
from valuation.core.rows.words import KIND_CHOICES, LEVELS, STATES


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """So much of one material."""

    material: str
    amount: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OperationRow:
    """One operation of the workshop. Hours exclude the operations it needs and those that follow.

    `repair` and `replace` are choices for a part; `access` steps are charged once however many
    operations need them; `follow` is work that others bring with them; `service` is done without a plan.
    """

    id: str = column("operation")
    kinds: str = column("which pianos", choices=KIND_CHOICES)
    part: str = column("part it treats; empty for access, follow and service", refers_to="parts", default="")
    level: str = column("what sort of operation", choices=LEVELS)
    name: str = column("name in the workshop's words")
    plain: str = column("what is done, in the client's words")
    holds_to: str = column("worst true state it can mend", choices=STATES, default="failed")
    instead: str = column("operation that teardown would demand where the part is worse than that", default="")
    leaves: str = column("state in which it leaves the part", choices=STATES, default="")
    lasts_years: float | None = column("median years of service it buys", unit="years", above=0, default=None)
    hours_low: float = column("1 in 10 jobs takes less", unit="h", low=0)
    hours_likely: float = column("as often more as less", unit="h", low=0)
    hours_high: float = column("1 in 10 jobs takes more", unit="h", low=0)
    where: str = column("which rate applies", refers_to="rates")
    materials: tuple[Quantity, ...] = column("material:amount, separated by ';'", refers_to="materials", default=())
    outside_low: float = column("bought-in work or carriage, 1 in 10 costs less", unit="money", low=0, default=0.0)
    outside_likely: float = column("the same, as often more as less", unit="money", low=0, default=0.0)
    outside_high: float = column("the same, 1 in 10 costs more", unit="money", low=0, default=0.0)
    needs: tuple[str, ...] = column(
        "operations that must come before, separated by ';'", refers_to="operations", default=()
    )
    followed_by: tuple[str, ...] = column("operations that must come after", refers_to="operations", default=())
    covers: tuple[str, ...] = column("operations that this one makes needless", refers_to="operations", default=())
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialRow:
    """A material and what it costs the client."""

    id: str = column("material")
    name: str = column("name")
    unit: str = column("what one of it is")
    price_low: float = column("1 in 10 purchases costs less", unit="money", above=0)
    price_likely: float = column("as often more as less", unit="money", above=0)
    price_high: float = column("1 in 10 costs more", unit="money", above=0)
    waste: float = column("share added for waste and spares", low=0, high=1)
    markup: float = column("share added for stock and handling", low=0, high=3)
    source: str = words.source()
    note: str = words.note()


@dataclass(frozen=True, slots=True, kw_only=True)
class RateRow:
    """What an hour costs, and from when to when."""

    id: str = column("rate")
    name: str = column("what sort of work")
    per_hour: float = column("price of one hour before tax", unit="money/h", low=0)
    valid_from: date = column("first day")
    valid_to: date | None = column("last day; empty means still valid", default=None)
    source: str = words.source()
    note: str = words.note()
