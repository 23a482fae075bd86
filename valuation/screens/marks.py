"""Tables and bars as plain HTML. All text is escaped; what a person wrote goes only into `to_call`.

A table stands as a table where there is room; on a phone each row becomes a block, every figure with its heading.
The roles are written out because a table laid out as blocks would otherwise stop being one for a screen reader.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

from valuation.engine.rows import STATES
from valuation.language import say
from valuation.report.labels import STATE_MARKS

_MARKS = 20
"""Marks in a bar of odds; each stands for 5 of 100."""

_NOTHING = {"": " empty", "0": " nil"}
_NUMBER = re.compile(r"[-+]?[\d.,]*")


def table(
    caption: str,
    headers: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    strong: Sequence[int] = (),
    dense: bool = False,
) -> str:
    """Return a table; the first cell of a row is its heading.

    Parameters
    ----------
    caption : str
        What the table shows; read out first.
    strong : sequence of int
        Rows to set apart, such as sums.
    dense : bool
        On a phone the figures of a row follow one another, and noughts are left out. Two columns stay as they are.
    """
    styles = [_style(column) for column in zip(*rows, strict=True)]
    styles[:1] = ["words"] * len(styles[:1])  # it stands above headings, which are never laid out as figures
    head = "".join(
        f'<th role="columnheader" scope="col" class="{style}">{escape(header)}</th>'
        for header, style in zip(headers, styles, strict=True)
    )
    body = "".join(_row(headers, styles, cells, "strong" if i in strong else "") for i, cells in enumerate(rows))
    shape = "pair" if len(headers) == 2 else "stack dense" if dense else "stack"
    return (
        f'<table class="{shape}" role="table"><caption>{escape(caption)}</caption>'
        f'<thead role="rowgroup"><tr role="row">{head}</tr></thead><tbody role="rowgroup">{body}</tbody></table>'
    )


def _row(headers: Sequence[str], styles: Sequence[str], cells: Sequence[str], weight: str) -> str:
    first = f'<th role="rowheader" scope="row">{escape(cells[0])}</th>'
    rest = "".join(
        f'<td role="cell" class="{style}{_NOTHING.get(cell, "")}">'
        f'<span class="label" aria-hidden="true">{escape(header)}</span><span>{escape(cell)}</span></td>'
        for header, style, cell in zip(headers[1:], styles[1:], cells[1:], strict=True)
    )
    return f'<tr role="row" class="{weight}">{first}{rest}</tr>'


def _style(cells: Sequence[str]) -> str:
    """Tell plain numbers, which stand in line under one another, from words."""
    return "figure" if all(_NUMBER.fullmatch(cell) for cell in cells) else "words"


def odds(shares: Sequence[float]) -> str:
    """Return the odds of the four states as counts of 100, with twenty marks for the eye."""
    drawn = [STATE_MARKS[s] for s, n in zip(STATES, _whole(shares, _MARKS), strict=True) for _ in range(n)]
    words = ", ".join(f"{say(s)} {n}" for s, n in zip(STATES, _whole(shares, 100), strict=True) if n)
    return f'{_marks(drawn)}<p class="odds">{escape(say("Of 100 such: {odds}", odds=words))}</p>'


def score(low: float, at: float, high: float) -> str:
    """Return a score from 0 to 100 with its band: words first, and a line for the eye."""
    of_100 = escape(say("{count} of 100", count="\0")).replace("\0", f"<strong>{at:.0f}</strong>")
    band = escape(say("(8 in 10: {low} to {high})", low=f"{low:.0f}", high=f"{high:.0f}"))
    return (
        f'<p class="score">{of_100} <span>{band}</span></p>'
        f'<div class="scale" aria-hidden="true"><span class="band" style="left:{low:.1f}%;width:{high - low:.1f}%">'
        f'</span><span class="point" style="left:{at:.1f}%"></span></div>'
    )


def counts(share: float) -> str:
    """Return a chance as twenty marks for the eye; its words stand beside it."""
    full = round(share * _MARKS)
    return _marks(["●"] * full + ["○"] * (_MARKS - full))


def to_call(who: str, phone: str) -> str:
    """Return who is to be rung and a number that a tap dials, as HTML.

    Examples
    --------
    >>> to_call("A. Invented", "+49 (0)123/45")
    '<div>A. Invented · <a href="tel:+4912345">+49 (0)123/45</a></div>'
    """
    abroad = phone.strip().startswith(("+", "00"))
    dialled = re.sub(r"(?!^\+)\D", "", phone.strip().replace("(0)", "") if abroad else phone.strip())
    number = f'<a href="tel:{dialled}">{escape(phone)}</a>' if dialled.strip("+") else escape(phone)
    return f"<div>{' · '.join(filter(None, (escape(who), number)))}</div>"


def _marks(drawn: Sequence[str]) -> str:
    return f'<p class="marks" aria-hidden="true">{"".join(f"<span>{mark}</span>" for mark in drawn)}</p>'


def _whole(shares: Sequence[float], total: int) -> list[int]:
    """Share out whole marks so that they add up: the largest remainders are rounded up."""
    exact = [share * total for share in shares]
    counts = [int(x) for x in exact]
    short = total - sum(counts)
    for i in sorted(range(len(exact)), key=lambda i: counts[i] - exact[i])[:short]:
        counts[i] += 1
    return counts
