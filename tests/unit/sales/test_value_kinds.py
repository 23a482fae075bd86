"""Which value is meant, in whose words, and who may say it."""

from __future__ import annotations

from datetime import date

import pytest

from valuation.errors import UserError
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Range
from valuation.sales import appraiser_note, read_value_kinds, state_values
from valuation.sales.values import OWN_DECISION, PURPOSES


def test_fair_market_value_stands_in_the_words_of_the_regulation():
    kind = read_value_kinds()["fair_market"]
    # 26 CFR 1.170A-1(c)(2)
    assert kind.definition == (
        "the price at which the property would change hands between a willing buyer and a willing seller, neither "
        "being under any compulsion to buy or sell and both having reasonable knowledge of relevant facts"
    )
    assert (kind.quoted, kind.source) == (True, "26 CFR 1.170A-1(c)(2)")


def test_only_a_published_definition_is_said_to_be_quoted():
    for kind in read_value_kinds().values():
        assert not (kind.quoted and kind.source == "common practice")
        assert kind.definition
        assert kind.market


@pytest.mark.parametrize("purpose", PURPOSES)
def test_insurance_tax_and_court_need_a_qualified_licensed_appraiser(purpose):
    note = appraiser_note(purpose)
    assert (note == "") == (purpose in OWN_DECISION)
    if note:
        assert f"A value for {purpose} must come from a qualified, licensed appraiser" in note


def test_a_purpose_that_is_not_known_is_refused():
    with pytest.raises(ValueError, match="'fun' is not a purpose; write one of decision, sale, insurance"):
        appraiser_note("fun")


def test_each_value_says_its_kind_day_and_basis():
    prices = PricesByState(
        prices=(4.0, 3.0, 2.0, 1.0), spread=1.5, basis="blend", sales_used=23, table_weight=0.2, rows=()
    )
    values = state_values(
        Range(low=1, likely=2, high=3),
        {"rebuild": Range(low=4, likely=5, high=6)},
        Range(low=7, likely=8, high=9),
        260,
        on=date(2026, 5, 1),
        prices=prices,
        kinds=read_value_kinds(),
    )
    assert [(v.of, v.kind.id, v.amount.likely, v.basis, v.sales_used) for v in values] == [
        ("as it stands", "fair_market", 2, "blend", 23),
        ("rebuild", "fair_market", 5, "blend", 23),
        ("replacement", "replacement", 8, "band table", 0),
        ("disposal", "salvage", -260, "band table", 0),
    ]
    assert {v.on for v in values} == {date(2026, 5, 1)}


def test_a_fault_in_the_kinds_of_value_is_told(tmp_path):
    path = tmp_path / "value_kinds.csv"
    path.write_text("id,name,definition,quoted,source,market,used_for\na,b,c,maybe,e,f,g\n", encoding="utf-8")
    with pytest.raises(UserError, match="'maybe' is neither yes nor no"):
        read_value_kinds(path)
