"""A share of a few cases, with the interval that so few can carry."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from scipy.stats import binomtest

LEVEL = 0.9
"""Intervals hold the truth so often, about [-]."""

WIDEST = 0.4
"""An interval wider than this says too little to compare anything by: 'too few to tell' [-]. Of 12 cases a third is too
few, of 13 it is just told."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many of so many, and between which limits the true share lies in 9 of 10 such cases.

    Attributes
    ----------
    low, high : float
        Wilson's interval [-]; 0 and 1 where there is no case.
    """

    count: int
    of: int
    low: float
    high: float

    @property
    def share(self) -> float | None:
        """The share found [-]; None where there is no case."""
        return self.count / self.of if self.of else None

    @property
    def is_told(self) -> bool:
        """Whether the cases tell enough for the share to be shown as a figure."""
        return self.of > 0 and self.high - self.low <= WIDEST


@lru_cache(maxsize=10_000)
def share_of(count: int, of: int) -> Share:
    """Return a share with its interval.

    Parameters
    ----------
    count, of : int
        Cases that are so, and all cases [-].

    Raises
    ------
    ValueError
        If there are more of the one than of all, or fewer than none.

    References
    ----------
    .. [1] Wilson, J. Am. Stat. Assoc. 22 (1927) 209; see Newcombe, Statistics in Medicine 17 (1998) 857.

    Examples
    --------
    >>> tells = share_of(4, 12)
    >>> round(tells.low, 2), round(tells.high, 2), tells.is_told
    (0.16, 0.57, False)
    """
    if not 0 <= count <= of:
        raise ValueError(f"{count} of {of} is not a share")
    if of == 0:
        return Share(count=0, of=0, low=0.0, high=1.0)
    interval = binomtest(count, of).proportion_ci(LEVEL, "wilson")
    return Share(count=count, of=of, low=float(interval.low), high=float(interval.high))
