"""Rows of bars on one scale, as a table: told by figures, drawn beside them. All text is escaped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """One row: its name, its figure in words, and from where to where it is drawn.

    Attributes
    ----------
    low, high : float
        From nought, or a band.
    at : float or None
        A mark on it.
    """

    name: str
    figure: str
    low: float
    high: float
    at: float | None = None


def bars(caption: str, heads: tuple[str, str], rows: Sequence[Bar], full: float) -> str:
    """Return a table of bars; `full` is what the whole width stands for."""
    head = "".join(f'<th role="columnheader" scope="col">{escape(text)}</th>' for text in heads)
    body = "".join(_row(row, full) for row in rows)
    return (
        f'<table class="ways bars" role="table"><caption>{escape(caption)}</caption>'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table>'
    )


def _row(row: Bar, full: float) -> str:
    drawn = f'<i style="left:{100 * row.low / full:.1f}%;width:{100 * (row.high - row.low) / full:.1f}%"></i>'
    if row.at is not None:
        drawn += f'<b style="left:{100 * row.at / full:.1f}%"></b>'
    return (
        f'<tr role="row"><th role="rowheader" scope="row">{escape(row.name)}</th><td role="cell">'
        f'<span class="figure">{escape(row.figure)}</span><span class="bar" aria-hidden="true">{drawn}</span></td></tr>'
    )
