"""Odds of one fault at several ages, learned together; between two ages their logarithms run straight.

What is learned are the rows of the table. A piano between two of them tells of both, by how near it is to each.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

_HALVINGS = 20


@dataclass(frozen=True, eq=False)
class OddsByAge:
    """Where the pianos stand between the rows of one fault's odds. K rows, p pianos.

    Attributes
    ----------
    ages : ndarray, shape (K,)
        Of the rows, rising [years].
    first : ndarray, shape (K, 4)
        Shares before anything was learned.
    counts_as : float
        As many pianos as each row counts for.
    nearness : ndarray, shape (p, K)
        How near each piano is to each row: two at most are above 0, all add to 1.
    tilt : ndarray, shape (p, 9)
        Added to the logarithm of the odds for each step of severity, given the joint cause.
    """

    ages: np.ndarray
    first: np.ndarray
    counts_as: float
    nearness: np.ndarray
    tilt: np.ndarray

    @classmethod
    def of(cls, ages: np.ndarray, first: np.ndarray, counts_as: float, at: np.ndarray, tilt: np.ndarray) -> OddsByAge:
        """Return it for pianos of these ages [years]."""
        nearness = np.stack([np.interp(at, ages, row) for row in np.eye(len(ages))], axis=1)
        return cls(ages=ages, first=first, counts_as=counts_as, nearness=nearness, tilt=tilt)

    def prior(self, shares: np.ndarray) -> np.ndarray:
        """Return the odds of each severity given the joint cause, shape (p, 9, 4)."""
        return self._at(np.log(shares))[0]

    def log_prior(self, shares: np.ndarray) -> float:
        """Return what the table's own counts add to the logarithm of the likelihood."""
        return float(self.counts_as * (self.first * np.log(shares)).sum())

    def better(self, shares: np.ndarray, joint: np.ndarray) -> np.ndarray:
        """Return shares that explain the pianos and the table's own counts better, or as well.

        Parameters
        ----------
        shares : ndarray, shape (K, 4)
        joint : ndarray, shape (p, 9, 4)
            Odds of cause and severity together, of each piano.

        Notes
        -----
        One of Newton's steps, halved until it gains: what it climbs is concave, and expectation and maximisation needs
        no more than a climb in each round to never fall (Dempster, Laird and Rubin 1977, section 3).
        """
        logs = np.log(shares)
        slope, bend, stands = self._hill(logs, joint)
        step = np.linalg.solve(bend, slope.ravel()).reshape(-1, 3)
        for _ in range(_HALVINGS):
            tried = logs.copy()
            tried[:, 1:] += step
            tried -= np.log(np.exp(tried).sum(axis=1, keepdims=True))
            if (joint * self._at(tried)[1]).sum() + self.log_prior(np.exp(tried)) >= stands:
                return np.exp(tried)
            step = step / 2
        return shares

    def _at(self, logs: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return the odds of each severity given the joint cause, and their logarithms."""
        # Sums over four columns are quicker as products; the logarithms are too small to overflow.
        logits = (self.nearness @ logs)[:, None, :] + np.arange(4) * self.tilt[:, :, None]
        odds = np.exp(logits)
        total = odds @ np.ones((4, 1))
        return odds / total, logits - np.log(total)

    def _hill(self, logs: np.ndarray, joint: np.ndarray) -> tuple[np.ndarray, np.ndarray, float]:
        """Return slope, curvature and height by the logarithms of each row; the first column stands still."""
        (odds, log_odds), own, rows = self._at(logs), np.exp(logs), len(logs)
        weighted = (joint @ np.ones((4, 1))) * odds
        off = joint.sum(axis=1) - weighted.sum(axis=1)
        slope = self.nearness.T @ off + self.counts_as * (self.first - own)
        spread = weighted.sum(axis=1)[:, :, None] * np.eye(4) - np.swapaxes(weighted, 1, 2) @ odds
        pairs = self.nearness[:, :, None] * self.nearness[:, None, :]
        bend = np.tensordot(pairs, spread, axes=(0, 0)).swapaxes(1, 2)
        for k, row in enumerate(own):
            bend[k, :, k, :] += self.counts_as * (np.diag(row) - np.outer(row, row))
        height = float((joint * log_odds).sum()) + self.log_prior(own)
        return slope[:, 1:], bend[:, 1:, :, 1:].reshape(3 * rows, 3 * rows), height
