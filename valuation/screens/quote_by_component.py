"""The quote once more by component: hours, labour, materials, bought-in work; same total."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.format import exact, number
from valuation.report.quote import FixedLine, Quote
from valuation.screens import marks


@dataclass(frozen=True, slots=True)
class ComponentSum:
    """What one component comes to in a shown quote: hours, and money before tax."""

    name: str
    hours: float
    labour: Decimal
    materials: Decimal
    outside: Decimal

    @property
    def amount(self) -> Decimal:
        """Labour, materials and bought-in work together."""
        return self.labour + self.materials + self.outside


def by_component(quote: Quote, book: Tables) -> tuple[ComponentSum, ...]:
    """Return the sums by component, in the order of the table; steps that several share come last."""
    component_of = {part.id: part.component for part in book.parts}
    shared = ""
    names = {row.id: say(row.name) for row in book.components} | {shared: say("Steps that are shared")}
    by_name: dict[str, list[FixedLine]] = {id_: [] for id_ in names}
    for fixed in quote.lines:
        by_name[component_of.get(fixed.line.part, shared)].append(fixed)
    return tuple(sum_of(names[id_], lines) for id_, lines in by_name.items() if lines)


def sum_of(name: str, lines: Iterable[FixedLine]) -> ComponentSum:
    """Return what some lines come to together, under a name."""
    lines = tuple(lines)

    def total(what: str) -> Decimal:
        return sum((getattr(fixed, what) for fixed in lines), Decimal(0))

    hours = sum(round(fixed.line.hours, 1) for fixed in lines)
    return ComponentSum(name, hours, total("labour"), total("materials"), total("outside"))


def component_table(quote: Quote, book: Tables, currency: str) -> str:
    """Return the sums as a table with their total."""
    sums = by_component(quote, book)
    headers = [say("Component"), say("Hours"), say("Labour"), say("Materials"), say("Bought in"), say("Amount")]
    rows = [_row(s.name, s.hours, s.labour, s.materials, s.outside, s.amount) for s in sums]
    whole = sum_of(say("All components"), quote.lines)
    rows.append(_row(whole.name, whole.hours, whole.labour, whole.materials, whole.outside, whole.amount))
    caption = say("The fixed lines by component, in {currency} before tax.", currency=currency)
    return marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True)


def _row(name: str, hours: float, *amounts: Decimal) -> list[str]:
    return [name, number(round(hours, 1)), *map(exact, amounts)]
