"""The fit against the slow, plain way, and what it does with odd sales, few sales and states that stray."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest

from valuation.sales import price_fit
from valuation.sales.price_fit import SCALES_BEFORE, T_OF_NORMAL, T_OVER_NORMAL, fit_prices, held_to_sales
from valuation.sales.seen import Seen

SPREAD = 0.35


def see(n: int, seed: int = 1, *, states: int = 1) -> Seen:
    rng = np.random.default_rng(seed)
    places = rng.normal(size=(n, 2))
    return Seen(
        known=np.column_stack([np.full(n, math.log(1.8)), 0.05 * rng.uniform(0, 6, n), 0.2 * (rng.random(n) < 0.3)]),
        shape=0.15 * places,
        places=places,
        strays=rng.choice([0.8, 1.0, 1.3], n),
        groups=rng.integers(states, size=n),
    )


def draw(n: int, seed: int = 1, level: float = 0.5, **more) -> tuple[Seen, np.ndarray]:
    seen = see(n, seed, **more)
    rng = np.random.default_rng([seed, 2])
    return seen, level + seen.shape @ [1.0, -1.0] + 0.3 * seen.strays * rng.normal(size=n)


def plain_covariance(one: Seen, other: Seen, scales: dict[str, float]) -> np.ndarray:
    """The covariance of two sets of prices, written down from the model's own sentence."""
    far = ((one.places[:, None] - other.places[None]) ** 2).sum(axis=2)
    return (
        scales["level"] ** 2 * np.outer(one.known[:, 0], other.known[:, 0])
        + scales["trend"] ** 2 * np.outer(one.known[:, 1], other.known[:, 1])
        + one.known[:, 2:] @ other.known[:, 2:].T
        + scales["shape"] ** 2 * one.shape @ other.shape.T
        + scales["bend"] ** 2 * np.exp(-far / 2)
    )


def test_the_fit_is_a_gaussian_process_with_the_table_as_its_mean():
    seen, above = draw(25)
    fit = fit_prices(seen, above, groups=1, spread=SPREAD)
    one_over_scale = fit.process.y_train_ / above
    noise = np.diag((fit.spread / one_over_scale) ** 2)
    covariance = plain_covariance(seen, seen, fit.scales) + noise
    asked = see(9, seed=8)
    with_sales = plain_covariance(asked, seen, fit.scales)
    assert fit.above(asked) == pytest.approx(with_sales @ np.linalg.solve(covariance, above), abs=1e-7)
    prior = np.diag(plain_covariance(asked, asked, fit.scales))
    unsure = prior - np.einsum("ij,ji->i", with_sales, np.linalg.solve(covariance, with_sales.T))
    single = T_OVER_NORMAL * fit.spread * asked.strays * fit.spread_by_group[0]
    factor = held_to_sales(fit.left_out / fit.spread_left_out, "0.8", fit.counts_as)
    assert fit.reach(asked) == pytest.approx(factor * np.sqrt(unsure + single**2), rel=1e-6)


def test_leaving_one_out_is_the_fit_without_it():
    seen, above = draw(12)
    fit = fit_prices(seen, above, groups=1, spread=SPREAD)
    one_over_scale = fit.process.y_train_ / above
    covariance = plain_covariance(seen, seen, fit.scales)
    noise = np.diag((fit.spread / one_over_scale) ** 2)
    for row in range(12):
        rest = np.delete(np.arange(12), row)
        inverse = np.linalg.inv((covariance + noise)[np.ix_(rest, rest)])
        likely = covariance[row, rest] @ inverse @ above[rest]
        unsure = covariance[row, row] - covariance[row, rest] @ inverse @ covariance[rest, row]
        assert fit.left_out[row] == pytest.approx(above[row] - likely, abs=1e-6)
        own = T_OVER_NORMAL * fit.spread * seen.strays[row] * fit.spread_by_group[0]
        assert fit.spread_left_out[row] == pytest.approx(math.sqrt(unsure + own**2), rel=1e-5)
        hangs = fit.leverage[row]
        assert above[row] - fit.left_out[row] * (1 - hangs) == pytest.approx(
            covariance[row] @ np.linalg.solve(covariance + noise, above), abs=1e-6
        )


