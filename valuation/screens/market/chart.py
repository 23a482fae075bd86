"""The map of sales: price against condition or year built, with the piano on it. Read without any colour. Pure."""

from __future__ import annotations

import math

import plotly.graph_objects as go

from valuation.engine.rows import STATES
from valuation.facts.visit import Range
from valuation.language import later, say
from valuation.report.format import exact, money, money_range
from valuation.report.words import sales_of_kind
from valuation.sales import Sale, SalesModel
from valuation.sales.words import SOLD_IN
from valuation.screens.charts import FAINT, INK, PAPER

AXES = (later("condition"), later("year built"))
_UPWARD = STATES[::-1]
_SHAPES = {"private": "circle", "dealer": "square", "auction": "triangle-up"}
_APART = 0.09
"""How far sales of one state stand beside one another, as a share of the room of a state."""


def sales_map(
    model: SalesModel, by_state: dict[str, Range], state: str, compared: frozenset[str], year: float, axis: str
) -> tuple[go.Figure, str]:
    """Return the map, and what it shows in words for those who don't see it.

    Parameters
    ----------
    model : SalesModel
        Its sales are shown, their prices brought to its day by the price index.
    by_state : dict of str to Range
        The piano's price in each state [money].
    state : str
        State in which the piano is compared.
    compared : frozenset of str
        Sales of the grid, drawn filled.
    year : float
        Year built of the piano, the usual one if it isn't known.
    axis : str
        One of `AXES`.
    """
    prices = {s.id: s.price * model.index.factor(model.kind, s.sold_on, model.on) for s in model.sales}
    places = _beside(model.sales) if axis == "condition" else {s.id: _year(s, model) for s in model.sales}
    figure = go.Figure()
    for kind, shape in _SHAPES.items():
        for filled in (False, True):
            group = [s for s in model.sales if s.sale_kind == kind and (s.id in compared) == filled]
            if group:
                _draw(figure, group, prices, places, shape, say(SOLD_IN[kind]), filled=filled)
    at = _UPWARD.index(state) if axis == "condition" else year
    if axis == "condition":
        likely = [by_state[one].likely for one in _UPWARD]
        line = {"color": INK, "width": 2, "dash": "dot"}
        name = say("likely for this piano")
        figure.add_trace(go.Scatter(x=list(range(4)), y=likely, mode="lines", line=line, name=name))
    band = by_state[state]
    figure.add_trace(
        go.Scatter(x=[at, at], y=[band.low, band.high], mode="lines", line={"color": INK, "width": 5}, showlegend=False)
    )
    diamond = {"symbol": "diamond", "size": 19, "color": INK, "line": {"width": 2, "color": PAPER}}
    figure.add_trace(go.Scatter(x=[at], y=[band.likely], mode="markers", marker=diamond, name=say("this piano")))
    _lay_out(figure, [*prices.values(), *(one for b in by_state.values() for one in (b.low, b.high))], axis)
    return figure, _in_words(model, prices, band, state, axis)


def _draw(
    figure: go.Figure,
    group: list[Sale],
    prices: dict[str, float],
    places: dict[str, float],
    shape: str,
    name: str,
    *,
    filled: bool,
) -> None:
    marker = {
        "symbol": shape,
        "size": 12 if filled else 10,
        "color": INK if filled else PAPER,
        "line": {"width": 1.5, "color": INK if filled else FAINT},
    }
    x, y = [places[s.id] for s in group], [prices[s.id] for s in group]
    figure.add_trace(go.Scatter(x=x, y=y, mode="markers", marker=marker, name=name, showlegend=not filled))


def _beside(sales: tuple[Sale, ...]) -> dict[str, float]:
    """Return where each sale stands along the states, those of one state beside one another by their price."""
    places: dict[str, float] = {}
    for rung, state in enumerate(_UPWARD):
        of_state = sorted((s for s in sales if s.state == state), key=lambda s: (s.price, s.id))
        places |= {s.id: rung + _APART * (i % 7 - 3) for i, s in enumerate(of_state)}
    return places


def _year(sale: Sale, model: SalesModel) -> float:
    return model.traits_of_sale(sale).year


def _lay_out(figure: go.Figure, amounts: list[float], axis: str) -> None:
    low, high = math.log10(min(amounts)), math.log10(max(amounts))
    ticks = [n * 10**k for k in range(math.floor(low), math.ceil(high) + 1) for n in (1, 3)]
    ticks = [tick for tick in ticks if low - 0.1 <= math.log10(tick) <= high + 0.1]
    figure.update_yaxes(
        type="log", range=[low - 0.12, high + 0.12], tickvals=ticks, ticktext=[exact(tick) for tick in ticks],
        gridcolor="#ddd5c3", fixedrange=True, tickfont={"size": 14}, automargin=True,
    )  # fmt: skip
    figure.update_xaxes(gridcolor="#ddd5c3", zeroline=False, fixedrange=True, tickfont={"size": 14})
    if axis == "condition":
        figure.update_xaxes(
            tickvals=list(range(4)), ticktext=[say(one) for one in _UPWARD], range=[-0.45, 3.45], showgrid=False
        )
    figure.update_layout(
        height=520, margin={"l": 4, "r": 8, "t": 10, "b": 30}, dragmode=False, hovermode=False,
        paper_bgcolor=PAPER, plot_bgcolor=PAPER,
        font={"color": "#22262b", "size": 15, "family": "Source Sans, sans-serif"},
        legend={"orientation": "h", "y": -0.1, "yanchor": "top", "x": 0, "font": {"size": 14}},
    )  # fmt: skip


def _in_words(model: SalesModel, prices: dict[str, float], band: Range, state: str, axis: str) -> str:
    groups: dict[str, list[float]] = {}
    if axis == "condition":
        groups = {say(one): [prices[s.id] for s in model.sales if s.state == one] for one in _UPWARD}
    else:
        for sale in sorted(model.sales, key=lambda s: _year(s, model)):
            first = int(_year(sale, model) // 25 * 25)
            years = say("built {first} to {last}", first=first, last=first + 24)
            groups.setdefault(years, []).append(prices[sale.id])
    said = [
        say(
            "{name}: {count} sales, {band}",
            name=name, count=len(found), band=money_range(Range(low=min(found), likely=min(found), high=max(found))),
        )
        for name, found in groups.items()
        if found
    ]  # fmt: skip
    of_all = say(
        "Price in {currency} against {axis}, {sales}.",
        currency=model.tables.settings.currency, axis=say(axis), sales=sales_of_kind(model.kind, len(model.sales)),
    )  # fmt: skip
    of_this = say(
        "This piano as {state}: {amount}, 8 in 10 between {band}.",
        state=say(state), amount=money(band.likely), band=money_range(band),
    )  # fmt: skip
    return f"{of_all} {'; '.join(said)}. {of_this}"
