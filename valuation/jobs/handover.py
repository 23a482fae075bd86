"""The last check before a piano goes home: what was measured against the shop's own standard, note by note.

What was not measured is listed and never counts as within.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from valuation.engine.rows import HandoverRow
from valuation.facts.keys import KEYS, key_name

NEIGHBOURS = 6
"""A note is held against the middle of so many measured neighbours on each side: few enough to follow a scale that
tapers, enough that one odd neighbour doesn't matter."""

BELOW, ABOVE, UNEVEN = "below", "above", "uneven"
WITHIN, MISSED, NOT_IN_FULL = "within", "missed", "not_in_full"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where something was measured: a key, and at a pin which of its strings, counted from the bass."""

    key: int
    string: int = 0

    def __post_init__(self) -> None:
        if self.key not in KEYS or not 0 <= self.string <= 4:
            raise ValueError(f"key {self.key}, string {self.string}: keys are 1 to 88, strings of a note 1 to 4")

    @property
    def note(self) -> str:
        """Name of the note, such as ``C#4``."""
        return key_name(self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Miss:
    """One reading that is not within the standard.

    Attributes
    ----------
    value : float
        What was read, in the unit of the standard.
    way : str
        ``below``, ``above`` or ``uneven``.
    limit : float
        The limit that it passed; for ``uneven`` the middle of its neighbours.
    by : float
        How far it lies beyond the limit; for ``uneven`` beyond what is allowed from the middle.
    """

    place: Place
    value: float
    way: str
    limit: float
    by: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BeforeAfter:
    """One place before the work and after; None where it was not measured."""

    place: Place
    before: float | None
    after: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """One standard and how the finished piano meets it.

    Attributes
    ----------
    measured : int
        How many readings.
    misses : tuple of Miss
        By key; one reading may miss in more than one way.
    not_measured : tuple of Place
        Places that the standard asks for and nobody measured.
    beside : tuple of BeforeAfter
        Every place measured before or after, by key.
    """

    standard: HandoverRow
    measured: int
    misses: tuple[Miss, ...]
    not_measured: tuple[Place, ...]
    beside: tuple[BeforeAfter, ...]

    @property
    def result(self) -> str:
        """``missed`` if anything is; else ``not_in_full`` if anything was not measured; else ``within``."""
        if self.misses:
            return MISSED
        return NOT_IN_FULL if self.not_measured or not self.measured else WITHIN


Readings = Mapping[Place, float]


def check_handover(
    standards: Sequence[HandoverRow],
    after: Mapping[str, Readings],
    *,
    done: Collection[str],
    before: Mapping[str, Readings] | None = None,
    absent: Mapping[str, Collection[int]] | None = None,
) -> tuple[Checked, ...]:
    """Hold what was measured on the finished piano against the standard.

    Parameters
    ----------
    standards : sequence of HandoverRow
        Those for the kind of piano.
    after : mapping of standard to readings
        By the standard's id: the value at each place, in the standard's unit.
    done : collection of str
        Operations that were done; a standard that holds only after others is left out.
    before : mapping of standard to readings, optional
        The same, before the work.
    absent : mapping of standard to keys, optional
        Keys at which there is nothing to measure, such as those without a damper.

    Returns
    -------
    tuple of Checked
        One for each standard that holds, in the order of the table.

    Raises
    ------
    ValueError
        If readings name a standard that the table does not have, a value is not a number, or a place is not one of
        the standard's: each names the standard and the place.
    """
    before, absent = before or {}, absent or {}
    known = {row.id for row in standards}
    for name in (*after, *before, *absent):
        if name not in known:
            raise ValueError(f"'{name}' is not a standard for this kind of piano; write one of {', '.join(known)}")
    checked = []
    for row in standards:
        if row.after and not set(row.after) & set(done):
            continue
        there = sorted(k for k in KEYS if row.from_key <= k <= row.to_key and k not in absent.get(row.id, ()))
        now, then = after.get(row.id, {}), before.get(row.id, {})
        for readings in (now, then):
            _require_readings(row, readings)
        checked.append(
            Checked(
                standard=row,
                measured=len(now),
                misses=tuple(_misses(row, now)),
                not_measured=tuple(_not_measured(now, there)),
                beside=tuple(
                    BeforeAfter(place=place, before=then.get(place), after=now.get(place))
                    for place in sorted({*now, *then}, key=_along_the_keys)
                ),
            )
        )
    return tuple(checked)


def _along_the_keys(place: Place) -> tuple[int, int]:
    return place.key, place.string


def _require_readings(row: HandoverRow, readings: Readings) -> None:
    for place, value in readings.items():
        where = f"{row.id} at {place.note}"
        if not math.isfinite(value):
            raise ValueError(f"{where}: {value} is not a reading; write a number, or leave it out")
        if (place.string > 0) != (row.taken == "pin"):
            raise ValueError(f"{where}: it is taken once for each {row.taken}; {_WHICH[row.taken]}")


_WHICH = {"pin": "say which string, from 1", "note": "leave the string at 0"}


def _misses(row: HandoverRow, readings: Readings):
    places = sorted(readings, key=_along_the_keys)
    values = [readings[place] for place in places]
    for i, (place, value) in enumerate(zip(places, values, strict=True)):
        if row.low is not None and value < row.low:
            yield Miss(place=place, value=value, way=BELOW, limit=row.low, by=row.low - value)
        if row.high is not None and value > row.high:
            yield Miss(place=place, value=value, way=ABOVE, limit=row.high, by=value - row.high)
        near = values[max(i - NEIGHBOURS, 0) : i] + values[i + 1 : i + 1 + NEIGHBOURS]
        if row.even_within is not None and near:
            middle = median(near)
            off = abs(value - middle) - row.even_within
            if off > 0:
                yield Miss(place=place, value=value, way=UNEVEN, limit=middle, by=off)


def _not_measured(readings: Readings, there: list[int]) -> list[Place]:
    """Return the keys that nothing was measured at; one pin is enough for a key."""
    measured = {place.key for place in readings}
    return [Place(key=key) for key in there if key not in measured]
