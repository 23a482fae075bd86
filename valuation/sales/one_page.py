"""What the sales say of one piano, as text: the page of the command line."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from valuation.engine.pack import appraiser
from valuation.facts.visit import Piano, Range
from valuation.language import say
from valuation.report.format import exact, money, money_range, percent
from valuation.report.labels import plain_day
from valuation.sales.grid import Comparable, Grid
from valuation.sales.model import SalesModel
from valuation.sales.one_piano import Market
from valuation.sales.values import ValueStatement
from valuation.sales.words import (
    ATTRIBUTE_NAMES,
    attribute_name,
    coefficient_name,
    confidence_words,
    described,
    difference_words,
    left_out_words,
    odd_words,
    origin_words,
    signed,
    source_words,
    state_name,
    step_words,
    twice_words,
    used_coefficients,
    value_name,
    value_sources,
    weak_words,
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
    model = market.model
    currency = model.tables.settings.currency
    blocks = [
        "\n".join([title, _facts(piano, model, currency)]),
        _wrap(weight_words(model)),
        _prices(market.by_state, market.state),
        _comparables(market.grid, market.state),
        _adjustments(market.grid),
        _suggests(market.grid, piano),
        _origins(model, market.grid),
        _odd_ones(market, model),
        _values(market.values, model),
        _left_out(model),
    ]
    return "\n\n".join(block for block in blocks if block) + "\n"


def _facts(piano: Piano, model: SalesModel, currency: str) -> str:
    facts = (
        say(piano.kind),
        say("prices of {day}", day=plain_day(model.on)),
        say("money in {currency}", currency=currency),
    )
    return " · ".join(facts)


def _prices(by_state: dict[str, Range], state: str) -> str:
    rows = [(say("Price by state"), say("likely"), say("8 in 10"))]
    rows += [(state_name(name, state), money(band.likely), money_range(band)) for name, band in by_state.items()]
    return _table(rows)


def _comparables(grid: Grid, state: str) -> str:
    if not grid.comparables:
        return say("There is no sale to compare with.")
    lines = [say("The nearest sales, brought to the piano as {state}", state=say(state))]
    for count, one in enumerate(grid.comparables, start=1):
        what = described(one)
        if one.weak:
            what = say("{sold}; weak: much had to be adjusted", sold=what)
        lines.append(_wrap(f"{count}. {one.sale.id}, {plain_day(one.sale.sold_on)}: {what}", "  ", "     "))
    return "\n".join(lines)


def _adjustments(grid: Grid) -> str:
    """The grid itself: a column for each sale, a row for each difference, and they add up."""
    if not grid.comparables:
        return ""
    rows = [(say("Adjusted for"), *(one.sale.id for one in grid.comparables))]
    rows.append((say("price"), *(exact(one.sale.price) for one in grid.comparables)))
    for attribute in ATTRIBUTE_NAMES:
        cells = [_money_for(one, attribute) for one in grid.comparables]
        if any(cells):
            rows.append((attribute_name(attribute), *cells))
    rows.append((say("adjusted"), *(exact(one.adjusted) for one in grid.comparables)))
    rows.append((say("adjusted by, in all"), *(percent(one.gross_share) for one in grid.comparables)))
    return _table(rows)


def _money_for(one: Comparable, attribute: str) -> str:
    return next((signed(a.money) for a in one.adjustments if a.attribute == attribute), "")


def _suggests(grid: Grid, piano: Piano) -> str:
    if grid.suggests is None:
        return ""
    band = grid.suggests
    said = [
        say(
            "They suggest {low} to {high}, the middle {middle} (least and greatest of {count} sales: {sales}).",
            low=exact(band.low), high=exact(band.high), middle=exact(band.likely), count=len(grid.counted),
            sales=", ".join(grid.counted),
        )
    ]  # fmt: skip
    if weak := weak_words(grid):
        said.append(weak)
    if piano.features:
        said.append(say("Features of build are not in it: {features}.", features=", ".join(piano.features)))
    return _wrap(" ".join(said))


def _origins(model: SalesModel, grid: Grid) -> str:
    lines = [say("Where each adjustment comes from")]
    for one in grid.comparables:
        for adjustment in one.adjustments:
            text = say(
                "{sale}, {attribute} ({difference}): {amount} by {sources}",
                sale=one.sale.id, attribute=attribute_name(adjustment.attribute),
                difference=difference_words(adjustment), amount=signed(adjustment.money),
                sources=source_words(adjustment),
            )  # fmt: skip
            lines.append(_wrap(text, "  - ", "    "))
    used = used_coefficients(model, [a for one in grid.comparables for a in one.adjustments])
    lines += [
        _wrap(f"{coefficient_name(one.name)}: {step_words(one)} ({origin_words(one)})", "  - ", "    ") for one in used
    ]
    return "\n".join(lines) if grid.comparables else ""


def _odd_ones(market: Market, model: SalesModel) -> str:
    prices = {sale.id: sale.price for sale in model.sales}
    odd = [check for check in market.checks if check.unlike or check.heavy]
    if not market.checks:
        return ""
    lines = [f"{check.sale}: {odd_words(check, prices[check.sale])}" for check in odd]
    lines += [twice_words(*pair) for pair in market.twice]
    return _block(say("Odd sales"), lines or [say("None stands out.")])


def _values(values: Sequence[ValueStatement], model: SalesModel) -> str:
    rows = [(say("Value"), say("kind of value"), say("likely"), say("low to high"), say("how sure"))]
    rows += [
        (
            value_name(one),
            say(one.kind.name),
            money(one.amount.likely),
            money_range(one.amount),
            confidence_words(one, held=model.held),
        )
        for one in values
    ]
    definitions = dict.fromkeys(value_sources(one) for one in values)
    caution = say(
        "An estimate by the workshop. For insurance, tax, an estate or a court ask: {appraiser}.",
        appraiser=appraiser(model.tables),
    )
    return "\n".join([_table(rows), *(_wrap(text, "  - ", "    ") for text in (*definitions, caution))])


def _left_out(model: SalesModel) -> str:
    return _block(say("Sales not used"), [left_out_words(sale, why) for sale, why in model.not_used])


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
