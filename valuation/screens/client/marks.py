"""What a client sees, as plain HTML: ways side by side, a hundred marks for a chance. Read without colour.

Numbers and the shop's own tables only; nothing that a person typed goes through here, and all text is escaped.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from html import escape

from valuation.language import say
from valuation.report.chances import OUT_OF, Chance
from valuation.report.conversation import Way
from valuation.report.sides import Side
from valuation.report.wishes import A_LOT, SOME, Wishes

YES, NO = "●", "○"
WAY_MARKS = ("●", "▲", "■", "◇", "○")
"""A mark for each way, told apart by its shape."""

_IN_A_ROW = 10


def side_by_side(names: Mapping[str, str], texts: Mapping[str, Sequence[str]]) -> str:
    """Return one row of every way: next to each other where there is room, below each other where there isn't."""
    cells = ((names[way], "".join(f"<p>{escape(text)}</p>" for text in texts[way])) for way in names)
    return _ways(cells)


def sides(ways: Sequence[Way], *, good: bool, wishes: Wishes) -> str:
    """Return the good or bad sides of every way; what matters to the client is marked and stands first."""
    cells = ((way.name, _list(way.good if good else way.bad, wishes)) for way in ways)
    return _ways(cells)


def weight_words(weight: int) -> str:
    """Return how much something matters, as it is written beside it; empty where it wasn't said to."""
    return {A_LOT: say("matters a lot to you"), SOME: say("matters to you")}.get(weight, "")


def weight_mark(weight: int) -> str:
    """Return the mark that stands beside those words."""
    return {A_LOT: "◆◆", SOME: "◆"}.get(weight, "")


def hundreds(chance: Chance) -> str:
    """Return a chance for every way: a hundred marks for the eye, and its words."""
    cells = (
        (count.name, f"{_hundred(count.of_100) if count.of_100 is not None else ''}<p>{escape(count.words)}</p>")
        for count in chance.counts
    )
    return _ways(cells, "ways pictures")


def best_of_hundred(chance: Chance) -> str:
    """Return a hundred marks shared out over the ways, each way with its own shape, and the counts in words."""
    drawn = [mark for count, mark in zip(chance.counts, WAY_MARKS, strict=True) for _ in range(count.of_100 or 0)]
    words = "".join(
        f'<li><span aria-hidden="true">{mark}</span> {escape(count.name)}: {escape(count.words)}</li>'
        for count, mark in zip(chance.counts, WAY_MARKS, strict=True)
    )
    return f'{_rows(drawn, 2 * _IN_A_ROW)}<ul class="legend">{words}</ul>'


def _hundred(count: int) -> str:
    return _rows([YES] * count + [NO] * (OUT_OF - count), _IN_A_ROW)


def _rows(drawn: Sequence[str], in_a_row: int) -> str:
    lines = ["".join(drawn[i : i + in_a_row]) for i in range(0, len(drawn), in_a_row)]
    return f'<p class="hundred" aria-hidden="true">{"<br>".join(lines)}</p>'


def _list(told: Sequence[Side], wishes: Wishes) -> str:
    items = []
    for side in told:
        weight = wishes.matters(side.theme)
        words = weight_words(weight)
        marked = f' <span class="weight">{weight_mark(weight)} {escape(words)}</span>' if words else ""
        items.append(f"<li{' class=marked' if words else ''}>{escape(side.text)}{marked}</li>")
    return f"<ul>{''.join(items)}</ul>" if items else f"<p>{escape(say('There is no such plan.'))}</p>"


def _ways(cells: Iterable[tuple[str, str]], style: str = "ways") -> str:
    return (
        f'<dl class="{style}">'
        + "".join(f"<div><dt>{escape(name)}</dt><dd>{content}</dd></div>" for name, content in cells)
        + "</dl>"
    )
