"""No figure and no verdict depends on the language in which it is told."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from random_visits import ON, random_visit

from valuation.language import ENGLISH, LANGUAGES, numeral, speaking
from valuation.report.contract import to_json
from valuation.report.format import measure, money, number, plain_measure, typed_numeral
from valuation.report.one_page import one_page
from valuation.service import appraise, load_shop, write_visit_text

OTHERS = [language for language in LANGUAGES if language != ENGLISH]


def digits(text: str) -> Counter:
    """The figures of a text, without the signs in them: 13,000 and 13.000 are one figure, and so are 2.5 and 2,5."""
    return Counter(re.sub(r"[.,]", "", figure) for figure in re.findall(r"\d+(?:[.,]\d+)*", text))


@settings(deadline=None, max_examples=6)
@given(seed=st.integers(0, 2**32 - 1), language=st.sampled_from(OTHERS))
def test_an_appraisal_is_the_same_in_any_language_and_its_page_tells_the_same_figures(seed, language):
    book = load_shop()
    visit = random_visit(book, np.random.default_rng(seed))
    found = appraise(visit, book, on=ON, draws=1024)
    page, file, contract = one_page(found, visit, book), write_visit_text(visit, book), to_json(found)
    with speaking(language):
        again = appraise(visit, book, on=ON, draws=1024)
        assert again == found
        assert to_json(again) == contract
        assert write_visit_text(visit, book) == file
        told = one_page(found, visit, book)
    assert told != page
    # the head tells its days in another order; cautions and names are the shop's own words and are translated whole
    assert digits(_sums(told)) == digits(_sums(page))


def _sums(page: str) -> str:
    """Return the options and the condition, whose every figure is worked out; before a verdict the minutes to it."""
    blocks = page.split("\n\n")
    told = [block for block in blocks if re.match(r"Options|Möglichkeiten|Condition|Zustand", block)]
    return "\n".join(told or [re.search(r"\d+ (minutes|Minuten)", page).group()])


@given(st.floats(-1e9, 1e9, allow_nan=False), st.sampled_from(OTHERS))
def test_every_number_has_the_same_digits_in_any_language(value, language):
    plain = [f"{value:,.2f}", money(value), number(value), measure(value, "mm"), plain_measure(value, "N.m")]
    with speaking(language):
        told = [
            numeral(f"{value:,.2f}"),
            money(value),
            number(value),
            measure(value, "mm"),
            plain_measure(value, "N.m"),
        ]
    for english, other in zip(plain, told, strict=True):
        assert digits(english) == digits(other)


@given(st.floats(-9999, 9999, allow_nan=False), st.sampled_from(OTHERS))
def test_a_number_that_is_shown_in_a_field_is_read_as_the_same_number(value, language):
    for unit in ("mm", "N.m", "cents"):
        written = plain_measure(value, unit)
        with speaking(language):
            assert typed_numeral(plain_measure(value, unit)) == written
