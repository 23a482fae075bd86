"""What a line of tax is called on a quote."""

from __future__ import annotations

from valuation.engine.rows.country import TaxRow
from valuation.language import say
from valuation.report.format import rate_words


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
