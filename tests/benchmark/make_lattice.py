"""Make the generating vector in `valuation/engine/draws.py`: component by component, good at every power of two.

Sloan and Reztsov, "Component-by-component construction of good lattice rules", Mathematics of Computation 71
(2002), 263-273; embedded in powers of two after Cools, Kuo and Nuyens, SIAM J. Sci. Comput. 28 (2006), 2162-2188.
Run: ``python tests/benchmark/make_lattice.py 100`` (some minutes); prints the vector.
"""

from __future__ import annotations

import sys

import numpy as np

LEVELS = range(10, 17)
CANDIDATES = 256


def kernel(x: np.ndarray) -> np.ndarray:
    """Second Bernoulli polynomial, scaled: the kernel of the worst-case error for smooth periodic functions."""
    return 2 * np.pi**2 * (x * x - x + 1 / 6)


def main(dimensions: int) -> list[int]:
    """Return the generating vector."""
    points = 2 ** LEVELS[-1]
    rng = np.random.default_rng(1)
    i = np.arange(points)
    product = np.ones(points)
    chosen: list[int] = []
    best_so_far = np.ones(len(LEVELS))
    table = kernel(i / points)
    for dimension in range(dimensions):
        weight = 1.0 / (1 + dimension) ** 1.5
        scores = []
        odd = rng.choice(np.arange(3, points, 2), CANDIDATES, replace=False)
        candidates = [int(z) for z in odd] if dimension else [1]
        for z in candidates:
            trial = product * (1 + weight * table[(i * z) % points])
            errors = np.array([trial[:: 2 ** (LEVELS[-1] - m)].mean() - 1 for m in LEVELS])
            scores.append(errors)
        scores = np.array(scores)
        pick = int(np.argmin((scores / scores.min(axis=0)).max(axis=1)))
        chosen.append(candidates[pick])
        best_so_far = scores[pick]
        product *= 1 + weight * table[(i * candidates[pick]) % points]
    print("errors at the end", best_so_far, file=sys.stderr)
    return chosen


if __name__ == "__main__":
    print(main(int(sys.argv[1])))
