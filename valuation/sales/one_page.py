"""What the sales say of one piano, as text: the page of the command line."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from valuation.core.visit import Piano, Range
from valuation.report.format import money, money_range
from valuation.sales.grid import Comparable, Grid
from valuation.sales.model import SalesModel
from valuation.sales.odd_sales import SaleCheck
from valuation.sales.one_piano import Market
from valuation.sales.values import ValueStatement
from valuation.sales.words import (
    ATTRIBUTE_NAMES,
    confidence_words,
    curve_words,
    difference_words,
    exact,
    odd_words,
    plain_day,
    sale_words,
    signed,
    source_words,
    step_words,
    used_coefficients,
    value_name,
    value_sources,
    weight_words,
)

WIDTH = 100


def market_page(title: str, piano: Piano, market: Market) -> str:
    """Return what the sales say of one piano, as plain text.

    Parameters
    ----------
    title : str
        What the visit is called.
    piano : Piano
        The piano.
    market : Market
        As `look_at_market` gives it.

    Returns
    -------
    str
        About two pages.
    """
    model = market.fit.model
    currency = model.tables.settings.currency
    blocks = [
        f"{title}\n{piano.kind} · prices of {plain_day(model.on)} · money in {currency}",
        "\n".join(_wrap(line) for line in (weight_words(model), curve_words(market.fit))),
        _prices(market.by_state, market.state),
        _comparables(market.grid, market.state),
        _adjustments(market.grid),
        _suggests(market.grid, piano),
        _origins(model, market.grid),
        _odd_ones(market.checks, model),
        _values(market.values, model),
        _left_out(model),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _prices(by_state: dict[str, Range], state: str) -> str:
    rows = [("Price by state", "likely", "8 in 10")]
    rows += [
        (f"{name} (compared as)" if name == state else name, money(band.likely), money_range(band))
        for name, band in by_state.items()
    ]
    return _table(rows)


def _comparables(grid: Grid, state: str) -> str:
    if not grid.comparables:
        return "There is no sale to compare with."
    lines = [f"The nearest sales, brought to the piano as {state}"]
    for number, one in enumerate(grid.comparables, start=1):
        weak = "; weak: much had to be adjusted" if one.weak else ""
        assumed = f"; {' and '.join(one.assumed)} not known, taken as usual" if one.assumed else ""
        lines.append(
            _wrap(
                f"{number}. {one.sale.id}, {plain_day(one.sale.sold_on)}: {sale_words(one.sale)}{assumed}{weak}",
                "  ",
                "     ",
            )
        )
    return "\n".join(lines)


def _adjustments(grid: Grid) -> str:
    """The grid itself: a column for each sale, a row for each difference, and they add up."""
    if not grid.comparables:
        return ""
    rows = [("Adjusted for", *(one.sale.id for one in grid.comparables))]
    rows.append(("price", *(exact(one.sale.price) for one in grid.comparables)))
    for attribute, name in ATTRIBUTE_NAMES.items():
        cells = [_money_for(one, attribute) for one in grid.comparables]
        if any(cells):
            rows.append((name, *cells))
    rows.append(("adjusted", *(exact(one.adjusted) for one in grid.comparables)))
    rows.append(("adjusted by, in all", *(f"{one.gross_share:.0%}" for one in grid.comparables)))
    return _table(rows)


def _money_for(one: Comparable, attribute: str) -> str:
    return next((signed(a.money) for a in one.adjustments if a.attribute == attribute), "")


def _suggests(grid: Grid, piano: Piano) -> str:
    if grid.suggests is None:
        return ""
    band = grid.suggests
    said = (
        f"They suggest {exact(band.low)} to {exact(band.high)}, the middle {exact(band.likely)} "
        f"(least and greatest of {len(grid.counted)} sales: {', '.join(grid.counted)})."
    )
    if all(one.weak for one in grid.comparables):
        said += " All of them are weak: take it as a hint, not as a proof."
    if piano.features:
        said += f" Features of build are not in it: {', '.join(piano.features)}."
    return _wrap(said)


def _origins(model: SalesModel, grid: Grid) -> str:
    lines = ["Where each adjustment comes from"]
    for one in grid.comparables:
        for adjustment in one.adjustments:
            text = (
                f"{one.sale.id}, {ATTRIBUTE_NAMES[adjustment.attribute]} ({difference_words(adjustment)}): "
                f"{signed(adjustment.money)} by {source_words(adjustment)}"
            )
            lines.append(_wrap(text, "  - ", "    "))
    used = used_coefficients(model, [a for one in grid.comparables for a in one.adjustments])
    lines += [_wrap(f"{one.name}: {step_words(one)} ({one.origin})", "  - ", "    ") for one in used]
    return "\n".join(lines) if grid.comparables else ""


def _odd_ones(checks: Sequence[SaleCheck], model: SalesModel) -> str:
    prices = {sale.id: sale.price for sale in model.sales}
    odd = [check for check in checks if check.unlike or check.heavy]
    if not checks:
        return ""
    lines = [f"{check.sale}: {odd_words(check, prices[check.sale])}" for check in odd]
    return _block("Odd sales", lines or ["None stands out."])


def _values(values: Sequence[ValueStatement], model: SalesModel) -> str:
    rows = [("Value", "kind of value", "likely", "low to high", "how sure")]
    rows += [
        (
            value_name(one),
            one.kind.name,
            money(one.amount.likely),
            money_range(one.amount),
            confidence_words(one, model.weight),
        )
        for one in values
    ]
    definitions = dict.fromkeys(value_sources(one) for one in values)
    caution = (
        "An estimate by the workshop. "
        "For insurance, tax, an estate or a court a qualified, licensed appraiser is needed."
    )
    return "\n".join([_table(rows), *(_wrap(text, "  - ", "    ") for text in (*definitions, caution))])


def _left_out(model: SalesModel) -> str:
    return _block("Sales not used", [f"{sale}: {why}" for sale, why in model.not_used])


def _table(rows: Sequence[Sequence[str]]) -> str:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = []
    for row in rows:
        cells = [row[0].ljust(widths[0])] + [cell.rjust(w) for cell, w in zip(row[1:], widths[1:], strict=True)]
        lines.append("  ".join(cells).rstrip())
    return "\n".join(lines)


def _block(title: str, lines: Sequence[str]) -> str:
    return "\n".join([title, *(_wrap(line, "  - ", "    ") for line in lines)]) if lines else ""


def _wrap(text: str, first: str = "", rest: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=first, subsequent_indent=rest)
