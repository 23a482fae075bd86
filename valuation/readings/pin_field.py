"""The tuning pins as they lie on the field: which are loose, whether they stand in rows, which to read again.

Blocks fail in lines and places, so where the loose pins are says more than how many there are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

import numpy as np

from valuation.engine.rows import SEVERITIES, Tables
from valuation.facts.keys import key_name
from valuation.facts.visit import Reading
from valuation.language import say, say_many
from valuation.measure.pin_runs import LooseRun, loose_runs
from valuation.readings.grade import row_of
from valuation.readings.pins import TORQUE, loose_below
from valuation.report.format import measure, of_100
from valuation.report.labels import listed

PATTERN = "pin_pattern"
NONE, PAIR, RUN, LINE = SEVERITIES
"""What a field may show, as the severities of the check that asks for it: no row, two, three to five, six and more."""

_LONGEST = {PAIR: 2, RUN: 3, LINE: 6}

BEYOND_CHANCE = 0.05
"""What comes up less often than this by luck alone is told as more than luck [-]."""

_SEED = 0
_ROWS_TOLD, _LEAST_ROW = 3, 3
_FAR, _ENOUGH = 3.0, 5
"""So many times above or below the middle one a reading is to be looked at again, where there are enough of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PinField:
    """What the places of the pins tried say.

    Attributes
    ----------
    loose : tuple of Reading
        In the order of the readings.
    runs : tuple of LooseRun
        Rows of loose pins worth telling, the longest first.
    says : tuple of str
        One sentence each.
    read_again : tuple of Reading
        Far from all others: a digit may have been lost.
    pattern : str
        Severity of `pin_pattern` that the readings speak for; empty where they can't tell.
    because : str
        Why; empty where there is no pattern.
    """

    loose: tuple[Reading, ...]
    runs: tuple[LooseRun, ...]
    says: tuple[str, ...]
    read_again: tuple[Reading, ...]
    pattern: str
    because: str


def look_at_field(readings: Sequence[Reading], tables: Tables, kind: str, system: str = "metric") -> PinField:
    """Return what the places of the pins tried say.

    Parameters
    ----------
    readings : sequence of Reading
        Torque of each pin tried, in N.m; its place where it is told.
    tables : Tables
        The shop's tables: from where on a pin is loose.
    kind : str
        ``upright`` or ``grand``.
    system : str
        Units shown: ``metric`` or ``imperial``.

    Returns
    -------
    PinField
        Nothing is loose where the tables don't ask for the torque, or have no cut point for severe.
    """
    again = _far_from_the_others(readings)
    torque = row_of(tables, kind, TORQUE)
    limit = None if torque is None else loose_below(torque)
    if torque is None or limit is None or not readings:
        return PinField(loose=(), runs=(), says=(), read_again=again, pattern="", because="")
    loose = tuple(reading for reading in readings if reading.value < limit)
    placed = {(r.key, r.string): r.value < limit for r in readings if r.key}
    runs = loose_runs(placed, rng=np.random.default_rng(_SEED))
    pattern, because = _pattern(loose, runs, measure(limit, torque.unit, system))
    told = [run for run in runs if len(run.pins) >= _LEAST_ROW or run.chance <= BEYOND_CHANCE][:_ROWS_TOLD]
    return PinField(
        loose=loose,
        runs=tuple(told),
        says=(*_rows_in_words(told, runs, sum(placed.values()), len(placed)), *_no_place(readings, loose)),
        read_again=again,
        pattern=pattern,
        because=because,
    )


def pin_words(reading: Reading) -> str:
    """Return where a pin is: its key and string, else its section.

    Examples
    --------
    >>> pin_words(Reading(value=3.0, key=49, string=2)), pin_words(Reading(value=3.0, section="bass"))
    ('key 49 (A4), string 2', 'bass, place not told')
    """
    if not reading.key:
        return (
            say("{section}, place not told", section=say(reading.section)) if reading.section else say("place not told")
        )
    if not reading.string:
        return say("key {key} ({name})", key=reading.key, name=key_name(reading.key))
    return say(
        "key {key} ({name}), string {string}", key=reading.key, name=key_name(reading.key), string=reading.string
    )


def pins_in_words(readings: Sequence[Reading], unit: str, system: str = "metric") -> str:
    """Return where pins are and what they read, those of one place together.

    Examples
    --------
    >>> pins_in_words([Reading(value=3.0, section="bass"), Reading(value=2.5, section="bass")], "N.m")
    'bass, place not told: 3 N·m, 2.5 N·m'
    """
    torque: dict[str, list[str]] = {}
    for reading in readings:
        torque.setdefault(pin_words(reading), []).append(measure(reading.value, unit, system))
    return "; ".join(say("{where}: {torque}", where=where, torque=listed(told)) for where, told in torque.items())


def row_words(run: LooseRun) -> str:
    """Return where a row of loose pins stands."""
    (first, _), (last, _) = run.pins[0], run.pins[-1]
    if first == last:
        return say("key {key}", key=first)
    if run.string:
        return say("keys {first} to {last}, string {string} of each", first=first, last=last, string=run.string)
    return say("keys {first} to {last}", first=first, last=last)


def _rows_in_words(told: Sequence[LooseRun], runs: Sequence[LooseRun], bad: int, tried: int) -> Iterator[str]:
    for run in told:
        yield say(
            "{count} loose pins in a row, {where}, and no firm one tried between them. If the {bad} loose ones lay "
            "anywhere among the {tried} tried, so long a row would come up in {chance}.",
            count=len(run.pins), where=row_words(run), bad=bad, tried=tried, chance=of_100(run.chance),
        )  # fmt: skip
    if runs and not told:
        yield say("Some loose pins stand next to each other, as chance would have it.")
    if bad > 1 and not runs:
        yield say("No two loose pins of those tried stand next to each other.")


def _no_place(readings: Sequence[Reading], loose: Sequence[Reading]) -> Iterator[str]:
    nowhere = sum(not reading.key for reading in loose)
    if nowhere:
        yield say_many(
            "{count} loose pin has no place, so it can't be seen whether it stands in a row with others: enter it pin "
            "by pin, or with its place, such as 49.2: 31.",
            "{count} loose pins have no place, so it can't be seen whether they stand in a row: enter them pin by pin, "
            "or with their places, such as 49.2: 31.",
            nowhere,
        )
    elif not loose:
        yield say_many("The one pin tried is not loose.", "None of the {count} pins tried is loose.", len(readings))


def _pattern(loose: Sequence[Reading], runs: Sequence[LooseRun], limit: str) -> tuple[str, str]:
    """Return the severity of `pin_pattern` that the readings speak for, and why."""
    if not loose:
        return NONE, say("no pin tried is under {limit}", limit=limit)
    longest = max((run for run in runs if run.chance <= BEYOND_CHANCE), key=lambda run: len(run.pins), default=None)
    if longest is not None:
        severity = next(name for name in (LINE, RUN, PAIR) if len(longest.pins) >= _LONGEST[name])
        return severity, say(
            "{count} loose pins stand in a row, {where}", count=len(longest.pins), where=row_words(longest)
        )
    if all(reading.key for reading in loose):
        return NONE, say("they lie as chance would have it")
    return "", ""


def _far_from_the_others(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    if len(readings) < _ENOUGH:
        return ()
    middle = median(reading.value for reading in readings)
    return tuple(r for r in readings if not middle / _FAR <= r.value <= middle * _FAR)
