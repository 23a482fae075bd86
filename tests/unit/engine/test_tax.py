"""Tax by kind of line: the same verdict and prices as where it is folded into the figures of the tables by hand."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache

import numpy as np
import pytest
import small_rules
from random_visits import ON, random_visit

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraise import report
from valuation.engine.appraised_work import tax_on
from valuation.engine.rows.tables import Tables
from valuation.engine.study import Study, decide_at, study_of
from valuation.report.quote import quote_of

LABOUR, MATERIAL, OUTSIDE = 0.04, 0.0725, 0.21


@cache
def taxed() -> Tables:
    book = small_rules.tables()
    taxes = tuple(replace(row, labour=LABOUR, material=MATERIAL, outside=OUTSIDE) for row in book.taxes if row.shown)
    return replace(book, taxes=taxes)


@cache
def folded() -> Tables:
    """Return the tables without tax, with dearer hours, materials and bought-in work."""
    book = small_rules.tables()

    def dearer(row, stem, times):
        return replace(
            row, **{f"{stem}_{end}": times * getattr(row, f"{stem}_{end}") for end in ("low", "likely", "high")}
        )

    return replace(
        book,
        taxes=tuple(replace(row, labour=0.0, material=0.0, outside=0.0) for row in book.taxes),
        rates=tuple(replace(row, per_hour=(1 + LABOUR) * row.per_hour) for row in book.rates),
        materials=tuple(
            dearer(row, "price", 1 + (OUTSIDE if row.taxed_as == "outside" else MATERIAL)) for row in book.materials
        ),
    )


@cache
def found(seed: int) -> tuple[Study, Appraisal]:
    """Return the study of a piano drawn, and what it comes to."""
    study = study_of(random_visit(taxed(), np.random.default_rng(seed)), taxed(), on=ON, draws=1024)
    return study, report(study, decide_at(study))


@pytest.mark.parametrize("seed", range(12))
def test_tax_by_kind_of_line_is_that_of_dearer_figures(seed):
    study, ours = found(seed)
    theirs = report(study_of(study.visit, folded(), on=ON, draws=1024))
    assert ours.verdict == theirs.verdict
    for option, twin in zip(ours.options, theirs.options, strict=True):
        assert option.fixed_price == pytest.approx(twin.fixed_price, rel=1e-9)
        assert option.most_price == pytest.approx(twin.most_price, rel=1e-9)
        assert option.expected_price == pytest.approx(twin.expected_price, rel=1e-9)
        assert option.expected_net == pytest.approx(twin.expected_net, rel=1e-9)
        assert option.price.high == pytest.approx(twin.price.high, rel=1e-4)


@pytest.mark.parametrize("seed", range(12))
def test_the_tax_of_a_way_is_that_of_its_lines_by_their_kind(seed):
    study, appraisal = found(seed)
    for option in appraisal.options:
        labour, materials, outside = (
            sum(getattr(line, name) for line in option.lines) for name in ("labour", "materials", "outside")
        )
        assert option.tax == pytest.approx(LABOUR * labour + MATERIAL * materials + OUTSIDE * outside)
        assert option.tax == pytest.approx(tax_on(option.lines, study.prices.tax))
        assert option.fixed_price == pytest.approx(option.before_tax + option.tax)


@pytest.mark.parametrize("seed", range(6))
def test_a_quote_taxes_each_kind_of_amount_to_the_cent(seed):
    study, appraisal = found(seed)
    rates = {"labour": Decimal("0.04"), "materials": Decimal("0.0725"), "outside": Decimal("0.21")}
    for option in appraisal.options:
        quote = quote_of(option, study.prices.tax)
        owed = sum(rate * sum(getattr(line, kind) for line in quote.lines) for kind, rate in rates.items())
        assert abs(quote.tax - owed) <= Decimal("0.005")
        assert quote.total == quote.before_tax + quote.tax
        for line in quote.if_found:
            assert abs(float(line.price) - line.allowance.if_needed) <= 1.5 * 1.21 + 0.005