def test_the_sizes_learned_are_the_likeliest_by_sales_and_the_prior(monkeypatch):
    monkeypatch.setattr(price_fit, "ROUNDS", 1)  # weights all 1: nothing else moves
    seen, above = draw(40)
    fit = fit_prices(seen, above, groups=1, spread=SPREAD)
    sizes = {**fit.scales, "single": fit.spread}
    prior = {**SCALES_BEFORE, "single": (T_OF_NORMAL * SPREAD, 1 / math.sqrt(10))}

    def unlikely(sizes: dict[str, float]) -> float:
        covariance = plain_covariance(seen, seen, sizes) + np.diag((sizes["single"] * seen.strays) ** 2)
        loss = above @ np.linalg.solve(covariance, above) / 2 + np.linalg.slogdet(covariance)[1] / 2
        return loss + sum((math.log(sizes[k] / size) / unsure) ** 2 / 2 for k, (size, unsure) in prior.items())

    best = unlikely(sizes)
    for name in sizes:
        for factor in (0.8, 1.25):
            assert unlikely(sizes | {name: sizes[name] * factor}) > best - 1e-3, name


def test_steps_are_what_one_column_does():
    seen, above = draw(30)
    fit = fit_prices(seen, above, groups=1, spread=SPREAD)
    one = see(1, seed=4)
    more = replace(one, known=one.known + np.array([[0, 0, 1.0]]))
    assert fit.above(more) - fit.above(one) == pytest.approx(fit.steps(5)[2], abs=1e-9)


def test_a_sale_far_off_hardly_moves_the_others():
    seen, above = draw(20)
    plain = fit_prices(seen, above, groups=1, spread=SPREAD).above(see(9, seed=8))
    off = above.copy()
    off[3] += math.log(50)
    odd = fit_prices(seen, off, groups=1, spread=SPREAD).above(see(9, seed=8))
    assert np.abs(odd - plain).max() < 0.1  # the mean alone would move by a twentieth of 3.9


def test_a_state_that_strays_more_gets_a_wider_band_of_its_own():
    seen, above = draw(80, states=2)
    rng = np.random.default_rng(5)
    above = np.where(seen.groups == 1, above + 0.8 * rng.normal(size=80), above)
    fit = fit_prices(seen, above, groups=3, spread=SPREAD)
    assert fit.spread_by_group[1] > 1.5 * fit.spread_by_group[0]
    assert fit.spread_by_group[2] == pytest.approx(1)  # no sale of it: as usual


def test_one_sale_is_enough_and_moves_the_level_part_of_the_way():
    seen, _ = draw(1)
    fit = fit_prices(seen, np.array([math.log(2)]), groups=1, spread=SPREAD)
    above, unsure = fit.mean_above(see(50, seed=3))
    assert 0.25 * math.log(2) < above < math.log(2)
    assert unsure > 0.1


@pytest.mark.parametrize("counts_as", [0.001, 20.0])
def test_the_band_is_the_sales_own_quantile_drawn_to_the_normal(counts_as):
    scaled = np.arange(1.0, 31) / 10
    own = 2.5 * math.sqrt(1 + 2 / 30)  # of 30 residuals the ceil(0.8 x 31) = 25th
    share = 30 / (30 + counts_as)
    assert held_to_sales(scaled, "0.8", counts_as) == pytest.approx(1.2815516 ** (1 - share) * own**share, rel=1e-6)


def test_a_normal_spread_is_found_as_the_scale_of_a_student():
    rng = np.random.default_rng(1)
    off, scale = rng.normal(size=200_000), 1.0
    for _ in range(60):  # the likeliest scale, by the weights
        scale = math.sqrt(np.mean(5 / (4 + (off / scale) ** 2) * off**2))
    assert scale == pytest.approx(T_OF_NORMAL, abs=0.003)


def test_the_tool_and_its_pages_of_sales_import_no_learning_machine_until_something_is_fitted():
    code = "import sys, valuation, valuation.service.sales, valuation.sales.words; sys.exit('sklearn' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
