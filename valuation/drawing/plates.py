"""Small plates of paper with a part's name and state on them, and discs with a number."""

from __future__ import annotations

from html import escape

from valuation.drawing.look import Look

SIZE = 12.0
"""Height of letters of a name; smaller where a name would not go into its part."""

_SMALLEST = 9.0
_NARROW, _WIDE = set("fijlrtI.,:;'-() |!"), set("mwMWAOQGDHNUÖÄÜ%")


def text_width(text: str, size: float) -> float:
    """Return about how wide a text is, rather too much, since nobody can measure without a font.

    Examples
    --------
    >>> text_width("will", 10) < text_width("wamm", 10)
    True
    """
    return size * sum(0.4 if c in _NARROW else 0.9 if c in _WIDE else 0.66 for c in text)


def name_plate(at: tuple[float, float], room: float, name: str, word: str, look: Look) -> tuple[str, float]:
    """Return the plate of a part, and where its right edge is.

    Name and state stand on one line if there is room, else one below the other.
    """
    both = f"{name} · {word}"
    rows = [name] if not word else [both] if text_width(both, SIZE) + 8 <= room else [name, word]
    widest = max(text_width(row, SIZE) for row in rows)
    size = SIZE if widest + 8 <= room else max(_SMALLEST, SIZE * (room - 8) / widest)
    width = max(text_width(row, size) for row in rows) + 8
    height = 4 + len(rows) * (size + 2)
    x, y = at[0] - width / 2, at[1] - height / 2
    texts = "".join(
        f'<text x="{at[0]:g}" y="{y + 1 + (size + 2) * (i + 1) - 1.5:.3g}" font-size="{size:.3g}" text-anchor="middle"'
        f' fill="{look.ink}"{_weight(i)}>{escape(row)}</text>'
        for i, row in enumerate(rows)
    )
    plate = (
        f'<rect x="{x:.3g}" y="{y:.3g}" width="{width:.3g}" height="{height:.3g}" rx="3" fill="{look.paper}" '
        f'fill-opacity="0.92"/>'
    )
    return plate + texts, x + width


def number_disc(x: float, y: float, number: int, look: Look) -> str:
    """Return a disc with a number on it."""
    return (
        f'<circle cx="{x:.3g}" cy="{y:.3g}" r="9" fill="{look.ink}" stroke="{look.paper}" stroke-width="1.5"/>'
        f'<text x="{x:.3g}" y="{y + 4:.3g}" font-size="11" font-weight="700" text-anchor="middle" fill="{look.paper}">'
        f"{number}</text>"
    )


def _weight(row: int) -> str:
    return ' font-weight="600"' if row == 0 else ""
