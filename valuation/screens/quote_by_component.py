"""The quote once more by component: hours, labour, materials, bought-in work; same total."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.format import exact, number
from valuation.report.shown_quote import Shown
from valuation.screens import marks


@dataclass(frozen=True, slots=True)
class ComponentSum:
    """What one component comes to in a shown quote: hours, and money before tax."""

    name: str
    hours: float
    labour: float
    materials: float
    outside: float

    @property
    def amount(self) -> float:
        """Labour, materials and bought-in work together."""
        return self.labour + self.materials + self.outside


def by_component(quote: Shown, book: Tables) -> tuple[ComponentSum, ...]:
    """Return the sums by component, in the order of the table; steps that several share come last."""
    component_of = {part.id: part.component for part in book.parts}
    shared = ""
    sums = {row.id: [0.0] * 4 for row in book.components} | {shared: [0.0] * 4}
    for line, (labour, materials, outside, _) in zip(quote.lines_of, quote.amounts, strict=True):
        own = sums[component_of.get(line.part, shared)]
        for i, figure in enumerate((round(line.hours, 1), labour, materials, outside)):
            own[i] += figure
    names = {row.id: say(row.name) for row in book.components} | {shared: say("Steps that are shared")}
    return tuple(ComponentSum(names[id_], *figures) for id_, figures in sums.items() if any(figures))


def component_table(quote: Shown, book: Tables, currency: str) -> str:
    """Return the sums as a table with their total."""
    sums = by_component(quote, book)
    headers = [say("Component"), say("Hours"), say("Labour"), say("Materials"), say("Bought in"), say("Amount")]
    rows = [_row(s.name, s.hours, s.labour, s.materials, s.outside, s.amount) for s in sums]
    total = [sum(getattr(s, name) for s in sums) for name in ("hours", "labour", "materials", "outside")]
    rows.append(_row(say("All components"), *total, sum(s.amount for s in sums)))
    caption = say("The fixed lines by component, in {currency} before tax.", currency=currency)
    return marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True)


def _row(name: str, hours: float, *amounts: float) -> list[str]:
    return [name, number(round(hours, 1)), *map(exact, amounts)]
