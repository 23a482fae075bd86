"""Loose pins that stand next to one another: the longest rows of them, and how often chance alone makes one so long.

Blocks fail in lines and places. Pins are followed in two ways: in the order of keys and strings, and along one string
of each key, for those stand in one line of the field. Next to one another means that no firm pin was tried between.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

Place = tuple[int, int]
"""Key [1-88] and string [1-3; 0 where not told]."""

MOST_COUNTED = 20_000
"""Up to so many ways of placing the loose pins each is counted; beyond, they are dealt out by chance [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseRun:
    """Loose pins in a row.

    Attributes
    ----------
    pins : tuple of (key, string)
        From the lowest to the highest.
    string : int
        The string along which they stand, 1 to 3; 0 for a row in the order of keys and strings.
    chance : float
        How often a row as long as this would be met somewhere, in either way, if as many loose pins lay anywhere among
        those tried [-].
    """

    pins: tuple[Place, ...]
    string: int
    chance: float


def loose_runs(loose: Mapping[Place, bool], *, rng: np.random.Generator, deals: int = 9999) -> tuple[LooseRun, ...]:
    """Return the rows of loose pins among those tried.

    Parameters
    ----------
    loose : mapping of (key, string) to bool
        Each pin tried, and whether it was loose; in any order.
    rng : numpy.random.Generator
        Source of chance, used where there are more than `MOST_COUNTED` ways to place the loose pins.
    deals : int
        How often they are dealt out then, at least 99 [-].

    Returns
    -------
    tuple of LooseRun
        Of two pins or more, the longest first; a row that lies wholly within another is left out.

    Raises
    ------
    ValueError
        If they are to be dealt out fewer than 99 times.

    Notes
    -----
    Given how many of those tried are loose, each choice of which they are is taken for equally likely. The chance is
    the share of choices that hold a row at least as long: of all of them, or of those dealt out and the one seen.

    Examples
    --------
    >>> tried = {(key, 1): key in (5, 6, 7) for key in range(1, 11)}
    >>> loose_runs(tried, rng=np.random.default_rng(0))
    (LooseRun(pins=((5, 1), (6, 1), (7, 1)), string=0, chance=0.06666666666666667),)
    """
    if deals < 99:
        raise ValueError("loose pins must be dealt out at least 99 times")
    places = sorted(loose)
    flags = np.array([loose[place] for place in places], dtype=bool)
    lanes = _lanes(places)
    found = [
        (tuple(places[i] for i in run), string) for string, lane in lanes.items() for run in _runs(flags, lane)
    ]  # fmt: skip
    whole = [run for run in found if not any(set(run[0]) < set(other) for other, _ in found)]
    if not whole:
        return ()
    longest = _longest_by_chance(flags, list(lanes.values()), rng, deals)
    runs = [
        LooseRun(pins=pins, string=string, chance=float((longest >= len(pins)).mean())) for pins, string in whole
    ]  # fmt: skip
    return tuple(sorted(runs, key=lambda run: (-len(run.pins), run.string, run.pins)))


def _lanes(places: Sequence[Place]) -> dict[int, list[int]]:
    """Return the ways in which pins are followed: all of them, then those of each string, where that is another way."""
    lanes = {0: list(range(len(places)))}
    for string in (1, 2, 3):
        lane = [i for i, place in enumerate(places) if place[1] == string]
        if 1 < len(lane) < len(places):
            lanes[string] = lane
    return lanes


def _runs(flags: np.ndarray, lane: Sequence[int]) -> list[list[int]]:
    runs: list[list[int]] = [[]]
    for i in lane:
        if flags[i]:
            runs[-1].append(i)
        elif runs[-1]:
            runs.append([])
    return [run for run in runs if len(run) > 1]


def _longest_by_chance(
    flags: np.ndarray, lanes: Sequence[Sequence[int]], rng: np.random.Generator, deals: int
) -> np.ndarray:
    """Return the longest row in each of many ways to place the loose pins: in every way, or in those dealt out."""
    bad, tried = int(flags.sum()), len(flags)
    ways = math.comb(tried, bad)
    if ways <= MOST_COUNTED:
        placed = np.zeros((ways, tried), dtype=bool)
        chosen = np.array(list(combinations(range(tried), bad)), dtype=int).reshape(ways, bad)
        np.put_along_axis(placed, chosen, values=True, axis=1)
    else:
        dealt = rng.permuted(np.tile(flags, (deals, 1)), axis=1)
        placed = np.concatenate([flags[None, :], dealt])  # what was seen is one of the ways
    return np.max([_longest(placed[:, lane]) for lane in lanes], axis=0)


def _longest(placed: np.ndarray) -> np.ndarray:
    """Return the longest row of loose pins in each line of an array of shape (ways, pins)."""
    row = np.zeros(len(placed), dtype=int)
    longest = row.copy()
    for column in placed.T:
        row = (row + 1) * column
        np.maximum(longest, row, out=longest)
    return longest
