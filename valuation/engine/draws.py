"""Base numbers for the bands: the same for the same seed, spread far more evenly than chance would.

A rank-1 lattice in powers of two: in every dimension the points are the same even grid in another order, so that
each margin is exact and only the order is shifted by the seed. One dimension for each quantity of a table, so that
one more operation in a plan leaves all others' numbers alone. Dimension 0 rises with the row: what is drawn from it
comes in blocks.

References
----------
Sloan and Joe, "Lattice Methods for Multiple Integration", Oxford 1994. The vector was made component by component by
``tests/benchmark/make_lattice.py``.
"""

from __future__ import annotations

from functools import lru_cache
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

_VECTOR = np.array([
    1, 47283, 62341, 58761, 53803, 19749, 41601, 64679, 4315, 43037, 21271, 16635, 223, 45189, 56369, 53961,
    44865, 25165, 53385, 13319, 30579, 18169, 14027, 19387, 61585, 51221, 39967, 41789, 21353, 34111, 25203,
    26689, 33371, 27269, 16481, 5845, 41843, 6813, 12341, 37927, 61073, 59299, 20173, 37717, 22757, 62735,
    28321, 43347, 28269, 58215, 44357, 27621, 2537, 7853, 10847, 13375, 18621, 20913, 40799, 23877, 14187, 9635,
    17433, 6251, 51887, 13477, 14575, 9491, 26975, 29365, 13113, 44577, 14051, 23773, 61985, 12545, 59061,
    29917, 51643, 52507, 63205, 62223, 54729, 44115, 30503, 13863, 56295, 49255, 59629, 1449, 37095, 25529,
    58557, 49189, 12769, 43869, 8111, 50039, 43207, 32041, 43339, 14371, 37337, 8171, 569, 27441, 12219, 22731,
    52399, 21759, 1361, 34933, 63699, 54929, 51819, 44367, 32867, 41445, 12903, 15513,
], dtype=np.uint32)  # fmt: skip

SMALLEST, LARGEST = 2**10, 2**16


@lru_cache(maxsize=8)
def _normal_grid(n: int) -> np.ndarray:
    inverse = NormalDist().inv_cdf
    return np.array([inverse((j + 0.5) / n) for j in range(n)], dtype=np.float32)


class BaseNumbers:
    """Evenly spread base numbers, `n` for each dimension.

    Parameters
    ----------
    n : int
        How many draws, a power of two.
    seed : int
        Shifts the order of every dimension but the first.

    Raises
    ------
    ValueError
        If `n` is not a power of two from 1,024 to 65,536.
    """

    def __init__(self, n: int, seed: int) -> None:
        if n & (n - 1) or not SMALLEST <= n <= LARGEST:
            raise ValueError(f"the number of draws must be a power of two from {SMALLEST:,} to {LARGEST:,}, not {n:,}")
        self.n = n
        self._rows = np.arange(n, dtype=np.uint32)
        self._shift = np.random.default_rng(seed).integers(0, n, 4096, dtype=np.uint32)
        self._shift[0] = 0
        self._ranks: dict[int, NDArray[np.uint32]] = {}
        self._normals: dict[int, NDArray[np.float32]] = {}

    def ranks(self, dimension: int) -> NDArray[np.uint32]:
        """Return where each draw stands on the even grid of a dimension, integers 0 to n - 1; not to be changed."""
        if dimension not in self._ranks:
            # Products may run over 32 bits: what is lost is a multiple of n.
            ranks = self._rows * _VECTOR[dimension % len(_VECTOR)] + self._shift[dimension]
            self._ranks[dimension] = ranks & np.uint32(self.n - 1)
        return self._ranks[dimension]

    def normals(self, dimension: int) -> NDArray[np.float32]:
        """Return the standard normals of a dimension; not to be changed."""
        if dimension not in self._normals:
            self._normals[dimension] = np.take(_normal_grid(self.n), self.ranks(dimension))
        return self._normals[dimension]

    def exponentials(self, dimension: int) -> NDArray[np.float32]:
        """Return the standard exponentials of a dimension."""
        at = self.ranks(dimension) + np.float32(0.5)
        return np.asarray(-np.log1p(-at / np.float32(self.n)), dtype=np.float32)


@lru_cache(maxsize=4)
def base_numbers(n: int, seed: int) -> BaseNumbers:
    """Return the base numbers of a seed; made once and kept, as all pianos share them."""
    return BaseNumbers(n, seed)
