"""The fixed lines of a plan, what is done only if it is found, and what both add up to."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.rows import Tables
from valuation.language import say
from valuation.report.fault_words import line_answers, seen_when_words, seen_words
from valuation.report.format import cents, exact, number, of_100
from valuation.report.labels import with_capital
from valuation.report.quote import Quote
from valuation.report.tax_words import tax_label
from valuation.report.trace import rows_behind
from valuation.screens import marks
from valuation.screens.quote_by_component import component_table, sum_of
from valuation.screens.state import Draft


def lines(draft: Draft, quote: Quote, found: Appraisal, book: Tables) -> None:
    """Draw the fixed lines, and the same by component."""
    if not quote.lines:
        st.markdown(say("There is no work in this plan."))
        return
    headers = [
        say("Operation"),
        say("Hours"),
        say("Labour"),
        say("Materials"),
        say("Bought in"),
        say("Amount"),
        say("Answers"),
        say("Table lines"),
    ]
    rows = [
        [
            with_capital(say(fixed.line.name)),
            number(round(fixed.line.hours, 1)),
            *map(exact, (fixed.labour, fixed.materials, fixed.outside, fixed.amount)),
            line_answers(fixed.line, found, book, draft.visit.piano.kind),
            _rows(fixed.line.rows, draft, book),
        ]
        for fixed in quote.lines
    ]
    whole = sum_of(say("All lines"), quote.lines)
    sums = map(exact, (whole.labour, whole.materials, whole.outside, whole.amount))
    rows.append([whole.name, number(round(whole.hours, 1)), *sums, "", ""])
    caption = say("Amounts in {currency} before tax; shared steps are charged once.", currency=found.currency)
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))
    st.html(component_table(quote, book, found.currency))


def _rows(references: tuple[str, ...], draft: Draft, book: Tables) -> str:
    lines: dict[str, list[str]] = {}
    for row in rows_behind(references, book, draft.visit.piano.kind, draft.visit.on):
        lines.setdefault(row.file, []).append(str(row.line))
    return "; ".join(f"{file} {', '.join(of_file)}" for file, of_file in lines.items())


def if_found(draft: Draft, quote: Quote, found: Appraisal, book: Tables) -> None:
    """Draw what is done only if the open piano shows it."""
    if not quote.if_found:
        st.markdown(say("Nothing: what this plan treats is known well enough."))
        return
    parts = {part.part: say(part.name) for part in found.parts}
    rows = [
        [
            with_capital(parts[a.part]), seen_words(a, book, draft.visit.piano.kind),
            with_capital(seen_when_words(a, book)), with_capital(say(a.name)), of_100(a.chance), cents(line.price),
            _rows(a.rows, draft, book),
        ]
        for line in quote.if_found
        for a in (line.allowance,)
    ]  # fmt: skip
    rows.append([say("All of it, at the most"), "", "", "", "", cents(quote.most - quote.total), ""])
    headers = [
        say("Part"), say("What would be seen"), say("When"), say("Then done"), say("Found in, of 100"), say("Price"),
        say("Table lines"),
    ]  # fmt: skip
    caption = say(
        "Money in {currency}, with tax. Of the larger works on one part only one is ever done.", currency=found.currency
    )
    st.html(marks.table(caption, headers, rows, strong=[len(rows) - 1], dense=True))


def sums(quote: Quote, found: Appraisal) -> None:
    """Draw what it adds up to."""
    st.header(say("What it adds up to"), anchor=False)
    rows = [
        [say("Fixed lines, before tax"), cents(quote.before_tax)],
        [tax_label(quote.taxed), cents(quote.tax)],
        [say("Fixed price"), cents(quote.total)],
        [say("The most, with all that may be found"), cents(quote.most)],
    ]
    caption = say(
        "{currency}. Each figure is rounded first, so these add up to the last digit.", currency=found.currency
    )
    st.html(marks.table(caption, ["", say("Amount")], rows, strong=[2]))
