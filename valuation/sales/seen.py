"""What the price model sees of sales and pianos, as arrays."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False, kw_only=True)
class Seen:
    """What the model sees of n sales, or of n pianos.

    Attributes
    ----------
    known : ndarray, shape (n, k)
        Level, trend, and columns whose spread is stated once and for all, each in the spread of its prior.
    shape : ndarray, shape (n, s)
        Columns of the shape, the same; how large it is as a whole is learned.
    places : ndarray, shape (n, q)
        Where they are; two at a distance of 1 still share most of what is particular to them.
    strays : ndarray, shape (n,)
        How far a single sale strays there over the usual, by the table [-].
    groups : ndarray of int, shape (n,)
        State, counted from 0: each strays in a way of its own.
    """

    known: np.ndarray
    shape: np.ndarray
    places: np.ndarray
    strays: np.ndarray
    groups: np.ndarray

    def rows(self, scale: np.ndarray | float = 1.0) -> np.ndarray:
        """Return the rows as the covariance takes them, the sale of each divided by its scale."""
        ones = np.ones((len(self.strays), 1))
        whole = np.column_stack([self.known, self.shape, ones])
        return np.column_stack([whole / np.reshape(scale, (-1, 1)), self.places])
