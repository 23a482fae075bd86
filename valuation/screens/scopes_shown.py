"""How far to go: each scope with its price, or why it is not offered; and what is told beside the verdict."""

from __future__ import annotations

import streamlit as st

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import ScopeResult
from valuation.engine.decision import PAYS
from valuation.engine.rows.country import TaxRow
from valuation.language import say
from valuation.report.fault_words import why_sentence, worst_part
from valuation.report.format import exact, money, of_100, years_range
from valuation.report.labels import with_capital
from valuation.report.quote import quote_of
from valuation.report.tax_words import with_tax
from valuation.report.ways import refusal_words
from valuation.report.words import beside_the_verdict
from valuation.screens import marks
from valuation.screens.safe import bullets, md


def beside(found: Appraisal) -> None:
    """Tell what is true beside the verdict, and which findings hardly fit together."""
    said = [*beside_the_verdict(found), *(say(conflict.says) for conflict in found.conflicts)]
    if said:
        st.markdown(" ".join(map(md, said)))


def components(found: Appraisal) -> None:
    """Draw the six components at a glance: score, band, worst part, and why in one sentence."""
    rows = []
    for component in found.components:
        part = worst_part(component, found)
        score = f"{component.score:.0f} ({component.low:.0f}–{component.high:.0f})"
        rows.append([say(component.name), score, with_capital(say(part.name)), why_sentence(part)])
    caption = say("100 is as new, below 20 a part has failed; 8 of 10 such pianos lie between the figures in brackets.")
    st.html(marks.table(caption, [say("Component"), say("Score"), say("Worst part"), say("Why")], rows))


def scopes(found: Appraisal, tax: TaxRow) -> None:
    """Draw how far one may go, from what is dangerous to everything, each with its price or why it is not offered."""
    st.header(say("How far to go"), anchor=False)
    told = [scope for scope in found.scopes if scope.scope != PAYS]
    headers = [
        say("Scope"), say("Fixed price"), say("At the most"), say("Worth then"), say("Good years"), say("Serves"),
    ]  # fmt: skip
    caption = say(
        "Money in {currency}. Serves: so many of 100 such pianos can then be used.",
        currency=with_tax(found.currency, tax),
    )
    st.html(marks.table(caption, headers, [_row(scope, tax) for scope in told if scope.offered]))
    st.markdown(bullets(_meaning(scope) for scope in told))


def _row(scope: ScopeResult, tax: TaxRow) -> list[str]:
    result, quote = scope.result, quote_of(scope.result, tax)
    return [
        with_capital(say(scope.name)),
        exact(quote.total),
        exact(quote.most),
        money(result.expected_value),
        years_range(result.years) if result.years.high > 0 else say("none"),
        of_100(result.serves),
    ]


def _meaning(scope: ScopeResult) -> str:
    told = say(scope.plain) if scope.offered else refusal_words(scope.why_not)
    return f"**{md(with_capital(say(scope.name)))}**: {md(told)}"
