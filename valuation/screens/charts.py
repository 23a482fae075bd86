"""The options as ranges: a line from 1 in 10 to 9 in 10, a dot at what is expected. Read without any colour."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import plotly.graph_objects as go

from valuation.engine.appraisal import Appraisal
from valuation.engine.appraised_work import OptionResult
from valuation.facts.visit import Range
from valuation.language import number_signs, say
from valuation.report.format import money, money_range
from valuation.report.labels import option_name

INK, FAINT, PAPER = "#1f3a5f", "#6b6350", "#faf7f0"


@dataclass(frozen=True)
class Bar:
    """One line of a chart."""

    name: str
    band: Range
    at: float
    chosen: bool
    before: float | None = None


def option_bars(appraisal: Appraisal) -> dict[str, list[Bar]]:
    """Return what each chart shows: price, value after and net of each option. The table shows the same numbers."""
    best = appraisal.verdict

    def bars(pick: Callable[[OptionResult], tuple[Range, float]]) -> list[Bar]:
        return [
            Bar(option_name(o.option), band, at, chosen=o.option == best)
            for o in appraisal.options
            for band, at in [pick(o)]
        ]

    return {
        say("Price"): bars(lambda o: (o.price, o.expected_price)),
        say("Worth then"): bars(lambda o: (o.value_after, o.expected_value)),
        say("Net"): bars(lambda o: (o.net, o.expected_net)),
    }


def chart(title: str, bars: Sequence[Bar], currency: str) -> tuple[go.Figure, str]:
    """Return the figure that answers one question, and what it shows in words for those who don't see it."""
    figure = go.Figure()
    for bar in reversed(bars):
        _draw(figure, bar)
    figure.update_yaxes(
        showgrid=False, zeroline=False, automargin=True, fixedrange=True, range=[-0.6, len(bars) - 0.15],
        tickfont={"size": 15},
    )  # fmt: skip
    figure.update_xaxes(
        gridcolor="#ddd5c3", zerolinecolor=FAINT, zerolinewidth=1, range=_reach(bars), fixedrange=True, nticks=4,
        tickformat=",.0f", tickfont={"size": 14},
    )  # fmt: skip
    figure.update_layout(
        title={"text": f"{title} ({currency})", "x": 0, "xanchor": "left", "font": {"size": 16}},
        showlegend=False, height=90 + 44 * len(bars), margin={"l": 4, "r": 16, "t": 40, "b": 34}, dragmode=False,
        paper_bgcolor=PAPER, plot_bgcolor=PAPER,
        font={"color": "#22262b", "size": 15, "family": "Source Sans, sans-serif"},
        hovermode=False, separators="".join(number_signs()),
    )  # fmt: skip
    return figure, in_words(title, bars, currency)


def _reach(bars: Sequence[Bar]) -> list[float]:
    """Return an axis that holds nought and every line, with room for the figures at its ends."""
    ends = [0.0, *(x for bar in bars for x in (bar.band.low, bar.band.high, bar.at, bar.before or 0.0))]
    room = 0.06 * (max(ends) - min(ends) or 1.0)
    return [min(ends) - room, max(ends) + room]


def _draw(figure: go.Figure, bar: Bar) -> None:
    name = f"<b>{bar.name}</b>" if bar.chosen else bar.name
    line = {"color": INK if bar.chosen else FAINT, "width": 7 if bar.chosen else 3}
    figure.add_trace(go.Scatter(x=[bar.band.low, bar.band.high], y=[name, name], mode="lines", line=line))
    if bar.before is not None:
        ring = {"symbol": "circle-open", "size": 15, "color": FAINT, "line": {"width": 2}}
        figure.add_trace(go.Scatter(x=[bar.before], y=[name], mode="markers", marker=ring))
    dot = {"symbol": "circle", "size": 14, "color": INK if bar.chosen else PAPER, "line": {"width": 3, "color": INK}}
    figure.add_trace(
        go.Scatter(x=[bar.at], y=[name], mode="markers+text", marker=dot, text=[money(bar.at)],
                   textposition="top center", textfont={"size": 14}, cliponaxis=False)
    )  # fmt: skip


def in_words(title: str, bars: Sequence[Bar], currency: str) -> str:
    """Return what the chart shows, in words."""
    each = "; ".join(
        say("{name}: {band}, expected {amount}", name=b.name, band=money_range(b.band), amount=money(b.at))
        for b in bars
    )
    return say("{title} in {currency}. {figures}.", title=title, currency=currency, figures=each)
