"""Shares whose ratios must rise: what proves that a worse finding never makes anything look better."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

_ROUNDING = 1e-12
"""Products that should be equal may differ by so much."""


def not_rising(shares: Sequence[Sequence[float]]) -> Iterator[tuple[int, int, str]]:
    """Yield (row, column, ratios) where a ratio of neighbours falls from a row to the next.

    Rows and columns run from good to bad. All shares being above 0, neighbours in order mean all in order
    (total positivity of order 2: all adjacent 2 x 2 minors at least 0; S. Karlin, Total Positivity, 1968).

    Parameters
    ----------
    shares : sequence of sequence of float
        A row for each truth, a column for each reading.

    Yields
    ------
    row, column : int
        The worse row and the worse column.
    ratios : str
        The ratio of the two columns in the better row and in the worse, in words.
    """
    for (_, better), (row, worse) in pairwise(enumerate(shares)):
        for (_, left), (column, right) in pairwise(enumerate(zip(better, worse, strict=True))):
            if left[0] * right[1] < right[0] * left[1] - _ROUNDING:
                yield row, column, f"{right[0] / left[0]:.4g} before and {right[1] / left[1]:.4g} here"
