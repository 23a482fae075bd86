"""Curves of how clients decide, and the hours that are coming, as charts; what each shows stands beside it in words."""

from __future__ import annotations

from collections.abc import Sequence

import plotly.graph_objects as go

from valuation.language import number_signs, say
from valuation.learn import Curve, Month
from valuation.report.format import of_100
from valuation.report.labels import short_day
from valuation.screens.charts import FAINT, INK, PAPER

_LONGEST = 365
"""Days shown: later decisions are rare, and in the words."""

_MARKED = (14, 30, 90, 180, 365)
"""Days named in the words."""

_BASE = {
    "paper_bgcolor": PAPER,
    "plot_bgcolor": PAPER,
    "font": {"color": "#22262b", "size": 15, "family": "Source Sans, sans-serif"},
    "hovermode": False,
    "dragmode": False,
    "margin": {"l": 4, "r": 16, "t": 16, "b": 70},
}


def decisions_chart(yes: Curve, no: Curve, undecided: Curve) -> go.Figure:
    """Return the shares that said yes, no, or neither, over the days since the evaluation, yes and no competing."""
    figure = go.Figure()
    for curve, name, dash, width in (
        (undecided, say("undecided"), "dot", 2),
        (no, say("no"), "dash", 3),
        (yes, say("yes"), "solid", 4),
    ):
        days, share, low, high = _steps(curve)
        band = {"color": INK if curve is yes else FAINT, "width": 0}
        figure.add_trace(go.Scatter(x=days, y=low, mode="lines", line=band, line_shape="hv", showlegend=False))
        figure.add_trace(
            go.Scatter(
                x=days, y=high, mode="lines", line=band, line_shape="hv", fill="tonexty", showlegend=False,
                fillcolor="rgba(31,58,95,0.14)" if curve is yes else "rgba(107,99,80,0.10)",
            )
        )  # fmt: skip
        line = {"color": INK if curve is yes else FAINT, "width": width, "dash": dash}
        figure.add_trace(go.Scatter(x=days, y=share, mode="lines", line=line, line_shape="hv", name=name))
        # at the end the open and the no lie close together: one is named where it begins, the other below its line
        at = 1 if curve is undecided and len(days) > 2 else len(days) - 1
        side = "left" if curve is undecided else "right"
        figure.add_annotation(
            x=days[at], y=share[at], text=name, showarrow=False, xanchor=side, xshift=8 if side == "left" else 0,
            yanchor="top" if curve is no else "bottom", font={"size": 15},
        )  # fmt: skip
    ticks = [0, 0.25, 0.5, 0.75, 1]
    figure.update_yaxes(
        range=[-0.02, 1.06], tickvals=ticks, ticktext=[of_100(tick) for tick in ticks], gridcolor="#ddd5c3",
        zeroline=False, fixedrange=True, automargin=True,
    )  # fmt: skip
    figure.update_xaxes(
        range=[0, _LONGEST * 1.02], tickvals=[90, 180, 270, 360], gridcolor="#ddd5c3", fixedrange=True, zeroline=False,
        title={"text": say("days since the evaluation"), "standoff": 14},
    )  # fmt: skip
    figure.update_layout(**_BASE, height=420, showlegend=False, separators="".join(number_signs()))
    return figure


def _steps(curve: Curve) -> tuple[list[float], list[float], list[float], list[float]]:
    """Return the steps as far as they are shown, drawn out to the last day shown."""
    kept = [i for i, day in enumerate(curve.days) if day <= _LONGEST]
    columns = [[float(column[i]) for i in kept] for column in (curve.days, curve.share, curve.low, curve.high)]
    columns[0].append(float(_LONGEST))
    for column in columns[1:]:
        column.append(column[-1])
    days, share, low, high = columns
    return days, share, low, high


def decisions_words(yes: Curve, no: Curve, undecided: Curve) -> list[str]:
    """Return what the chart shows, day by day."""
    said = []
    for day in _MARKED:
        shares = [of_100(curve.at(day)[0]) for curve in (yes, no, undecided)]
        words = say("After {days} days: yes {yes}, no {no}, undecided {undecided}.", days=day,
                    yes=shares[0], no=shares[1], undecided=shares[2])  # fmt: skip
        said.append(words)
    _, low, high = yes.at(_MARKED[-1])
    said.append(
        say("A yes within a year: between {low} and {high}, in 9 of 10 such shops.", low=of_100(low), high=of_100(high))
    )
    return said


def coming_chart(months: Sequence[Month]) -> go.Figure:
    """Return the hours that come in each month with their band, and what the shop can do."""
    names = [f"{month.first:%Y-%m}" for month in months]
    figure = go.Figure()
    for name, month in zip(names, months, strict=True):
        line = {"color": FAINT, "width": 4}
        figure.add_trace(
            go.Scatter(x=[name, name], y=[month.coming_low, month.coming_high], mode="lines", line=line)
        )  # fmt: skip
    dots = {"symbol": "circle", "size": 13, "color": INK}
    figure.add_trace(go.Scatter(x=names, y=[month.coming for month in months], mode="markers", marker=dots))
    if any(month.capacity for month in months):
        figure.add_trace(
            go.Scatter(
                x=names, y=[month.capacity for month in months], mode="lines", line_shape="hvh",
                line={"color": INK, "width": 2, "dash": "dash"},
            )
        )  # fmt: skip
        figure.add_annotation(
            x=names[-1], y=months[-1].capacity, text=say("what the shop can do"), showarrow=False, xanchor="right",
            yanchor="bottom", font={"size": 15},
        )  # fmt: skip
    top = max(max(month.coming_high, month.capacity) for month in months) * 1.15 or 1.0
    figure.update_yaxes(
        range=[0, top],
        title={"text": say("hours"), "standoff": 10},
        gridcolor="#ddd5c3",
        fixedrange=True,
        automargin=True,
    )
    # the year below the month: on a phone there is no room for both in a line
    years = [f"{month.first:%m}<br>{month.first:%Y}" for month in months]
    figure.update_xaxes(
        type="category", fixedrange=True, showgrid=False, tickvals=names, ticktext=years, tickangle=0,
        tickfont={"size": 13},
    )  # fmt: skip
    figure.update_layout(**_BASE, height=380, showlegend=False, separators="".join(number_signs()))
    return figure


def month_words(month: Month) -> str:
    """Return which days a month stands for: the present one has only its rest ahead."""
    if month.first.day == 1:
        return f"{month.first:%Y-%m}"
    return say("{first} to {last}", first=short_day(month.first), last=short_day(month.last))
