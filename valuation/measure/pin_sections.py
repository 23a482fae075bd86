"""Whether one section of the tuning pins differs from the others by more than chance."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from valuation.measure.pins import require_counts


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionDifference:
    """How one section of the pins compares with the others.

    Attributes
    ----------
    section : str
        Name of the section.
    here, elsewhere : float
        Share of loose pins, or mean torque, here and in the others [unit of the readings].
    chance : float
        How often pure chance would part some section from the others this far, all sections looked at [-].
    """

    section: str
    here: float
    elsewhere: float
    chance: float


def loose_by_section(bad: Mapping[str, int], tried: Mapping[str, int]) -> tuple[SectionDifference, ...]:
    """Return whether loose pins gather in a section beyond chance.

    Parameters
    ----------
    bad : mapping of section to number
        How many were loose [-].
    tried : mapping of section to number
        How many were tried, for the same sections, at least two of them [-].

    Returns
    -------
    tuple of SectionDifference
        Shares, and exact chance, for each section.

    Raises
    ------
    ValueError
        If the counts are not possible or there is nothing to compare with.

    Notes
    -----
    Fisher's exact test of each section against the rest, two-sided: all tables no more likely than the one seen. Since
    several sections are looked at, the chances are raised by Holm's rule.

    References
    ----------
    .. [1] Fisher, "The Design of Experiments", Oliver and Boyd, 1935, chapter 2.
    .. [2] Holm, "A simple sequentially rejective multiple test procedure", Scand. J. Stat. 6 (1979) 65.

    Examples
    --------
    >>> for found in loose_by_section({"bass": 5, "tenor": 0, "treble": 0}, {"bass": 8, "tenor": 8, "treble": 8}):
    ...     print(found.section, round(found.here, 3), round(found.chance, 3))
    bass 0.625 0.004
    tenor 0.0 0.261
    treble 0.0 0.261
    """
    if len(tried) < 2 or bad.keys() != tried.keys():
        raise ValueError("at least two sections are needed, each with pins tried and pins loose")
    for section in tried:
        require_counts(bad[section], tried[section])
    all_bad, all_tried = sum(bad.values()), sum(tried.values())
    single = {section: _fisher(bad[section], tried[section], all_bad, all_tried) for section in tried}
    raised, least = {}, Fraction(0)
    for rank, section in enumerate(sorted(single, key=single.__getitem__)):
        least = max(least, min(Fraction(1), single[section] * (len(single) - rank)))
        raised[section] = float(least)
    return tuple(
        SectionDifference(
            section=section,
            here=bad[section] / tried[section],
            elsewhere=(all_bad - bad[section]) / (all_tried - tried[section]),
            chance=raised[section],
        )
        for section in tried
    )


def _fisher(bad: int, tried: int, all_bad: int, all_tried: int) -> Fraction:
    """Return the two-sided exact chance of `bad` among `tried`, given how many are bad among all."""
    ways = [math.comb(all_bad, k) * math.comb(all_tried - all_bad, tried - k) for k in range(min(tried, all_bad) + 1)]
    return Fraction(sum(way for way in ways if way <= ways[bad]), math.comb(all_tried, tried))


def torque_by_section(
    torque: Mapping[str, Sequence[float]], *, rng: np.random.Generator, shuffles: int = 9999
) -> tuple[SectionDifference, ...]:
    """Return whether the torque of a section differs from the others beyond chance.

    Parameters
    ----------
    torque : mapping of section to readings
        Readings of at least two sections, in any one unit [unit].
    rng : numpy.random.Generator
        Source of chance.
    shuffles : int
        How often readings are dealt out afresh, at least 99 [-].

    Returns
    -------
    tuple of SectionDifference
        Mean torque here and elsewhere, and chance, for each section.

    Raises
    ------
    ValueError
        If there are not two sections with readings, or no more readings than sections.

    Notes
    -----
    Permutation test [1]_: all readings are dealt out to the sections at random, and the greatest distance of any
    section from the rest is noted, in units of what chance gives to a section of its size. The chance shown is how
    often that greatest distance reaches the one seen, the seen dealing counted among them; it needs no bell curve.

    References
    ----------
    .. [1] Westfall and Young, "Resampling-Based Multiple Testing", Wiley, 1993, chapter 2.

    Examples
    --------
    >>> torque = {"bass": [5, 6, 5, 4], "tenor": [9, 10, 9, 11], "treble": [10, 9, 10, 9]}
    >>> bass, tenor, treble = torque_by_section(torque, rng=np.random.default_rng(1))
    >>> bass.here, bass.elsewhere, bass.chance < 0.02, tenor.chance < 0.05
    (5.0, 9.625, True, False)
    """
    sizes = np.array([len(readings) for readings in torque.values()])
    values = np.array([reading for readings in torque.values() for reading in readings], dtype=float)
    if len(sizes) < 2 or (sizes == 0).any() or len(values) <= len(sizes):
        raise ValueError("at least two sections with readings are needed, and more readings than sections")
    if not np.isfinite(values).all() or shuffles < 99:
        raise ValueError("readings must be numbers, and be dealt out at least 99 times")
    starts = np.concatenate([[0], np.cumsum(sizes)[:-1]])
    deviations = values - values.mean()

    def distances(dealt: np.ndarray) -> np.ndarray:
        spread = np.sqrt(sizes * (len(values) - sizes))
        return np.abs(np.add.reduceat(dealt, starts, axis=-1)) / spread

    seen = distances(deviations)
    dealt = rng.permuted(np.tile(deviations, (shuffles, 1)), axis=1)
    greatest = distances(dealt).max(axis=1)
    rounding = 1e-9 * np.abs(deviations).max()  # sums of the same readings in another order must count as equal
    reached = (greatest[:, None] >= seen - rounding).sum(axis=0)
    totals = np.add.reduceat(values, starts)
    return tuple(
        SectionDifference(
            section=section,
            here=float(total / size),
            elsewhere=float((values.sum() - total) / (len(values) - size)),
            chance=float((1 + count) / (1 + shuffles)),
        )
        for section, size, total, count in zip(torque, sizes, totals, reached, strict=True)
    )
