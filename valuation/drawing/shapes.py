"""What a part of the drawing is made of, and the small pens that both pianos are drawn with.

One unit is one pixel where the drawing is 390 pixels wide. Rows of an action are drawn far higher than they are, so
that a finger meets each. Attributes alone, no style sheet: the papers' typesetter takes no other.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

WIDTH = 390
"""Width of every drawing."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part as it is drawn.

    Attributes
    ----------
    id : str
        Of ``parts.csv``.
    places : tuple of str
        Outlines, as the ``d`` of a path; filled with the hatching of its state.
    name_at : tuple of float
        Middle of the plate with its name.
    room : float
        Widest that the plate may be.
    details : tuple of str
        What is drawn over the outlines and makes it known at once; takes no taps.
    reach : tuple of str
        Lines about which a finger meets the part though its outline is narrow.
    """

    id: str
    places: tuple[str, ...]
    name_at: tuple[float, float]
    room: float
    details: tuple[str, ...] = ()
    reach: tuple[str, ...] = field(default=())


def box(x: float, y: float, width: float, height: float, round_by: float = 0) -> str:
    """Return the outline of a box.

    Examples
    --------
    >>> box(0, 0, 4, 2)
    'M0 0h4v2h-4z'
    """
    if not round_by:
        return f"M{x:g} {y:g}h{width:g}v{height:g}h{-width:g}z"
    r = round_by
    arc = f"a{r:g} {r:g} 0 0 1"
    return (
        f"M{x + r:g} {y:g}h{width - 2 * r:g}{arc} {r:g} {r:g}v{height - 2 * r:g}{arc} {-r:g} {r:g}"
        f"h{2 * r - width:g}{arc} {-r:g} {-r:g}v{2 * r - height:g}{arc} {r:g} {-r:g}z"
    )


def lines(segments: Iterable[tuple[float, float, float, float]], width: float = 1, ink: str = "fine") -> str:
    """Return straight lines, each from one point to another, as one path.

    Each point is told from the one before: evenly spaced lines then read alike, and pack small.
    """
    d, at = "M0 0", (0.0, 0.0)
    for a, b, c, e in segments:
        to, on = _step(at, (a, b)), _step((a, b), (c, e))
        d += f"m{to[0]:g} {to[1]:g}l{on[0]:g} {on[1]:g}"
        at = (at[0] + to[0] + on[0], at[1] + to[1] + on[1])
    return f'<path class="{ink}" d="{d}" stroke-width="{width:g}"/>'


def line(d: str, width: float = 1, ink: str = "fine") -> str:
    """Return one line that nothing fills."""
    return f'<path class="{ink}" d="{d}" stroke-width="{width:g}"/>'


def solid(d: str, ink: str = "dark") -> str:
    """Return a filled shape: ``dark``, ``pale`` or ``brass``."""
    return f'<path class="{ink}" d="{d}"/>'


def row(places: Iterable[float], y: float, shape: str, ink: str = "dark") -> str:
    """Return one closed shape drawn at many places beside each other.

    Parameters
    ----------
    places : iterable of float
        Where the shape begins, from left to right.
    y : float
        How far down.
    shape : str
        Its outline from there, all of it relative, closed at the end.
    """
    d, at = f"M0 {y:g}", 0.0
    for x in places:
        d += f"m{round(x - at, 1):g} 0{shape}"
        at += round(x - at, 1)
    return solid(d, ink)


def dots(points: Iterable[tuple[float, float]], radius: float, ink: str = "dark") -> str:
    """Return round dots as one filled path."""
    r = radius
    arc = f"a{r:g} {r:g} 0 1 0"
    d, at = "M0 0", (0.0, 0.0)
    for x, y in points:
        to = _step(at, (x - r, y))
        d += f"m{to[0]:g} {to[1]:g}{arc} {2 * r:g} 0{arc} {-2 * r:g} 0z"
        at = (at[0] + to[0], at[1] + to[1])
    return solid(d, ink)


def spread(start: float, end: float, count: int) -> list[float]:
    """Return evenly spread places, both ends among them.

    Examples
    --------
    >>> spread(0, 4, 3)
    [0.0, 2.0, 4.0]
    """
    return [start + (end - start) * i / (count - 1) for i in range(count)]


def _step(start: tuple[float, float], end: tuple[float, float]) -> tuple[float, float]:
    return round(end[0] - start[0], 1), round(end[1] - start[1], 1)
