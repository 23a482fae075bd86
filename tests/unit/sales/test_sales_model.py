"""The price model on the invented market: what it promises below, at and above the numbers that it needs."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from data_demo.sales.make_sales import SALES, SEED, TODAY, draw_market
from tests.price_worlds import DAY, World, draw_world
from valuation.engine.market import look_up
from valuation.engine.rows import STATES
from valuation.facts.prices import PricesByState
from valuation.facts.visit import Piano
from valuation.rules import load_tables
from valuation.sales import check_fit, fit_sales, load_sales_settings, read_price_index, read_sales
from valuation.sales.traits import typical_middles

DEMO = Path(__file__).resolve().parents[3] / "data_demo" / "sales"
UPRIGHT = Piano(kind="upright", size_mm=1320, year=1908, tier="good")


@pytest.fixture(scope="module")
def tables():
    return load_tables()


def fit(tables, sales, kind="upright", **more):
    return fit_sales(sales, tables, kind=kind, on=TODAY, index=read_price_index(DEMO / "price_index.csv"), **more)


def test_the_demo_files_are_what_the_script_makes(tables):
    read = read_sales(DEMO / "sales.csv", tables, today=TODAY)
    assert len(read.sales) == SALES >= 150
    assert list(read.sales) == draw_market(SEED, SALES)
    assert {sale.source for sale in read.sales} == {"invented"}


def test_without_a_sale_the_band_table_speaks_alone(tables):
    model = fit(tables, [])
    band = look_up(tables, UPRIGHT, tables.parts, TODAY, None).band
    found = model.prices_by_state(UPRIGHT)
    assert found.prices == tuple(getattr(band, state) for state in STATES)
    assert (found.spread, found.basis, found.sales_used, found.table_weight) == (band.spread, "band table", 0, 1)
    assert found.rows == (f"bands.csv:{tables.lines['bands', tables.bands.index(band)]}",)
    assert found.spreads == (band.spread,) * 4
    assert (model.level, model.held, check_fit(model)) == (None, False, ())


@pytest.mark.parametrize(("n", "held"), [(1, False), (9, False), (10, True), (60, True)])
def test_sales_speak_from_the_first_on_and_the_band_is_held_to_them_from_ten(tables, n, held):
    model = fit(tables, draw_market(2, n, "grand"), "grand")
    found = model.prices_by_state(Piano(kind="grand"))
    assert (found.basis, found.sales_used, model.held) == ("blend", n, held)
    assert found.rows[0].startswith("bands.csv:")
    assert len(found.rows) == 1 + n
    assert found.table_weight == model.table_weight
    assert found.spread == pytest.approx(math.exp(np.mean(np.log(found.spreads))))


def test_the_more_sales_the_less_the_table_says_of_the_level(tables):
    weights = [fit(tables, draw_market(2, n, "grand"), "grand").table_weight for n in (0, 1, 5, 20)]
    assert weights[0] == 1
    assert (np.diff(weights) < 0).all()
    # a single sale strays by log(1.6)/1.2816 = 0.367 by the median row, the level by log(1.8) = 0.588
    assert weights[2] == pytest.approx(1 / (1 + 5 * (0.588 / 0.367) ** 2), rel=0.01)


def test_a_table_at_half_the_truth_is_said_to_be_two_times_too_low(tables):
    drawn = draw_world(World(level=2.0), tables, "upright", 40, 1)
    level = fit_sales(drawn.sales, tables, kind="upright", on=DAY).level
    assert level.off
    assert level.factor == pytest.approx(2, rel=0.15)
    likely, low, high = level.times
    assert low < likely < high
    assert low > 1.5
    other = draw_world(World(level=0.5), tables, "upright", 40, 1)
    other = fit_sales(other.sales, tables, kind="upright", on=DAY).level
    assert other.log < 0
    assert other.times[0] == pytest.approx(2, rel=0.15)


def test_three_sales_say_it_of_most_tables_at_half_the_truth_and_of_few_that_are_right(tables):
    def said(world: World) -> float:
        drawn = (draw_world(world, tables, "upright", 3, seed, asked=0).sales for seed in range(40))
        return np.mean([fit_sales(sales, tables, kind="upright", on=DAY).level.off for sales in drawn])

    assert said(World(level=2.0)) >= 0.7
    assert said(World()) <= 0.2


def test_pianos_sold_as_failed_have_a_spread_of_their_own(tables):
    drawn = draw_world(World(picks=-1.2, failed_stray=3.0), tables, "grand", 150, 4)
    spreads = fit_sales(drawn.sales, tables, kind="grand", on=DAY).prices_by_state(Piano(kind="grand")).spreads
    assert math.log(spreads[3]) > 1.3 * math.log(spreads[1])


def every_piano(tables, kind):
    for size in (None, 950, 1400, 2000):
        for year in (None, 1860, 1911, 1960, 2020):
            for tier in sorted(tables.tiers, key=lambda row: row.rank):
                yield Piano(kind=kind, size_mm=size, year=year, tier=tier.id)


@pytest.mark.parametrize("seed", [1, 2])
def test_sales_that_say_the_opposite_never_turn_the_order_of_states_and_tiers(tables, seed):
    rng = np.random.default_rng(seed)
    tiers = [row.id for row in sorted(tables.tiers, key=lambda row: row.rank)]
    upside_down = [
        replace(
            sale,
            price=1000.0
            * math.exp(-STATES[::-1].index(sale.state) - tiers.index(sale.tier) + 0.2 * rng.standard_normal()),
        )
        for sale in draw_market(seed, 80, "upright")
    ]
    model = fit(tables, upside_down)
    rows = np.array([model.prices_by_state(piano).prices for piano in every_piano(tables, "upright")])
    rows = rows.reshape(-1, len(tiers), 4)
    assert (np.diff(rows, axis=2) <= 0).all()  # from sound to failed
    assert (rows[:, 1:] >= rows[:, :-1] * (1 - 1e-12)).all()  # from tier to tier


def test_two_hundred_sales_move_the_price_to_where_they_are(tables):
    dear = [replace(sale, price=3 * sale.price) for sale in draw_market(5, 200, "upright")]
    plain = fit(tables, draw_market(5, 200, "upright")).prices_by_state(UPRIGHT).prices
    risen = fit(tables, dear).prices_by_state(UPRIGHT).prices
    assert np.array(risen) / np.array(plain) == pytest.approx([3, 3, 3, 3], rel=0.15)


def test_the_index_brings_each_sale_to_the_day_before_the_fit(tables):
    sales, index = draw_market(6, 60, "upright"), read_price_index(DEMO / "price_index.csv")
    brought = [replace(sale, price=sale.price * index.factor("upright", sale.sold_on, TODAY)) for sale in sales]
    by_hand = fit_sales(brought, tables, kind="upright", on=TODAY).prices_by_state(UPRIGHT)
    assert fit(tables, sales).prices_by_state(UPRIGHT).prices == pytest.approx(by_hand.prices, rel=1e-9)
    assert fit_sales(sales, tables, kind="upright", on=TODAY).prices_by_state(UPRIGHT) != by_hand


def test_later_old_and_other_sales_are_left_out_and_told(tables):
    sales, on = draw_market(7, 90), date(2025, 6, 1)
    model = fit_sales(sales, tables, kind="grand", on=on, settings=replace(load_sales_settings(), oldest_years=2.0))
    assert all(sale.kind == "grand" and date(2023, 6, 1) <= sale.sold_on <= on for sale in model.sales)
    grands = [sale for sale in sales if sale.kind == "grand"]
    assert len(model.sales) + len(model.not_used) == len(grands)
    assert {reason for _, reason in model.not_used} == {
        "sold after the day of the value",
        "sold more than 2 years before",
    }


def test_what_is_not_known_of_a_piano_is_taken_as_usual(tables):
    model = fit(tables, draw_market(8, 60, "upright"))
    known = Piano(kind="upright", size_mm=1292.5, year=tables.settings.usual_year, tier="ordinary")
    assert model.prices_by_state(Piano(kind="upright")) == model.prices_by_state(known)


def test_features_of_build_are_left_to_the_appraisal(tables):
    model = fit(tables, draw_market(8, 60, "upright"))
    square = replace(UPRIGHT, features=("drop_action",))
    assert model.prices_by_state(square) == model.prices_by_state(UPRIGHT)


def test_a_piano_of_the_other_kind_is_refused(tables):
    with pytest.raises(ValueError, match="this model is of uprights, the piano is a grand"):
        fit(tables, []).prices_by_state(Piano(kind="grand"))


def test_a_sale_with_a_slip_of_the_pen_is_unlike_the_others(tables):
    sales = draw_market(9, 60, "upright")
    sales[20] = replace(sales[20], price=sales[20].price * 10)
    checks = check_fit(fit(tables, sales))
    assert [check.sale for check in checks] == [sale.id for sale in sales]
    assert max(checks, key=lambda check: check.spreads_off).sale == sales[20].id
    assert checks[20].unlike
    assert checks[20].expected == pytest.approx(sales[20].price / 10, rel=0.8)
    assert sum(check.unlike for check in checks) <= 4


def test_the_only_sale_of_a_sort_decides_its_own_fit_more_than_others(tables):
    common = [
        replace(sale, tier="ordinary", size_mm=1300.0, year_built=1910) for sale in draw_market(10, 60, "upright")
    ]
    lone = [*common[:-1], replace(common[-1], tier="finest", size_mm=900.0, year_built=1995)]
    checks = check_fit(fit(tables, lone, settings=replace(load_sales_settings(), heavy_leverage=0.2)))
    assert max(checks, key=lambda check: check.leverage).sale == lone[-1].id
    assert checks[-1].heavy


def test_coefficients_say_where_they_come_from(tables):
    fitted = fit(tables, draw_market(13, 30, "upright")).coefficients
    prior = fit(tables, []).coefficients
    assert [one.name for one in fitted] == [one.name for one in prior]
    origins = {one.name: one.origin for one in prior}
    assert origins["a price asked"] == "sales settings: asked"
    assert origins["tier plain, beside the table"] == "bands.csv, all rows of uprights"
    assert all(one.origin.startswith("fit of 30 sales, starting from ") for one in fitted)


def test_typical_instruments_stand_where_the_tables_classes_have_their_middle():
    assert typical_middles([(0, 1680), (1680, 1830), (1830, 2030), (2030, 2500), (2500, 3500)]) == (
        1605,
        1755,
        1930,
        2265,
        2735,
    )
    assert typical_middles([(1200, 3200)]) == (2200,)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"prices": (4.0, 5.0, 2.0, 1.0)}, "prices must fall from sound to failed"),
        ({"prices": (4.0, 3.0, 2.0, 0.0)}, "stay above 0"),
        ({"spread": 0.9}, "a spread is 1 or more"),
        ({"basis": "guess"}, "the basis is one of band table, blend, sales"),
        ({"table_weight": 1.2}, "a weight is a share"),
        ({"spreads": (1.5, 1.5)}, "one spread for each state"),
        ({"spreads": (1.5, 1.5, 0.5, 1.5)}, "a spread is 1 or more: 0.5"),
    ],
)
def test_prices_that_can_not_be_are_refused(changed, message):
    plain = {"prices": (4.0, 3.0, 2.0, 1.0), "spread": 1.5, "basis": "blend", "sales_used": 12, "table_weight": 0.3}
    with pytest.raises(ValueError, match=message):
        PricesByState(**{**plain, "rows": (), **changed})


def test_the_tool_without_sales_imports_neither_data_frames_nor_learning_machines():
    code = "import sys, valuation, valuation.files; sys.exit(bool({'pandas', 'sklearn', 'scipy'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
