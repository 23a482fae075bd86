"""Two pictures for the technician: what moves the lead, and what each sum spent can bring. Read without colour."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from valuation.engine.frontier import CostAndResult
from valuation.engine.swings import Swing
from valuation.language import say
from valuation.report.format import money
from valuation.report.labels import option_name
from valuation.report.lead_words import driver_name, figure_words, frontier_sentences, swing_sentence
from valuation.screens.charts import FAINT, INK, PAPER

_FONT = {"color": "#22262b", "size": 15, "family": "Source Sans, sans-serif"}
_FAR = 1.6
"""The frontier is drawn up to so many times the dearest option's price: beyond it lie plans that nobody weighs [-]."""


def swings_chart(swings: Sequence[Swing], verdict: str, currency: str) -> tuple[go.Figure, str]:
    """Return a bar for each driver from the lead at its low to that at its high figure, and the same in words."""
    figure = go.Figure()
    for swing in reversed(swings):
        name = driver_name(swing.driver)
        figure.add_trace(
            go.Scatter(
                x=[swing.lead_low, swing.lead_high],
                y=[name, name],
                mode="lines+markers",
                line={"color": INK, "width": 7},
                marker={"symbol": "line-ns", "size": 18, "line": {"width": 3, "color": INK}},
                cliponaxis=False,
            )
        )
        # one above, one below: on a narrow bar they would run into each other
        for lead, at, side in ((swing.lead_low, swing.low, "top"), (swing.lead_high, swing.high, "bottom")):
            _say_at(figure, (lead, name), figure_words(swing.driver, at, ""), (0.5, side), 13)
    if swings:
        figure.add_vline(x=swings[0].lead, line={"color": FAINT, "width": 2, "dash": "dot"})
    figure.add_vline(x=0, line={"color": "#22262b", "width": 2})
    leads = [lead for s in swings for lead in (s.lead, s.lead_low, s.lead_high)] + [0.0]
    room = 0.08 * (max(leads) - min(leads) or 1.0)
    figure.update_xaxes(
        title=say("Lead of the verdict ({currency})", currency=currency), range=[min(leads) - room, max(leads) + room],
        gridcolor="#ddd5c3", zeroline=False, fixedrange=True, nticks=5, tickformat=",.0f", tickfont={"size": 14},
    )  # fmt: skip
    figure.update_yaxes(showgrid=False, automargin=True, fixedrange=True, tickfont={"size": 15})
    _lay_out(figure, 110 + 66 * len(swings))
    return figure, " ".join(swing_sentence(swing, verdict, currency) for swing in swings)


def frontier_chart(found: CostAndResult, verdict: str, currency: str) -> tuple[go.Figure, str]:
    """Return the best net that each price can buy, with today's options on it, and the same in words."""
    far = _FAR * max([spot.price for spot in found.today] + [1.0])
    spots = [spot for spot in found.frontier if spot.price <= far]
    figure = go.Figure()
    figure.add_trace(
        go.Scatter(
            x=[spot.price for spot in spots], y=[spot.net for spot in spots], mode="lines+markers",
            line={"color": FAINT, "width": 2}, marker={"size": 5, "color": FAINT},
        )
    )  # fmt: skip
    nets = [spot.net for spot in (*spots, *found.today)]
    low, high = min([*nets, 0.0]), max([*nets, 0.0])
    names = [option_name(spot.option) for spot in found.today]
    places = [(spot.price / far, (spot.net - low) / (high - low or 1.0)) for spot in found.today]
    for spot, name, side in zip(found.today, names, _sides(places, names), strict=True):
        chosen = spot.option == verdict
        symbol = "diamond" if chosen else "circle-open"
        figure.add_trace(
            go.Scatter(
                x=[spot.price], y=[spot.net], mode="markers", cliponaxis=False,
                marker={"symbol": symbol, "size": 15, "color": INK, "line": {"width": 3}},
            )
        )  # fmt: skip
        _say_at(figure, (spot.price, spot.net), f"<b>{name}</b>" if chosen else name, side, 14)
    figure.update_xaxes(
        title=say("Price ({currency})", currency=currency), gridcolor="#ddd5c3", zeroline=False, fixedrange=True,
        nticks=6, tickformat=",.0f", tickfont={"size": 14},
    )  # fmt: skip
    figure.update_yaxes(
        title={"text": say("Net ({currency})", currency=currency), "standoff": 16},
        gridcolor="#ddd5c3", zerolinecolor="#22262b",
        fixedrange=True, nticks=6, tickformat=",.0f", tickfont={"size": 14}, automargin=True,
    )  # fmt: skip
    _lay_out(figure, 430)
    today = [
        say("{option}: price {price}, net {net}.", option=option_name(s.option), price=money(s.price), net=money(s.net))
        for s in found.today
    ]
    return figure, " ".join([*today, *frontier_sentences(found, currency)])


