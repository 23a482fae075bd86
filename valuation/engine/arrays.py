"""Names of the array types that the engine's signatures use, and the one product that many of its steps share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Singles = NDArray[np.float32]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


def all_but_one(mass: Floats) -> Floats:
    """Return, along the first axis, the product of all others: by what stands before and after, since some are 0."""
    rest = np.empty_like(mass)
    rest[0] = 1.0
    for i in range(1, len(mass)):
        np.multiply(rest[i - 1], mass[i - 1], out=rest[i])
    after = mass[-1].copy()
    for i in range(len(mass) - 2, -1, -1):
        rest[i] *= after
        after *= mass[i]
    return rest


def side_by_side(each: list[Floats], fill: float) -> Floats:
    """Lay arrays (G, 9, n) beside each other along the last axis; those with fewer faults are filled up."""
    laid = np.full((max(map(len, each)), 9, sum(one.shape[2] for one in each)), fill)
    start = 0
    for one in each:
        laid[: len(one), :, start : start + one.shape[2]] = one
        start += one.shape[2]
    return laid


def taken_apart(laid: Floats, each: list[Floats]) -> list[Floats]:
    """Return what was laid side by side, array by array again."""
    ends = np.cumsum([one.shape[2] for one in each])
    return [part[: len(one)] for part, one in zip(np.split(laid, ends[:-1], axis=2), each, strict=True)]


def all_but_one_of(each: list[Floats]) -> list[Floats]:
    """Return the product of all others for several parts at once."""
    return taken_apart(all_but_one(side_by_side(each, 1.0)), each)
