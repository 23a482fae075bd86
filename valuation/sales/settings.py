"""The figures behind the sales model, from a small settings file: each with value, unit, source and note."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_type_hints

from valuation.core.columns import column, columns_of
from valuation.core.cost import Z90
from valuation.errors import Problem, UserError
from valuation.files.cells import CellError, require_within
from valuation.files.faults import did_you_mean, quoted
from valuation.files.plain_text import read_text
from valuation.files.toml_text import line_of, lines_of_keys, parse_toml

PACKAGED = Path(__file__).resolve().parent / "defaults.toml"
"""The settings that come with the tool."""

MOST_BYTES = 200_000
"""A larger file is not read [bytes]."""

_PARTS = ("value", "unit", "source", "note")


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
    found, faults = parse_toml(text, path.name) if text.strip() else ({}, [])
    problems += faults
    if problems:
        raise UserError(problems)
    lines, hints, values = lines_of_keys(text), get_type_hints(SalesSettings), {}

    def tell(where: str, message: str) -> None:
        problems.append(Problem(path.name, line_of(where, lines), where, message))

    columns = columns_of(SalesSettings)
    for name in found:
        if name not in columns:
            tell(name, f"{quoted(name)} is not a setting{did_you_mean(name, columns)}")
    for name, (_, described) in columns.items():
        setting = found.get(name)
        if not isinstance(setting, dict):
            tell(name, f"write it as a table: [{name}] with value, unit, source and note: {described.says}")
            continue
        for key in setting:
            if key not in _PARTS:
                tell(f"{name}.{key}", f"{quoted(key)} does not belong here{did_you_mean(key, _PARTS)}")
        if not setting.get("source"):
            tell(f"{name}.source", "the source is missing; say where the figure comes from")
        if setting.get("unit", "") != described.unit:
            tell(f"{name}.unit", f"{quoted(setting.get('unit', ''))} is not its unit; write '{described.unit}'")
        try:
            values[name] = _read_figure(setting.get("value"), hints[name])
            require_within(values[name], described)
        except CellError as fault:
            tell(f"{name}.value", str(fault))
    if problems:
        raise UserError(problems)
    return SalesSettings(**values)


def _read_figure(value: Any, hint: type) -> float | int:
    allowed = int if hint is int else (int, float)
    if isinstance(value, bool) or not isinstance(value, allowed) or not abs(value) <= 1e12:
        wanted = "whole number; write it like 90" if hint is int else "number; write it like 4 or 4.5"
        raise CellError(f"{quoted(value)} is not a {wanted}")
    return hint(value)
