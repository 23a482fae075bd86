"""Shares of small groups, each pulled towards that of all as far as it rests on few cases.

A beta-binomial model: the shares of the groups are spread about that of all, and their spread is told by how much more
they differ than chance alone would make them (method of moments).

References
----------
Kleinman, "Proportions with extraneous variance: single and independent samples", Journal of the American Statistical
Association 68 (1973), 46-54.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from valuation.learn.shares import Share

_LEAST = 2.0
"""Cases that the share of all weighs in each group, at the least [-]; at the most as many as it rests on."""

BAND = 0.8
"""The share of a group lies within its band in so many cases [-]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """The share of one group as all of them tell it, likelier neither more nor less, and its limits in 8 of 10 [-]."""

    share: float
    low: float
    high: float


def pooled(groups: Sequence[Share]) -> tuple[Pooled, ...]:
    """Return the share of each group; nothing where no group has a case.

    Parameters
    ----------
    groups : sequence of Share
        Those of no case lie where all of them do.
    """
    # here, not above: most pages need none of it
    from scipy.stats import beta

    count, of = sum(g.count for g in groups), sum(g.of for g in groups)
    if not of:
        return ()
    overall = (count + 0.5) / (of + 1)
    weight = _weight(groups, overall)
    tail = (1 - BAND) / 2
    told = []
    for group in groups:
        a, b = weight * overall + group.count, weight * (1 - overall) + group.of - group.count
        low, middle, high = (float(x) for x in beta.ppf([tail, 0.5, 1 - tail], a, b))
        told.append(Pooled(share=middle, low=low, high=high))
    return tuple(told)


def _weight(groups: Sequence[Share], overall: float) -> float:
    """Return how many cases the share of all weighs in each group: many, where the groups differ as by chance."""
    filled = [g for g in groups if g.of]
    of = sum(g.of for g in filled)
    if len(filled) < 2:
        return min(_LEAST, of)
    squares = sum(g.of * (g.count / g.of - overall) ** 2 for g in filled)
    chance = overall * (1 - overall)
    between = squares / chance - (len(filled) - 1)
    room = of - sum(g.of**2 for g in filled) / of
    correlation = between / (room + between) if room + between > 0 else 0.0
    if correlation <= 0:
        return float(of)
    return min(max(1 / correlation - 1, _LEAST), float(of))
