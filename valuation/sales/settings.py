"""The figures behind the sales model, from a small settings file: each with value, unit, source and note."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from valuation.engine.money import Z90
from valuation.errors import UserError
from valuation.facts.columns import column
from valuation.files.plain_text import read_text
from valuation.files.read_toml import read_settings

PACKAGED = Path(__file__).resolve().parent / "defaults.toml"
"""The settings that come with the tool."""

MOST_BYTES = 200_000
"""A larger file is not read [bytes]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SalesSettings:
    """How much the table counts beside the sales, what is thought before any sale, and what is flagged."""

    table_counts_as: float = column("as many sales as the whole band table counts for", unit="sales", low=1, high=100)
    table_spread_counts_as: float = column(
        "as many sales as the table's spread counts for", unit="sales", low=0, high=100
    )
    least_sales: int = column("below this many sales the table speaks alone", unit="sales", low=5, high=1000)
    least_sales_for_90: int = column("from so many on a band of 9 in 10 is claimed", unit="sales", low=10, high=1000)
    silent_share: float = column("below this share of the weight the table no longer counts as a part", low=0, high=1)
    oldest_years: float = column("older sales are left out", unit="years", above=0, high=100)
    dealer: float = column("a dealer's price over a private one", above=0, high=10)
    dealer_spread: float = column("8 in 10 times that figure lies within it over and times this", above=1, high=10)
    auction: float = column("an auction's price over a private one", above=0, high=10)
    auction_spread: float = column("the same", above=1, high=10)
    asked: float = column("a price asked over the one achieved", low=1, high=10)
    asked_spread: float = column("the same", above=1, high=10)
    restored_part: float = column("restored in part over not restored, in the same state", above=0, high=10)
    restored_part_spread: float = column("the same", above=1, high=10)
    restored_full: float = column("restored in full over restored in part, in the same state", above=0, high=10)
    restored_full_spread: float = column("the same", above=1, high=10)
    ten_years: float = column("prices ten years ago over prices now, beside the price index", above=0, high=10)
    ten_years_spread: float = column("the same", above=1, high=10)
    duplicate_days: int = column("two sales so near may be one", unit="days", low=0, high=3650)
    duplicate_price: float = column("and so near in price, as a share of it", low=0, high=1)
    duplicate_mm: float = column("and so near in size", unit="mm", low=0, high=500)
    unlike_spreads: float = column("a sale is unlike the others beyond so many standard deviations", above=0, high=20)
    heavy_leverage: float = column("a sale that decides more than this share of its own fit is heavy", above=0, high=1)
    comparables: int = column("sales in the grid of comparables", unit="sales", low=3, high=12)
    weak_share: float = column("a comparable is weak where its adjustments add up to more than this", above=0, high=5)
    curve_from: int = column("from so many sales on a curved model may be offered", unit="sales", low=20, high=1000)
    curve_gain: float = column("and only if it loses less than the straight one by this share", low=0, high=1)

    def thought(self, name: str) -> tuple[float, float]:
        """Return the logarithm of a figure that has a spread, and its standard deviation.

        Examples
        --------
        >>> load_sales_settings().thought("ten_years")[0]
        0.0
        """
        return math.log(getattr(self, name)), math.log(getattr(self, f"{name}_spread")) / Z90


def load_sales_settings(path: Path | None = None) -> SalesSettings:
    """Read the settings of the sales model.

    Parameters
    ----------
    path : Path, optional
        A TOML file with one table for each setting; the packaged one if left out.

    Returns
    -------
    SalesSettings
        All settings.

    Raises
    ------
    UserError
        If a setting is missing, unknown, out of range or without source; carries every fault.
    """
    path = PACKAGED if path is None else path
    text, problems = read_text(path, most_bytes=MOST_BYTES)
    if not problems:
        read = read_settings(text, path.name, SalesSettings)
        problems = read.problems
    if problems:
        raise UserError(problems)
    return read.settings
