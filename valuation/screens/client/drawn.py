"""What a client sees, as plain HTML: the drawing, ways side by side, a hundred pianos. Read without colour.

Nothing that a person typed goes through here, and all text is escaped.
"""

from __future__ import annotations

import base64
from collections.abc import Mapping, Sequence
from html import escape

from valuation.drawing import draw, drawn_parts
from valuation.drawing.draw import in_words
from valuation.language import say
from valuation.report.chances import OUT_OF
from valuation.report.talk.side_by_side import SideBySide
from valuation.report.talk.turns_up import GIVES_OUT, GONE, LASTS, Share, Turns
from valuation.report.talk.where_you_stand import Line, Version
from valuation.report.wishes import A_LOT, SOME

FATES = {LASTS: "●", GIVES_OUT: "◐", GONE: "○"}
"""A mark for each fate, told apart by its shape."""

_IN_A_ROW = 10


def piano(kind: str, states: Mapping[str, str], names: Mapping[str, str], numbers: Mapping[str, Sequence[int]]) -> str:
    """Return the drawing of the piano for a light and for a dim room; the browser shows the one that fits.

    Parameters
    ----------
    states, names : mapping of part
        See `valuation.drawing.draw`; a part that the drawing does not have is left out.
    numbers : mapping of part
        Numbers of the sentences beside it.
    """
    there = set(drawn_parts(kind))
    states = {part: state for part, state in states.items() if part in there}
    names = {part: name for part, name in names.items() if part in there}
    numbers = {part: beside for part, beside in numbers.items() if part in there}
    words = escape(in_words(kind, states, names, plain=True), quote=True)
    pictures = ""
    for dark, style in ((False, "by_day"), (True, "by_night")):
        svg = draw(kind, states, numbers=numbers, names=names, plain=True, dark=dark)
        data = base64.b64encode(svg.encode()).decode()
        pictures += f'<img class="piano {style}" alt="{words}" src="data:image/svg+xml;base64,{data}">'
    return pictures


def weight_words(weight: int) -> str:
    """Return how much something matters, with its mark; empty where nobody said that it does."""
    return {A_LOT: f"◆◆ {say('matters a lot to you')}", SOME: f"◆ {say('matters to you')}"}.get(weight, "")


def side_by_side(told: SideBySide) -> str:
    """Return the ways as a table with a column for each; on a phone each row has its name above its cells.

    The roles are written out, since a table laid out otherwise would stop being one for a screen reader.
    """
    heads = "".join(f'<th role="columnheader" scope="col">{escape(name)}</th>' for name in told.names)
    rows = ""
    for row in told.rows:
        words = weight_words(row.weight)
        beside = f' <span class="weight">{escape(words)}</span>' if words else ""
        cells = "".join(f'<td role="cell">{_sentences(cell)}</td>' for cell in row.cells)
        weight = ' class="marked"' if words else ""
        rows += f'<tr role="row"{weight}><th role="rowheader" scope="row">{escape(row.name)}{beside}</th>{cells}</tr>'
    caption = escape(say("The ways, side by side"))
    return (
        f'<table class="side of{len(told.ways)}" role="table"><caption>{caption}</caption>'
        f'<thead role="rowgroup"><tr role="row"><td role="cell"></td>{heads}</tr></thead>'
        f'<tbody role="rowgroup">{rows}</tbody></table>'
    )


def hundreds(told: Sequence[Turns]) -> str:
    """Return for each way a hundred pianos by what becomes of them, and what may turn up once it is open."""
    ways = ""
    for way in told:
        shares = "".join(
            f'<li><span aria-hidden="true">{FATES[share.fate]}</span> {escape(share.words)}</li>'
            for share in way.shares
            if share.count
        )
        years = f'{_hundred(way.shares)}<ul class="fates">{shares}</ul>' if way.shares else ""
        years += f"<p>{escape(way.years)}</p>" if way.years else ""
        ways += f"<section><h2>{escape(way.name)}</h2>{years}{_finds(way)}</section>"
    return f'<div class="turns of{len(told)}">{ways}</div>'


def price(told: Version) -> str:
    """Return the one price of a way as the client wants it, and below it what is done only where it is found.

    Where the piano goes there is nothing to sign, and what it comes to is told in a sentence.
    """
    if not told.tax:
        return f'<div class="price"><p class="words">{escape(told.price)}</p></div>'
    most = f"<p>{escape(told.most)}</p>" if told.most else ""
    on_top = escape(say("On top only if it is found, and only if you say yes then"))
    found = f"<p><strong>{on_top}</strong></p>{finds(told.finds)}" if told.finds else ""
    return (
        f'<div class="price"><p class="what">{escape(say("To sign: one price"))}</p>'
        f'<p class="sum">{escape(told.price)}</p><p>{escape(told.tax)}</p>{found}{most}</div>'
    )


def finds(lines: Sequence[Line]) -> str:
    """Return if-found lines: each with its price, how often it is called for, and what is seen then."""
    items = "".join(
        f"<li><strong>{escape(line.price)}</strong> · {escape(line.chance)}<br>{escape(line.seen)}</li>"
        for line in lines
    )
    return f'<ul class="finds">{items}</ul>'


def _hundred(shares: Sequence[Share]) -> str:
    drawn = [FATES[share.fate] for share in shares for _ in range(share.count)]
    lines = ["".join(drawn[i : i + _IN_A_ROW]) for i in range(0, len(drawn), _IN_A_ROW)]
    return f'<p class="hundred" aria-hidden="true">{"<br>".join(lines)}</p>'


def _finds(way: Turns) -> str:
    items = "".join(
        f'<li><span class="bar" aria-hidden="true"><span style="width:{find.count}%"></span></span>'
        f"<strong>{escape(say('{count} of {all}', count=find.count, all=OUT_OF))}</strong> · {escape(find.price)}<br>"
        f"{escape(find.seen)}</li>"
        for find in way.finds
    )
    opened = f"<p>{escape(way.opened)}</p>" if way.opened else ""
    more = f"<p>{escape(way.more)}</p>" if way.more else ""
    return f'{opened}<ul class="finds">{items}</ul>{more}' if items else opened


def _sentences(texts: Sequence[str]) -> str:
    return "".join(f"<p>{escape(text)}</p>" for text in texts)