_Side = tuple[float, str]
"""Which share of the words lies left of their mark, and whether they stand above it, below it or at its height."""

_SIDES: tuple[_Side, ...] = (
    (0.5, "top"), (0.5, "bottom"), (0.0, "top"), (1.0, "top"), (0.0, "bottom"), (1.0, "bottom"), (0.0, "middle"),
    (1.0, "middle"),
)  # fmt: skip
_WIDE, _HIGH, _LETTER, _LINE = 250.0, 330.0, 7.6, 18.0
"""Of the plot on a phone, and of a letter, all rather against us [px]."""

_MARK, _BESIDE = 9.0, 11.0
"""From the middle of a mark to its edge, and to words at its side [px]."""


def _say_at(figure: go.Figure, at: tuple[float, float | str], words: str, side: _Side, size: int) -> None:
    """Put words beside a mark, on ground of their own, so that no line runs through them."""
    left, height = side
    figure.add_annotation(
        x=at[0], y=at[1], text=words, showarrow=False, bgcolor=PAPER, borderpad=0, font={"size": size},
        xanchor={0.0: "left", 0.5: "center", 1.0: "right"}[left],
        yanchor={"top": "bottom", "bottom": "top", "middle": "middle"}[height],
        xshift=_BESIDE * (1 - 2 * left), yshift={"top": _MARK, "bottom": -_MARK, "middle": 0}[height],
    )  # fmt: skip


def _sides(places: Sequence[tuple[float, float]], names: Sequence[str]) -> list[_Side]:
    """Return on which side of each mark its name stands, so that none lies on another, nor over the edge.

    Reckoned for the narrowest screen: where there is more room, marks only move apart.

    Parameters
    ----------
    places : sequence of (float, float)
        Of each mark, as shares of the width and of the height.
    names : sequence of str
    """
    marks = [(_WIDE * x, _HIGH * y) for x, y in places]
    taken = [(x - _MARK, x + _MARK, y - _MARK, y + _MARK) for x, y in marks]
    sides = []
    for mark, name in zip(marks, names, strict=True):
        boxes = {side: _box(mark, _LETTER * len(name), side) for side in _SIDES}
        side = next((side for side, box in boxes.items() if _is_free(box, taken)), _SIDES[0])
        taken.append(boxes[side])
        sides.append(side)
    return sides


def _box(mark: tuple[float, float], wide: float, side: _Side) -> tuple[float, float, float, float]:
    (x, y), (left, height) = mark, side
    begins = x + _BESIDE * (1 - 2 * left) - left * wide
    bottom = y + {"top": _MARK, "bottom": -_MARK - _LINE, "middle": -_LINE / 2}[height]
    return begins, begins + wide, bottom, bottom + _LINE


def _is_free(box: tuple[float, float, float, float], taken: Sequence[tuple[float, float, float, float]]) -> bool:
    left, right, bottom, top = box
    inside = left >= -20 and right <= _WIDE + 20
    return inside and not any(
        left < other[1] and other[0] < right and bottom < other[3] and other[2] < top for other in taken
    )


def _lay_out(figure: go.Figure, height: int) -> None:
    figure.update_layout(
        showlegend=False, height=height, margin={"l": 4, "r": 24, "t": 24, "b": 50}, dragmode=False,
        paper_bgcolor=PAPER, plot_bgcolor=PAPER, font=_FONT, hovermode=False,
    )  # fmt: skip
