"""What a sample of pins tells of all: those that came by lot, those tried because they felt soft, and neighbours.

A pin tried because it felt soft says that this pin is loose or firm, and nothing of the others; in the share it would
make the block look far worse than it is. Neighbours fail together, since blocks fail in lines: pins tried side by side
count for fewer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valuation.facts.visit import Reading

LINKS_A_PIN = 1.6
"""Pairs of neighbours in a whole field, for each pin: along the string and within the key, counted on 88 keys with
1 to 3 strings [-]."""

NEARLY_ALL = 0.8
"""Neighbours that take away less than the rest of this are within what lot brings [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """Pins tried, by why they were tried.

    Attributes
    ----------
    bad, tried : int
        Loose ones and all of those that came by lot [-].
    soft_bad, soft_firm : int
        Loose and firm ones among those tried because they felt soft [-].
    counts_as : float
        As many pins as those by lot count for: fewer where neighbours were tried more than lot would bring [-].
    """

    bad: int
    tried: int
    soft_bad: int
    soft_firm: int
    counts_as: float

    @property
    def least(self) -> int:
        """So many of all are loose at the least [-]."""
        return self.bad + self.soft_bad

    @property
    def firm(self) -> int:
        """So many of all are firm at the least [-]."""
        return self.tried - self.bad + self.soft_firm


def sampled(readings: Sequence[Reading], bad: Sequence[bool], in_all: int) -> Sample:
    """Return what was tried, and how.

    Parameters
    ----------
    bad : sequence of bool
        Whether each of them is loose.
    in_all : int
        Pins of the piano [-].
    """
    lot = [loose for reading, loose in zip(readings, bad, strict=True) if not reading.soft]
    soft = [loose for reading, loose in zip(readings, bad, strict=True) if reading.soft]
    return Sample(
        bad=sum(lot),
        tried=len(lot),
        soft_bad=sum(soft),
        soft_firm=len(soft) - sum(soft),
        counts_as=_counts_as([reading for reading in readings if not reading.soft], in_all),
    )


def by_lot(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Return the readings that came by lot; all of them where none did."""
    return tuple(reading for reading in readings if not reading.soft) or tuple(readings)


def _counts_as(readings: Sequence[Reading], in_all: int) -> float:
    """Return as many pins as these count for: their groups of neighbours, over those that lot would bring."""
    n = len(readings)
    places = {(reading.key, reading.string) for reading in readings if reading.key}
    groups = _groups(places) + n - len(places)
    by_chance = LINKS_A_PIN * in_all * n * (n - 1) / (in_all * max(in_all - 1, 1))
    share = groups / max(1.0, n - by_chance)
    return float(n) if share >= NEARLY_ALL else n * share


def _groups(places: set[tuple[int, int]]) -> int:
    """Return how many groups of neighbours there are: next keys on one string, next strings of one key."""
    left, groups = set(places), 0
    while left:
        groups += 1
        following = [left.pop()]
        while following:
            key, string = following.pop()
            beside = {(key - 1, string), (key + 1, string), (key, string - 1), (key, string + 1)} & left
            left -= beside
            following += beside
    return groups
