"""Cost: what an hour, a material and bought-in work come to, with their spread.

Low and high of a three-point figure are read as 1 in 10 and 9 in 10 of a lognormal about the likely figure, which is
its median. One factor for the whole job runs through all hours: jobs run over as a whole, not operation by
operation; without it the band of a long job would be falsely narrow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

import numpy as np

from valuation.core.errors import NotInForce
from valuation.core.rows import RateRow, Tables
from valuation.core.work import Workshop

Z90 = 1.2815515655446004
"""The standard normal's 90 % point."""


def log_spread(low: float, likely: float, high: float) -> float:
    """Return the standard deviation of the logarithm of a three-point figure [-].

    Examples
    --------
    >>> round(log_spread(16, 22, 32), 3)
    0.27
    """
    if likely == 0 or high == likely == low:
        return 0.0
    if low == 0:
        return math.log(high / likely) / Z90
    return math.log(high / low) / (2 * Z90)


@dataclass(frozen=True, eq=False)
class Prices:
    """What each operation costs before tax, O operations in the workshop's order. Money in the shop's currency.

    Attributes
    ----------
    hours : ndarray, shape (O,)
        Likely hours [h].
    own_spread : ndarray, shape (O,)
        Spread of an operation's hours beside the job's, standard deviation of the logarithm.
    rate : ndarray, shape (O,)
        Price of an hour.
    labour, material, outside : ndarray, shape (O,)
        Expected amounts.
    material_spread, outside_spread : ndarray, shape (O,)
        Standard deviations of the logarithm.
    job_spread : float
        Spread that all hours share, the same.
    tax : float
        Share added to everything.
    """

    hours: np.ndarray
    own_spread: np.ndarray
    rate: np.ndarray
    labour: np.ndarray
    material: np.ndarray
    material_spread: np.ndarray
    outside: np.ndarray
    outside_spread: np.ndarray
    job_spread: float
    tax: float

    @property
    def expected(self) -> np.ndarray:
        """Expected price of each operation with tax, shape (O,)."""
        return (1 + self.tax) * (self.labour + self.material + self.outside)


def rate_on(tables: Tables, rate: str, on: date) -> RateRow:
    """Return the rate in force on a day.

    Raises
    ------
    NotInForce
        If there is none; names the days for which there are rates.
    """
    return in_force([row for row in tables.rates if row.id == rate], on, f"rate '{rate}'")


def in_force(rows: list, on: date, what: str):
    """Return the one row in force on a day; raise `NotInForce` if there is none."""
    for row in rows:
        if row.valid_from <= on and (row.valid_to is None or on <= row.valid_to):
            return row
    raise NotInForce(what, on, min((row.valid_from for row in rows), default=None))


@lru_cache(maxsize=32)
def price_operations(tables: Tables, shop: Workshop, on: date) -> Prices:
    """Return what each operation costs on a day; made once and kept."""
    materials = {row.id: row for row in tables.materials}
    rates = {id_: rate_on(tables, id_, on).per_hour for id_ in {row.where for row in shop.operations}}
    job = tables.settings.job_spread
    columns: dict[str, list[float]] = {name: [] for name in ("hours", "own", "rate", "mat", "mat_s", "out", "out_s")}
    for row in shop.operations:
        spread = log_spread(row.hours_low, row.hours_likely, row.hours_high)
        columns["hours"].append(row.hours_likely)
        columns["own"].append(math.sqrt(max(spread**2 - job**2, 0.0)))
        columns["rate"].append(rates[row.where])
        amount, weighted = 0.0, 0.0
        for item in row.materials:
            material = materials[item.material]
            sigma = log_spread(material.price_low, material.price_likely, material.price_high)
            each = material.price_likely * math.exp(sigma**2 / 2) * (1 + material.waste) * (1 + material.markup)
            amount += item.amount * each
            weighted += item.amount * each * sigma
        columns["mat"].append(amount)
        columns["mat_s"].append(weighted / amount if amount else 0.0)
        sigma = log_spread(row.outside_low, row.outside_likely, row.outside_high)
        columns["out"].append(row.outside_likely * math.exp(sigma**2 / 2))
        columns["out_s"].append(sigma)
    arrays = {name: np.array(values) for name, values in columns.items()}
    return Prices(
        hours=arrays["hours"],
        own_spread=arrays["own"],
        rate=arrays["rate"],
        labour=arrays["hours"] * arrays["rate"] * np.exp((arrays["own"] ** 2 + job**2) / 2),
        material=arrays["mat"],
        material_spread=arrays["mat_s"],
        outside=arrays["out"],
        outside_spread=arrays["out_s"],
        job_spread=job,
        tax=tables.settings.tax,
    )
