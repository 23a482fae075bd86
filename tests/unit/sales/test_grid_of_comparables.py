"""The grid of comparables: every adjustment adds up and can be traced."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from data_demo.sales.make_sales import SEED, TODAY, draw_market
from valuation.facts.visit import Piano
from valuation.rules import load_tables
from valuation.sales import compare, fit_sales, read_price_index
from valuation.sales.traits import ATTRIBUTES

INDEX = Path(__file__).resolve().parents[3] / "data_demo" / "sales" / "price_index.csv"
PIANO = Piano(kind="upright", size_mm=1320, year=1908, tier="good")


@pytest.fixture(scope="module", params=["few sales", "many sales"])
def model(request):
    sales = draw_market(SEED, {"few sales": 12, "many sales": 180}[request.param])
    return fit_sales(sales, load_tables(), kind="upright", on=TODAY, index=read_price_index(INDEX))


@pytest.mark.parametrize("state", ["sound", "serviceable", "worn", "failed"])
def test_the_price_and_its_adjustments_add_up_exactly(model, state):
    for one in compare(model, PIANO, state).comparables:
        assert one.adjusted == one.sale.price + math.fsum(a.money for a in one.adjustments)
        assert all(a.money == int(a.money) for a in one.adjustments)
        assert one.gross_share == pytest.approx(sum(abs(a.money) for a in one.adjustments) / one.sale.price)
        assert one.weak == (one.gross_share > 0.3)


def test_every_difference_is_adjusted_and_nothing_else(model):
    for one in compare(model, PIANO, "worn").comparables:
        sale = one.sale
        differs = {
            "price_kind": sale.price_kind != "achieved",
            "sale_kind": sale.sale_kind != "private",
            "time": sale.sold_on != TODAY,
            "size": sale.size_mm != 1320,
            "age": sale.year_built != 1908,
            "tier": sale.tier != "good",
            "state": sale.state != "worn",
            "restored": sale.restored != "no",
        }
        assert [a.attribute for a in one.adjustments] == [name for name in ATTRIBUTES if differs[name]]


def test_every_adjustment_names_rows_of_the_tables_or_coefficients_that_there_are(model):
    known = {one.name for one in model.coefficients} | set(model.index.places)
    known |= {model.place_of(row) for row in model.tables.bands}
    for one in compare(model, PIANO, "serviceable").comparables:
        for adjustment in one.adjustments:
            assert set(adjustment.sources) <= known
            assert adjustment.sources or abs(adjustment.money) < 0.02 * one.sale.price  # beyond the largest class


def test_a_difference_in_state_names_the_band_row_and_what_the_sales_say_of_both_states():
    sales = draw_market(SEED, 180)
    model = fit_sales(sales, load_tables(), kind="upright", on=TODAY)
    twin = replace(
        model.sales[0], sold_on=TODAY, size_mm=1320.0, year_built=1908, tier="good", state="serviceable",
        restored="no", restored_by="", sale_kind="private", price_kind="achieved",
    )  # fmt: skip
    (adjustment,) = compare(replace(model, sales=(twin,)), PIANO, "worn").comparables[0].adjustments
    band = model.band_of(model.traits_of_piano(PIANO, "worn"))
    assert adjustment.sources == (
        model.place_of(band), "state serviceable, beside the table", "state worn, beside the table",
    )  # fmt: skip
    beside = {one.name: one.log for one in model.coefficients}
    by_hand = math.log(band.worn / band.serviceable) + beside[adjustment.sources[2]] - beside[adjustment.sources[1]]
    assert adjustment.money / twin.price == pytest.approx(math.expm1(by_hand), abs=0.02)  # the bend says a little too


def test_an_adjusted_price_is_what_the_model_makes_of_the_sale():
    sales = draw_market(SEED, 180)
    model = fit_sales(sales, load_tables(), kind="upright", on=TODAY, index=read_price_index(INDEX))
    subject = model.traits_of_piano(PIANO, "worn")
    for one in compare(model, PIANO, "worn").comparables:
        its, the_pianos = model.log_prices([model.traits_of_sale(one.sale), subject])
        rose = model.index.factor("upright", one.sale.sold_on, TODAY)
        by_model = one.sale.price * rose * math.exp(the_pianos - its)
        assert one.adjusted == pytest.approx(by_model, abs=4)  # each of up to 8 adjustments is rounded to 1


def test_one_difference_is_worth_its_coefficient():
    sales = draw_market(SEED, 180)
    model = fit_sales(sales, load_tables(), kind="upright", on=TODAY)
    twin = replace(
        model.sales[0], sold_on=TODAY, price=10_000.0, size_mm=1320.0, year_built=1908, tier="good", state="worn",
        restored="no", restored_by="", sale_kind="dealer", price_kind="achieved",
    )  # fmt: skip
    grid = compare(replace(model, sales=(twin,)), PIANO, "worn")
    (adjustment,) = grid.comparables[0].adjustments
    dealer = next(one.log for one in model.coefficients if one.name == "sold by a dealer")
    assert adjustment.money == round(10_000 * math.expm1(-dealer))
    assert adjustment.sources == ("sold by a dealer",)
    assert (adjustment.sale_has, adjustment.piano_has) == ("dealer", "private")


def test_the_nearest_come_first_and_a_twin_of_the_piano_before_all(model):
    twin = replace(
        model.sales[0], id="twin", sold_on=TODAY, size_mm=1320.0, year_built=1908, tier="good", state="worn",
        restored="no", restored_by="", sale_kind="private", price_kind="achieved",
    )  # fmt: skip
    grid = compare(replace(model, sales=(*model.sales, twin)), PIANO, "worn", count=7)
    assert [one.distance for one in grid.comparables] == sorted(one.distance for one in grid.comparables)
    assert len(grid.comparables) == min(7, len(model.sales) + 1)
    assert grid.comparables[0].sale.id == "twin"
    assert grid.comparables[0].distance == pytest.approx(0, abs=1e-12)
    assert grid.comparables[0].adjusted == twin.price


def test_the_grid_suggests_the_least_middle_and_greatest_of_those_counted(model):
    grid = compare(model, PIANO, "serviceable")
    prices = [one.adjusted for one in grid.comparables if one.sale.id in grid.counted]
    assert (grid.suggests.low, grid.suggests.high) == (min(prices), max(prices))
    assert grid.suggests.likely == pytest.approx(np.median(prices))
    strong = [one.sale.id for one in grid.comparables if not one.weak]
    assert list(grid.counted) == (strong if len(strong) >= 3 else [one.sale.id for one in grid.comparables])


def test_without_a_sale_the_grid_is_empty():
    grid = compare(fit_sales([], load_tables(), kind="upright", on=TODAY), PIANO, "worn")
    assert grid.comparables == ()
    assert grid.suggests is None
