"""Refuse what can't be: a slip of the pen must not become evidence."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike


def require_between(value: ArrayLike, low: float, high: float, *, what: str, unit: str = "") -> np.ndarray:
    """Return `value` as an array of floats, or refuse it where it lies outside `low` to `high`.

    Parameters
    ----------
    value : array_like
        One number or many [unit].
    low, high : float
        Limits of what is possible, both inclusive [unit].
    what : str
        What the number is, as the start of the sentence that refuses it.
    unit : str
        Unit shown behind the numbers; empty for a share or a count.

    Returns
    -------
    numpy.ndarray
        The numbers, in the shape in which they came [unit].

    Raises
    ------
    ValueError
        If a number is outside, or is not a number; says which, and what would do.

    Examples
    --------
    >>> require_between(45, 0, 95, what="relative humidity", unit="%")
    array(45.)
    >>> require_between([45, 450], 0, 95, what="relative humidity", unit="%")
    Traceback (most recent call last):
    ValueError: relative humidity must be between 0 and 95 %, not 450
    """
    numbers = np.asarray(value, dtype=float)
    possible = (numbers >= low) & (numbers <= high)  # false for NaN
    if not possible.all():
        refused = numbers[~possible].flat[0]
        raise ValueError(f"{what} must be between {low:g} and {high:g}{' ' if unit else ''}{unit}, not {refused:g}")
    return numbers
