"""What a line of tax is called on a quote."""

from __future__ import annotations

from decimal import Decimal

from valuation.engine.rows.country import TaxRow
from valuation.language import numeral, say


def tax_label(tax: TaxRow) -> str:
    """Return what the line of tax is called: the word of the place and its rate, or its rate by kind of line.

    The word itself is not translated: it is that of the law.
    """
    rates = [percent_of(rate) for rate in (tax.labour, tax.material, tax.outside)]
    if len(set(rates)) == 1:
        return say("{tax}, {percent}", tax=tax.word, percent=rates[0])
    return say(
        "{tax}: {labour} on labour, {material} on materials, {outside} on work bought in",
        tax=tax.word, labour=rates[0], material=rates[1], outside=rates[2],
    )  # fmt: skip


def percent_of(rate: float) -> str:
    """Return a rate of tax in per cent, as exact as the law has it.

    Examples
    --------
    >>> percent_of(0.19), percent_of(0.081), percent_of(0.08875)
    ('19%', '8.1%', '8.875%')
    """
    return say("{number}%", number=numeral(f"{(Decimal(str(rate)) * 100).normalize():f}"))
