"""Light and dark, and the hatchings: each state can be told without its colour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Look:
    """Colours of one look, in hexadecimal.

    Attributes
    ----------
    paper, ink, line, faint : str
        Ground, letters, outlines, and lines of small details.
    dark, pale, felt, brass : str
        Fills of details: black keys and pins, wood, felt, pedals.
    tints : dict of str to tuple of str
        Of each state, its ground and the colour of its hatching, paler than outlines.
    """

    name: str
    paper: str
    ink: str
    line: str
    faint: str
    dark: str
    pale: str
    felt: str
    brass: str
    tints: dict[str, tuple[str, str]]


LIGHT = Look(
    name="light", paper="#fffdf7", ink="#22262b", line="#3c4148", faint="#7d7666", dark="#33383f", pale="#e3d3b4",
    felt="#efe7d6", brass="#d8b867",
    tints={
        "sound": ("#edf4ec", "#86a98a"), "serviceable": ("#f5f1da", "#a89a5a"), "worn": ("#f7e3c4", "#bb8748"),
        "failed": ("#f3cfc3", "#ad5a44"), "unseen": ("#ecebe7", "#8d8d88"),
    },
)  # fmt: skip

DARK = Look(
    name="dark", paper="#1b1f25", ink="#f1ece0", line="#b9b4a6", faint="#8d8979", dark="#0b0d10", pale="#6d5f45",
    felt="#8b8577", brass="#b0924a",
    tints={
        "sound": ("#24352b", "#5d8768"), "serviceable": ("#39361f", "#8e8347"), "worn": ("#47331a", "#ad7b3b"),
        "failed": ("#4d241c", "#c06b54"), "unseen": ("#2c2e32", "#75777b"),
    },
)  # fmt: skip

INKS = {
    "fine": ("none", "faint"),
    "wire": ("none", "line"),
    "rib": ("none", "faint"),
    "dark": ("dark", "faint"),
    "pale": ("pale", "faint"),
    "felt": ("felt", "faint"),
    "brass": ("brass", "line"),
}
"""Of each ink of a detail, which colours fill and draw it; a name that no look has draws nothing."""

_HATCHINGS = {
    # tile side, drawing; {c} is the colour of the hatching
    "sound": (9, '<circle cx="4.5" cy="4.5" r="1" fill="{c}"/>'),
    "serviceable": (9, '<path d="M-1 10L10 -1M-1 1L1 -1M8 10L10 8" stroke="{c}" stroke-width="0.9"/>'),
    "worn": (5, '<path d="M-1 6L6 -1M-1 1L1 -1M4 6L6 4" stroke="{c}" stroke-width="1.3"/>'),
    "failed": (
        6,
        '<path d="M-1 7L7 -1M-1 -1L7 7M-1 1L1 -1M5 7L7 5M-1 5L1 7M5 -1L7 1" stroke="{c}" stroke-width="1.3"/>',
    ),
    "unseen": (10, '<path d="M1 3h4M6 8h4" stroke="{c}" stroke-width="1.3"/>'),
}


def look_of(*, dark: bool) -> Look:
    """Return one of the two looks."""
    return DARK if dark else LIGHT


def pattern_id(state: str, look: Look) -> str:
    """Return the id of a state's hatching; two drawings of one look on a page share it."""
    return f"hatch-{state}-{look.name}"


def patterns(look: Look, states: Iterable[str]) -> str:
    """Return the hatchings of some states."""
    wanted, told = set(states), []
    for state, (side, marks) in _HATCHINGS.items():
        if state not in wanted:
            continue
        ground, line = look.tints[state]
        told.append(
            f'<pattern id="{pattern_id(state, look)}" width="{side}" height="{side}" patternUnits="userSpaceOnUse">'
            f'<rect width="{side}" height="{side}" fill="{ground}"/>{marks.replace("{c}", line)}</pattern>'
        )
    return "".join(told)
