"""How the page looks now: the colours of what can't take them from `page.css`, by daylight or in a dim room."""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING

import streamlit as st

if TYPE_CHECKING:
    import plotly.graph_objects as go  # loaded with the first chart, not with every page


@dataclass(frozen=True, slots=True)
class Looks:
    """Colours of a picture."""

    ink: str
    faint: str
    paper: str
    text: str
    grid: str


LIGHT = Looks(ink="#1f3a5f", faint="#6b6350", paper="#faf7f0", text="#22262b", grid="#ddd5c3")
DARK = Looks(ink="#a9c4e8", faint="#b3ab97", paper="#1a1d21", text="#ece7dc", grid="#454a50")


def is_dark() -> bool:
    """Tell whether the page is dark, as the browser says."""
    return st.context.theme.type == "dark"


def in_these_looks(figure: go.Figure) -> go.Figure:
    """Return a figure that was drawn for daylight in the colours of now."""
    if not is_dark():
        return figure
    # here, not above: by daylight nothing of it is needed
    import plotly.io

    text = str(figure.to_json())
    for light, dark in zip(astuple(LIGHT), astuple(DARK), strict=True):
        text = text.replace(light, dark)
    return plotly.io.from_json(text)
