"""What a line of tax is called on a quote, and whether tax is named beside a sum."""

from __future__ import annotations

from valuation.engine.rows.country import TaxRow
from valuation.language import say
from valuation.report.format import rate_words


def with_tax(money: str, tax: TaxRow) -> str:
    """Return a sum, or the money that sums are in, and that tax is in it; where none is shown, not a word of tax."""
    return say("{money}, with tax", money=money) if tax.shown else money


def tax_in_prices(tax: TaxRow) -> str:
    """Return whether the prices told hold tax, or what the law wants said where there is none."""
    return say("Prices include tax.") if tax.shown else say(tax.says) if tax.says else ""


def tax_label(tax: TaxRow) -> str:
    """Return what the line of tax is called: the word of the place and its rate, or its rate by kind of line.

    The word itself is not translated: it is that of the law.
    """
    rates = [rate_words(rate) for rate in (tax.labour, tax.material, tax.outside)]
    if len(set(rates)) == 1:
        return say("{tax}, {percent}", tax=tax.word, percent=rates[0])
    return say(
        "{tax}: {labour} on labour, {material} on materials, {outside} on work bought in",
        tax=tax.word, labour=rates[0], material=rates[1], outside=rates[2],
    )  # fmt: skip
