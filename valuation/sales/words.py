"""What the sales say, in words: how a sale differs from the piano, where an adjustment comes from, how sure a value is.

All take data and return text; the page and the command line share them.
"""

from __future__ import annotations

import math
import re
from typing import Any

from valuation.engine.money import Z90
from valuation.language import later, numeral, say
from valuation.report.format import exact, money, of_100
from valuation.report.labels import plain_day, size_in_cm
from valuation.report.words import option_word, weight_sentence
from valuation.sales.grid import Adjustment, Comparable, Grid
from valuation.sales.model import Coefficient, SalesModel
from valuation.sales.odd_sales import SaleCheck
from valuation.sales.read_sales import Duplicate
from valuation.sales.sale import Sale
from valuation.sales.values import ValueStatement

ATTRIBUTE_NAMES = {
    "price_kind": later("asked or achieved"),
    "sale_kind": later("kind of sale"),
    "time": later("time"),
    "size": later("size"),
    "age": later("year built"),
    "tier": later("reputation"),
    "state": later("condition"),
    "restored": later("restored"),
}
"""Name of each attribute, in the order of the grid; `attribute_name` says one."""

SOLD_IN = {"private": later("private sale"), "dealer": later("dealer"), "auction": later("auction")}
"""How a sale took place."""

_NAMED_BY_CODE = {
    "as it stands": later("as it stands"),
    "replacement": later("a comparable replacement"),
    "disposal": later("as scrap"),
}
_ASSUMED = {"size": later("size"), "year": later("year")}
_RESTORED = {"no": later("not restored"), "part": later("in part"), "full": later("in full")}

_NAMES = (
    later("size, middle to largest, beside the table"),
    later("year built, middle to newest, beside the table"),
    later("tier {tier}, beside the table"),
    later("state {state}, beside the table"),
    later("restored, {low} to {high}"),
    later("level of all prices"),
    later("sold by a dealer"),
    later("sold at auction"),
    later("a price asked"),
    later("sold ten years before"),
)
"""The names of coefficients, as `valuation.sales.traits` writes them."""

_ORIGINS = (
    later("fit of {count} sales, starting from {origin}"),
    later("bands.csv, all rows of uprights"),
    later("bands.csv, all rows of grands"),
    later("sales settings: {setting}"),
)

_LEFT_OUT = (later("sold after the day of the value"), later("sold more than {years} years before"))


_TOO_LOW = later("Your table looks {times} times too low ({low} to {high}).")
_TOO_HIGH = later("Your table looks {times} times too high ({low} to {high}).")
_UNLIKE_ABOVE = later(
    "unlike the others: {spreads} standard deviations above what they tell, {price} where they say {expected}"
)
_UNLIKE_BELOW = later(
    "unlike the others: {spreads} standard deviations below what they tell, {price} where they say {expected}"
)


def attribute_name(attribute: str) -> str:
    """Return the name of an attribute."""
    return say(ATTRIBUTE_NAMES[attribute])


def coefficient_name(name: str) -> str:
    """Return the name of a coefficient, or the place of a row, in the language spoken.

    The name itself is data, which ties adjustments to coefficients; here its words are told from its figures again.
    """
    return _said_again(name, _NAMES)


def origin_words(coefficient: Coefficient) -> str:
    """Return where the figure of a coefficient comes from."""
    return _said_again(coefficient.origin, _ORIGINS)


def left_out_words(sale: str, why: str) -> str:
    """Return a sale that isn't used, and why."""
    return f"{sale}: {left_out_reason(why)}"


def left_out_reason(why: str) -> str:
    """Return why a sale isn't used."""
    return _said_again(why, _LEFT_OUT)


def _said_again(text: str, messages: tuple[str, ...]) -> str:
    """Return a text that was made of one of these messages in the language spoken, its figures with it."""
    for message in messages:
        pattern = re.sub(r"\\{(\w+)\\}", r"(?P<\1>.+)", re.escape(message))
        if match := re.fullmatch(pattern, text):
            figures = {name: _said_again(figure, messages) for name, figure in match.groupdict().items()}
            return say(message, **figures)
    return numeral(text) if re.fullmatch(r"[\d.]+", text) else say(text)


def weight_words(model: SalesModel) -> str:
    """Return what the prices rest on, whether the table looks off, and what the band is held to."""
    said = [weight_sentence(model.kind, len(model.sales)), level_words(model), claim_words(model)]
    return " ".join(one for one in said if one)


def level_words(model: SalesModel) -> str:
    """Return how far the table as a whole looks off; empty where there is no sale."""
    if model.level is None:
        return ""
    times, low, high = (numeral(f"{times:.1f}") for times in model.level.times)
    if model.level.off:
        return say(_TOO_LOW if model.level.log > 0 else _TOO_HIGH, times=times, low=low, high=high)
    log, unsure = model.level.log, Z90 * model.level.unsure
    factor, low, high = (numeral(f"{math.exp(end):.2f}") for end in (log, log - unsure, log + unsure))
    return say(
        "By them the table as a whole may be right: prices are {factor} times the table's ({low} to {high}).",
        factor=factor, low=low, high=high,
    )  # fmt: skip


def claim_words(model: SalesModel) -> str:
    """Return what the band of 8 in 10 rests on."""
    if not model.sales:
        return say("The band of 8 in 10 is the shop's own estimate.")
    if model.held:
        return say("The band of 8 in 10 is held to the sales, each left out in turn.")
    return say(
        "The band of 8 in 10 still rests mostly on the table; from {count} sales on it is held to them.",
        count=model.settings.held_from,
    )


