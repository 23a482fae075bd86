"""What the sales say, in words: how a sale differs from the piano, where an adjustment comes from, how sure a value is.

All take data and return text; the page and the command line share them.
"""

from __future__ import annotations

import math
from datetime import date

from valuation.report.format import money, number, of_100
from valuation.report.labels import day_words
from valuation.report.words import OPTION_NAMES, weight_sentence
from valuation.sales.grid import Adjustment
from valuation.sales.model import Coefficient, SalesModel, Weight
from valuation.sales.odd_sales import SaleCheck
from valuation.sales.one_piano import Fit
from valuation.sales.read_sales import Duplicate
from valuation.sales.sale import Sale
from valuation.sales.values import ValueStatement

ATTRIBUTE_NAMES = {
    "price_kind": "asked or achieved",
    "sale_kind": "kind of sale",
    "time": "time",
    "size": "size",
    "age": "year built",
    "tier": "reputation",
    "state": "condition",
    "restored": "restored",
}
"""Name of each attribute, in the order of the grid."""

_NAMED_BY_CODE = {"as it stands": "as it stands", "replacement": "a comparable replacement", "disposal": "as scrap"}


def weight_words(model: SalesModel) -> str:
    """Return what the prices rest on, and what the band is held to."""
    weight = model.weight
    said = weight_sentence(
        model.kind,
        sales=weight.sales,
        sales_wanted=weight.sales_wanted,
        table_counts_as=weight.table_counts_as,
        basis=weight.basis,
    )
    return f"{said} {claim_words(weight)}"


def claim_words(weight: Weight) -> str:
    """Return what the band of 8 in 10 rests on."""
    if not weight.claims:
        return "The band of 8 in 10 is the shop's own estimate."
    more = " There are enough sales for a band of 9 in 10 too." if "0.9" in weight.claims else ""
    return f"The band of 8 in 10 is held to the sales, each left out in turn.{more}"


def curve_words(fit: Fit) -> str:
    """Return whether a curved model does better than the straight one, and which is in use."""
    if fit.offer is None:
        return f"A curved model is tried from {fit.model.settings.curve_from} sales on."
    if fit.offer.model is None:
        return "A curved model of the same sales would do no better than the straight one in use."
    in_use = "may be taken" if fit.model.curve is None else "is in use"
    gain = f"{fit.offer.gain:.0%} less than the straight one"
    return f"A curved model loses {gain}, each sale left out in turn; it {in_use}."


def sale_words(sale: Sale) -> str:
    """Return what was sold, in one line."""
    size = f"{number(sale.size_mm / 10)} cm" if sale.size_mm else "size not known"
    year = str(sale.year_built) if sale.year_built else "year not known"
    restored = {"no": "", "part": ", restored in part", "full": ", restored"}[sale.restored]
    return f"{sale.kind}, {size}, {year}, {sale.tier}, {sale.state}{restored}; {how_sold(sale)}"


def how_sold(sale: Sale) -> str:
    """Return how it was sold."""
    where = {"private": "private sale", "dealer": "dealer", "auction": "auction"}[sale.sale_kind]
    return f"{where}, asked" if sale.price_kind == "asked" else where


def exact(amount: float) -> str:
    """Return an amount in whole units: prices and adjustments have to add up."""
    return f"{amount:,.0f}"


def signed(amount: float) -> str:
    """Return an adjustment with its sign.

    Examples
    --------
    >>> signed(1200), signed(-80), signed(0)
    ('+1,200', '-80', '0')
    """
    return f"{amount:+,.0f}" if amount else "0"


def difference_words(adjustment: Adjustment) -> str:
    """Return one difference: what the sale has, and what the piano has."""
    its, the_pianos = adjustment.sale_has, adjustment.piano_has
    match adjustment.attribute:
        case "time":
            return f"{its:.1f} years before"
        case "size":
            return f"{its / 10:.0f} cm, the piano {the_pianos / 10:.0f} cm"
        case "age":
            return f"{its:.0f}, the piano {the_pianos:.0f}"
        case "restored":
            words = {"no": "not restored", "part": "in part", "full": "in full"}
            return f"{words[its]}, the piano {words[the_pianos]}"
    return f"{its}, the piano {the_pianos}"


def source_words(adjustment: Adjustment) -> str:
    """Return the coefficients and rows that one adjustment comes from."""
    return "; ".join(adjustment.sources) or "no coefficient: it makes no difference"


def step_words(coefficient: Coefficient) -> str:
    """Return what one step of a coefficient does to a price.

    Examples
    --------
    >>> step_words(Coefficient(name="sold by a dealer", attribute="sale_kind", log=math.log(1.3), origin=""))
    '+30 %'
    """
    return f"{100 * math.expm1(coefficient.log):+.0f} %"


def used_coefficients(model: SalesModel, adjustments: list[Adjustment]) -> list[Coefficient]:
    """Return the coefficients behind some adjustments, in the order of the model."""
    named = {source for adjustment in adjustments for source in adjustment.sources}
    return [one for one in model.coefficients if one.name in named]


def duplicate_words(duplicate: Duplicate) -> str:
    """Return that two sales look like one piano told twice."""
    return (
        f"line {duplicate.line}: '{duplicate.second}' looks like the same piano as '{duplicate.first}' told twice; "
        "delete one if it is"
    )


def odd_words(check: SaleCheck, price: float) -> str:
    """Return what is odd about a sale."""
    said = []
    if check.unlike:
        side = "above" if check.spreads_off > 0 else "below"
        said.append(
            f"unlike the others: {abs(check.spreads_off):.1f} standard deviations {side} what they tell, "
            f"{exact(price)} where they say {money(check.expected)}"
        )
    if check.heavy:
        said.append(f"decides {of_100(check.leverage)} of its own fit: hardly another sale is like it")
    return "; ".join(said)


def value_name(statement: ValueStatement) -> str:
    """Return what is valued."""
    return _NAMED_BY_CODE.get(statement.of) or f"after: {OPTION_NAMES[statement.of]}"


def value_sources(statement: ValueStatement) -> str:
    """Return the definition of a kind of value with where it is published, its market and the day."""
    kind = statement.kind
    words = f'"{kind.definition}"' if kind.quoted else kind.definition
    return f"{kind.name}: {words} ({kind.source}). Market: {kind.market}. Day: {plain_day(statement.on)}."


def plain_day(day: date) -> str:
    """Return a day in words, with plain blanks."""
    return day_words(day).replace("\u00a0", " ")


def confidence_words(statement: ValueStatement, weight: Weight) -> str:
    """Return how sure a value is."""
    if statement.of == "disposal":
        return "one figure of the shop's table"
    if statement.of == "replacement":
        return "8 in 10, the shop's own estimate (table)"
    if not weight.claims:
        return "8 in 10, the shop's own estimate (band table)"
    return f"8 in 10; prices held to {statement.sales_used} sales"
