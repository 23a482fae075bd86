"""Figures of the tables one by one: where each stands, what it is today, and the tables with it turned.

In: tables, a kind of figure and its name. Out: the rows behind it, and new cells of those rows. A figure of many rows
is turned in all of them by one factor: what is said of the usual piano holds for its neighbours in proportion.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from valuation.engine.rows.figures import FIGURE_KINDS, SAID, FigureRow
from valuation.engine.rows.tables import Tables

_TABLE = {
    "rates": "rates",
    "hours": "operations",
    "materials": "materials",
    "bands": "bands",
    "replacements": "replacements",
    "haul_away": "replacements",
    "odds": "fault_odds",
    "years": "parts",
}
_COLUMNS = {
    "rates": ("per_hour",),
    "hours": ("hours_low", "hours_likely", "hours_high"),
    "materials": ("price_low", "price_likely", "price_high"),
    "bands": ("failed", "worn", "serviceable", "sound"),
    "replacements": ("price_low", "price_likely", "price_high"),
    "haul_away": ("haul_away",),
    "years": ("years_sound", "years_serviceable", "years_worn"),
}
_FAULTY = ("slight", "marked", "severe")
_HUNDRED, _FINEST, _NEVER_NONE = 100.0, 6, 0.0001
_LEAST, _MOST = 0.002, 0.998
"""Shares that 'none' and 'all of 100' are taken for: nothing is certain in a piano that nobody has seen [-]."""


def places(tables: Tables, kind: str, of: str, on: date) -> list[int]:
    """Return where the rows behind a figure stand in their table, as far as they hold on a day or later."""
    if kind not in FIGURE_KINDS or kind == "settings":
        return []
    return [
        at
        for at, row in enumerate(getattr(tables, _TABLE[kind]))
        if _is_behind(row, kind, of) and (getattr(row, "valid_to", None) is None or row.valid_to >= on)
    ]


def _is_behind(row: Any, kind: str, of: str) -> bool:
    match kind:
        case "bands" | "haul_away":
            return bool(row.kind == of)
        case "replacements":
            return f"{row.kind}/{row.tier}" == of
        case "odds":
            return row.fault == of and not row.build
        case _:
            return bool(row.id == of)


def table_of(kind: str) -> str:
    """Return the table in which a kind of figure stands."""
    return "settings" if kind == "settings" else _TABLE[kind]


def asked_row(tables: Tables, kind: str, of: str, on: date) -> Any:
    """Return the row that is asked for where several stand behind a figure: that of the usual piano."""
    rows = [getattr(tables, _TABLE[kind])[at] for at in places(tables, kind, of, on)]
    usual = {size.id for size in tables.sizes if size.usual} | {tier.id for tier in tables.tiers if tier.usual}
    if kind == "bands":
        era = next(e.id for e in tables.eras if e.from_year <= tables.settings.usual_year <= e.to_year)
        return next(row for row in rows if row.size in usual and row.tier in usual and row.era == era)
    if kind == "odds":
        age = on.year - tables.settings.usual_year
        return min(rows, key=lambda row: (abs(row.age - age), row.age))
    return next((row for row in rows if getattr(row, "tier", "") in usual), rows[0])


def today(tables: Tables, kind: str, of: str, on: date) -> float:
    """Return a figure as it is asked: money, hours, years, a share, or how many of 100."""
    if kind == "settings":
        return float(getattr(tables.settings, of))
    row = asked_row(tables, kind, of, on)
    match kind:
        case "odds":
            return float(row.marked + row.severe)
        case "bands":
            return float(row.serviceable)
        case "years":
            return float(row.years_sound)
        case _:
            return float(getattr(row, _COLUMNS[kind][len(_COLUMNS[kind]) // 2]))


def factor_to(tables: Tables, kind: str, of: str, wanted: float, on: date) -> float:
    """Return by what all rows behind a figure are turned so that it is what the shop says.

    Odds are turned as odds: for each piano without the fault so many with it, at each severity or worse alike
    (proportional odds: McCullagh, Journal of the Royal Statistical Society B 42, 1980).

    Raises
    ------
    ValueError
        If the figure can't be so.
    """
    if kind != "odds":
        now = today(tables, kind, of, on)
        if not wanted > 0 or not now > 0:
            raise ValueError("it must be above 0")
        return wanted / now
    if not 0 <= wanted <= _HUNDRED:
        raise ValueError("it is a count out of 100: write 0 to 100")
    row = asked_row(tables, kind, of, on)
    share, now = min(max(wanted / _HUNDRED, _LEAST), _MOST), (row.marked + row.severe) / _HUNDRED
    return float(share / (1 - share) / (now / (1 - now)))


def turned_cells(row: Any, kind: str, factor: float) -> dict[str, float]:
    """Return the cells of a row that change where its figure is turned by a factor."""
    if kind == "odds":
        least = [row.slight + row.marked + row.severe, row.marked + row.severe, row.severe]
        slight, marked, severe = (_HUNDRED * factor * of / (_HUNDRED - of + factor * of) for of in least)
        each = zip(_FAULTY, (slight - marked, marked - severe, severe), strict=True)
        cells = {name: max(round(count, _FINEST), _NEVER_NONE) for name, count in each}
        return {"none": round(_HUNDRED - sum(cells.values()), _FINEST), **cells}
    return {name: round(factor * getattr(row, name), _FINEST) for name in _COLUMNS[kind]}


def is_said(tables: Tables, kind: str, of: str, on: date) -> bool:
    """Tell whether the shop has said a figure itself."""
    if kind == "settings":
        return tables.setting_sources[of] == SAID
    rows = [getattr(tables, _TABLE[kind])[at] for at in places(tables, kind, of, on)]
    return all(row.source == SAID for row in rows)


def unsaid(tables: Tables, on: date) -> tuple[FigureRow, ...]:
    """Return the ranked figures that nobody in the shop has said yet, the one that matters most first."""
    return tuple(row for row in tables.figures if not is_said(tables, row.kind, row.of, on))
