"""Tuning pins: how many in all are loose, told from those tried, and how many more to try.

All of it takes for granted that pins were dealt over the field (`valuation.measure.pin_deal`) or tried as they came.
Pins tried because they felt soft make the block look worse than it is; they are counted apart.
"""

from __future__ import annotations

import bisect
import math
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from valuation.measure.limits import require_between


def _chance_of_error(confidence: float) -> Fraction:
    """Return 1 - confidence as written in decimals, so that 0.95 leaves exactly 1/20."""
    require_between(confidence, 0.5, 0.9999, what="confidence")
    return 1 - Fraction(str(confidence))


def require_counts(bad: int, tried: int, in_all: int | None = None) -> None:
    """Refuse counts that can't be: none tried, more loose than tried, more tried than there are, parts of a pin."""
    counts = [bad, tried] if in_all is None else [bad, tried, in_all]
    if tried < 1 or sorted([0, *counts]) != [0, *counts] or any(count % 1 for count in counts):
        of_all = "" if in_all is None else f" of {in_all} in all"
        raise ValueError(
            f"{bad} loose of {tried} tried{of_all} is not a count: whole numbers, rising, at least one tried"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class LooseInAll:
    """How many pins of the whole field are loose.

    Attributes
    ----------
    low, high : int
        Two-sided exact range [-].
    at_most : int
        One-sided exact upper limit at the same confidence [-].
    in_all : int
        Pins in the field [-].
    """

    low: int
    high: int
    at_most: int
    in_all: int


def _chance_at_most(bad: int, loose: int, tried: int, in_all: int) -> Fraction:
    """Return the chance of at most `bad` loose among those tried, if `loose` of `in_all` are."""
    ways = sum(math.comb(loose, k) * math.comb(in_all - loose, tried - k) for k in range(bad + 1))
    return Fraction(ways, math.comb(in_all, tried))


@lru_cache(maxsize=4096)
def loose_in_all(bad: int, tried: int, in_all: int, confidence: float = 0.95) -> LooseInAll:
    """Return how many pins of the whole field are loose, from those tried without repeats.

    Parameters
    ----------
    bad : int
        How many were loose [-].
    tried : int
        How many were tried [-].
    in_all : int
        How many pins there are [-].
    confidence : float
        How often such a range holds the truth, at the least [-].

    Returns
    -------
    LooseInAll
        Exact limits, in pins.

    Notes
    -----
    Limits of the hypergeometric law, in whole numbers throughout: the upper is the greatest number of loose pins with
    which so few would still be found with a chance of at least half of 1 - confidence; the lower the mirror of it.

    References
    ----------
    .. [1] Buonaccorsi, "A note on confidence intervals for proportions in finite populations", Am. Stat. 41 (1987) 215.

    Examples
    --------
    >>> loose_in_all(1, 24, 224)
    LooseInAll(low=1, high=45, at_most=39, in_all=224)
    """
    require_counts(bad, tried, in_all)
    possible = range(bad, in_all - tried + bad + 1)
    error = _chance_of_error(confidence)

    def greatest(tail: Fraction) -> int:
        def is_too_many(loose: int) -> bool:
            return _chance_at_most(bad, loose, tried, in_all) < tail

        return possible[bisect.bisect_left(possible, True, key=is_too_many) - 1]

    def least(tail: Fraction) -> int:
        def is_enough(loose: int) -> bool:
            return 1 - _chance_at_most(bad - 1, loose, tried, in_all) >= tail

        return possible[bisect.bisect_left(possible, True, key=is_enough)]

    return LooseInAll(low=least(error / 2), high=greatest(error / 2), at_most=greatest(error), in_all=in_all)


def more_pins_to_settle(bad: int, tried: int, in_all: int, limit_share: float, confidence: float = 0.95) -> int:
    """Return how many more pins would settle whether the share of loose ones is under a limit.

    Parameters
    ----------
    bad : int
        How many were loose so far [-].
    tried : int
        How many were tried so far [-].
    in_all : int
        How many pins there are [-].
    limit_share : float
        Share of loose pins at which the judgement changes, from the tables [-].
    confidence : float
        Of the range that must lie on one side of the limit [-].

    Returns
    -------
    int
        Fewest more pins after which it is settled, should further pins be loose as often as those tried; 0 if it is
        settled now. With all pins tried it always is [-].

    Examples
    --------
    >>> more_pins_to_settle(0, 24, 224, 0.05)
    34
    """
    require_counts(bad, tried, in_all)
    require_between(limit_share, 0, 1, what="limit of the share")
    for more in range(in_all - tried + 1):
        found = loose_in_all(round(bad * (tried + more) / tried), tried + more, in_all, confidence)
        if found.high < limit_share * in_all or found.low >= limit_share * in_all:
            break
    return more


def chance_to_settle(
    bad: int, tried: int, in_all: int, more: int, limit_share: float, confidence: float = 0.95
) -> float:
    """Return the chance that so many more pins settle whether the share of loose ones is under a limit.

    Parameters
    ----------
    bad, tried, in_all, limit_share, confidence
        As `more_pins_to_settle` takes them.
    more : int
        Pins to try beside those tried, at most all that are left [-].

    Returns
    -------
    float
        Over every number of loose pins, each as likely as any other before the first pin was tried [-].

    Examples
    --------
    >>> round(chance_to_settle(0, 24, 224, 34, 0.05), 2)
    0.44
    """
    require_counts(bad, tried, in_all)
    require_between(limit_share, 0, 1, what="limit of the share")
    left = in_all - tried
    if not 0 <= more <= left:
        raise ValueError(f"{more} more pins can't be tried of {left} that are left")
    # of the loose ones left, each number by how likely it makes what was seen
    ways = [math.comb(bad + rest, bad) * math.comb(in_all - bad - rest, tried - bad) for rest in range(left + 1)]
    whole = sum(ways)
    chance = 0.0
    for found in range(more + 1):
        after = loose_in_all(bad + found, tried + more, in_all, confidence)
        if not (after.low < limit_share * in_all <= after.high):
            seen = sum(
                way * math.comb(rest, found) * math.comb(left - rest, more - found) for rest, way in enumerate(ways)
            )
            chance += float(Fraction(seen, whole * math.comb(left, more)))
    return chance
