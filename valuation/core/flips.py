"""What would change the verdict: for each driver, the figure at which another option becomes best.

Expected nets are straight lines in most drivers, so the turning points are where the highest line changes: found,
not searched for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Turn:
    """Where the best option changes along one driver.

    Attributes
    ----------
    at : float
        Value of the driver.
    option : str
        Option that is best beyond it.
    """

    at: float
    option: str


def turns_on_lines(
    now: np.ndarray, slope: np.ndarray, options: list[str], reach: tuple[float, float]
) -> tuple[Turn | None, Turn | None]:
    """Return the nearest turns below and above today, on straight lines ``now + slope * x``.

    Parameters
    ----------
    now, slope : ndarray, shape (K,)
        Net of each action today (x = 0), and its change for each unit of x.
    options : list of str, length K
    reach : (float, float)
        How far to look, below and above 0.
    """
    return (
        _walk(now, -slope, options, -reach[0], sign=-1.0),
        _walk(now, slope, options, reach[1], sign=1.0),
    )


def _walk(now: np.ndarray, slope: np.ndarray, options: list[str], far: float, sign: float) -> Turn | None:
    """Follow the highest line from x = 0 outwards until it belongs to another option."""
    x, k = 0.0, int(now.argmax())
    start = options[k]
    while True:
        steeper = np.flatnonzero(slope > slope[k] + 1e-12 * (1 + abs(slope[k])))
        if not len(steeper):
            return None
        crossing = (now[k] - now[steeper]) / (slope[steeper] - slope[k])
        crossing = np.maximum(crossing, x)
        first = crossing.min()
        if first > far:
            return None
        at_once = steeper[crossing <= first + 1e-9 * (1 + abs(first))]
        x, k = float(first), int(at_once[slope[at_once].argmax()])
        if options[k] != start:
            return Turn(sign * x, options[k])


def turns_on_grid(at: np.ndarray, nets: np.ndarray, options: list[str], today: int) -> tuple[Turn | None, Turn | None]:
    """Return the nearest turns below and above today for a driver in which nets are not straight.

    Between two points of the grid nets are taken as straight.

    Parameters
    ----------
    at : ndarray, shape (G,)
        Rising values of the driver.
    nets : ndarray, shape (G, K)
    options : list of str, length K
    today : int
        Position of today's value in `at`.
    """
    start = options[int(nets[today].argmax())]
    found: list[Turn | None] = []
    for step in (-1, 1):
        turn, g = None, today
        while turn is None and 0 <= g + step < len(at):
            width = at[g + step] - at[g]
            within = _walk(nets[g], nets[g + step] - nets[g], options, 1.0, 1.0)
            if within and within.option != start:
                turn = Turn(float(at[g] + within.at * width), within.option)
            g += step
        found.append(turn)
    return found[0], found[1]
