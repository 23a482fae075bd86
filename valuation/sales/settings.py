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
    """The prior before any sale, how firmly, and what is flagged.

    What lies 'within' a factor does so in two cases of three: its logarithm is one standard deviation.
    """

    level_within: float = column(
        "the market's level over the table's lies within this factor, before any sale", above=1, high=10
    )
    yearly_within: float = column(
        "prices move by this factor in a year beside the price index, up or down", above=1, high=2
    )
    state_within: float = column("what a state is worth lies within this factor of the table's", above=1, high=5)
    tier_within: float = column("what a reputation is worth lies within this factor of the table's", above=1, high=5)
    size_within: float = column("the same of the smallest and the largest piano", above=1, high=5)
    age_within: float = column("the same of the oldest and the newest piano", above=1, high=5)
    spread_counts_as: float = column("as many sales as the table's spread counts for", unit="sales", low=1, high=100)
    normal_counts_as: float = column(
        "as many sales as it counts for that sales stray as a normal distribution does", unit="sales", low=1, high=1000
    )
    held_from: int = column("from so many sales on the band is said to be held to them", unit="sales", low=5, high=1000)
    said_from: float = column("a table off by less than this factor is not said to be off", above=1, high=10)
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
    duplicate_days: int = column("two sales so near may be one", unit="days", low=0, high=3650)
    duplicate_price: float = column("and so near in price, as a share of it", low=0, high=1)
    duplicate_mm: float = column("and so near in size", unit="mm", low=0, high=500)
    unlike_spreads: float = column("a sale is unlike the others beyond so many standard deviations", above=0, high=20)
    heavy_leverage: float = column("a sale that decides more than this share of its own fit is heavy", above=0, high=1)
    comparables: int = column("sales in the grid of comparables", unit="sales", low=3, high=12)
    weak_share: float = column("a comparable is weak where its adjustments add up to more than this", above=0, high=5)

    def prior(self, name: str) -> tuple[float, float]:
        """Return the logarithm of a figure that has a spread, and its standard deviation.

        Examples
        --------
        >>> round(load_sales_settings().prior("dealer")[0], 3)
        0.262
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
