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
from valuation.sales import compare, fit_sales, offer_curve, read_price_index
from valuation.sales.traits import ATTRIBUTES

INDEX = Path(__file__).resolve().parents[3] / "data_demo" / "sales" / "price_index.csv"
PIANO = Piano(kind="upright", size_mm=1320, year=1908, tier="good")


@pytest.fixture(scope="module", params=["few sales", "many sales", "curved"])
def model(request):
    sales = draw_market(SEED, {"few sales": 12, "many sales": 180, "curved": 180}[request.param])
    fitted = fit_sales(sales, load_tables(), kind="upright", on=TODAY, index=read_price_index(INDEX))
    if request.param == "few sales":
        assert fitted.ridge is None
    if request.param == "curved":
        settings = replace(fitted.settings, curve_gain=-10.0)  # offer the curve in any case
        fitted = offer_curve(replace(fitted, settings=settings)).model
    return fitted


@pytest.mark.parametrize("state", ["sound", "serviceable", "worn", "failed"])
def test_the_price_and_its_adjustments_add_up_exactly(model, state):
    for one in compare(model, PIANO, state).comparables:
        assert one.adjusted == one.sale.price + math.fsum(a.money for a in one.adjustments)
        assert all(a.money == int(a.money) for a in one.adjustments)
        assert one.net_share == pytest.approx(one.adjusted / one.sale.price - 1)
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


def test_every_adjustment_names_coefficients_that_there_are_or_rows_of_the_index(model):
    known = {one.name for one in model.coefficients} | set(model.index.places)
    for one in compare(model, PIANO, "serviceable").comparables:
        for adjustment in one.adjustments:
            assert set(adjustment.sources) <= known
            assert adjustment.sources or adjustment.money == 0 or model.curve is not None


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