def twice_words(first: str, second: str) -> str:
    """Return that two sales look like one piano told twice."""
    return say("'{second}' looks like the same piano as '{first}' told twice; both count", first=first, second=second)


def sale_words(sale: Sale) -> str:
    """Return what was sold, in one line."""
    facts = {
        "kind": say(sale.kind),
        "size": size_in_cm(sale.size_mm / 10) if sale.size_mm else say("size not known"),
        "year": str(sale.year_built) if sale.year_built else say("year not known"),
        "tier": say(sale.tier),
        "state": say(sale.state),
        "sold": how_sold(sale),
    }
    return say(
        {
            "no": later("{kind}, {size}, {year}, {tier}, {state}; {sold}"),
            "part": later("{kind}, {size}, {year}, {tier}, {state}, restored in part; {sold}"),
            "full": later("{kind}, {size}, {year}, {tier}, {state}, restored; {sold}"),
        }[sale.restored],
        **facts,
    )


def how_sold(sale: Sale) -> str:
    """Return how it was sold."""
    where = say(SOLD_IN[sale.sale_kind])
    return say("{where}, asked", where=where) if sale.price_kind == "asked" else where


def described(one: Comparable) -> str:
    """Return what was sold, and what had to be assumed of it."""
    sold = sale_words(one.sale)
    if not one.assumed:
        return sold
    if len(one.assumed) > 1:
        return say("{sold}; size and year not known, taken as usual", sold=sold)
    return say("{sold}; {what} not known, taken as usual", sold=sold, what=say(_ASSUMED[one.assumed[0]]))


def state_name(state: str, compared_as: str) -> str:
    """Return a state, and whether the piano is compared in it."""
    return say("{state} (compared as)", state=say(state)) if state == compared_as else say(state)


def weak_words(grid: Grid) -> str:
    """Return a warning where all the nearest sales are weak, else nothing."""
    if not all(one.weak for one in grid.comparables):
        return ""
    return say("All of them are weak: take it as a hint, not as a proof.")


def signed(amount: float) -> str:
    """Return an adjustment with its sign.

    Examples
    --------
    >>> signed(1200), signed(-80), signed(0)
    ('+1,200', '-80', '0')
    """
    return numeral(f"{amount:+,.0f}") if amount else "0"


def difference_words(adjustment: Adjustment) -> str:
    """Return one difference: what the sale has, and what the piano has."""
    its: Any = adjustment.sale_has
    the_pianos: Any = adjustment.piano_has
    match adjustment.attribute:
        case "time":
            return say("{years} years before", years=numeral(f"{its:.1f}"))
        case "size":
            its, the_pianos = f"{its / 10:.0f} cm", f"{the_pianos / 10:.0f} cm"
        case "age":
            its, the_pianos = f"{its:.0f}", f"{the_pianos:.0f}"
        case "restored":
            its, the_pianos = say(_RESTORED[its]), say(_RESTORED[the_pianos])
        case _:
            its, the_pianos = say(its), say(the_pianos)
    return say("{its}, the piano {the_pianos}", its=its, the_pianos=the_pianos)


def source_words(adjustment: Adjustment) -> str:
    """Return the coefficients and rows that one adjustment comes from."""
    return "; ".join(map(coefficient_name, adjustment.sources)) or say("no coefficient: it makes no difference")


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
    return say(
        "line {line}: '{second}' looks like the same piano as '{first}' told twice; delete one if it is",
        line=duplicate.line, second=duplicate.second, first=duplicate.first,
    )  # fmt: skip


def odd_words(check: SaleCheck, price: float) -> str:
    """Return what is odd about a sale."""
    said = []
    if check.unlike:
        message = _UNLIKE_ABOVE if check.spreads_off > 0 else _UNLIKE_BELOW
        spreads = numeral(f"{abs(check.spreads_off):.1f}")
        said.append(say(message, spreads=spreads, price=exact(price), expected=money(check.expected)))
    if check.heavy:
        said.append(say("decides {share} of its own fit: hardly another sale is like it", share=of_100(check.leverage)))
    return "; ".join(said)


def value_name(statement: ValueStatement) -> str:
    """Return what is valued."""
    if statement.of in _NAMED_BY_CODE:
        return say(_NAMED_BY_CODE[statement.of])
    return say("after: {option}", option=option_word(statement.of))


def value_sources(statement: ValueStatement) -> str:
    """Return the definition of a kind of value with where it is published, its market and the day."""
    kind = statement.kind
    definition = say(kind.definition)
    return say(
        "{kind}: {definition} ({source}). Market: {market}. Day: {day}.",
        kind=say(kind.name),
        definition=say('"{words}"', words=definition) if kind.quoted else definition,
        source=say(kind.source),
        market=say(kind.market),
        day=plain_day(statement.on),
    )


def confidence_words(statement: ValueStatement, *, held: bool) -> str:
    """Return how sure a value is."""
    if statement.of == "disposal":
        return say("one figure of the shop's table")
    if statement.of == "replacement":
        return say("8 in 10, the shop's own estimate (table)")
    if not statement.sales_used:
        return say("8 in 10, the shop's own estimate (band table)")
    if not held:
        return say("8 in 10, mostly by the table; {count} sales", count=statement.sales_used)
    return say("8 in 10; prices held to {count} sales", count=statement.sales_used)
