"""A dozen notes: how flat the piano is, how evenly it is tuned, and which strings are odd."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from valuation.language import later, say
from valuation.measure.keys import A4
from valuation.measure.sound.figures import NoteReading, Sustain, UnisonSpread
from valuation.measure.sound.refused import Refused
from valuation.measure.sound.stiffness_line import OddString, StiffnessLine, fit_stiffness, stretch_cents

FEWEST_NOTES = 3
MIDDLE_KEYS = range(25, 65)
"""A2 to C6: the notes that say how flat the piano is; beyond, stretch and few partials blur it."""
REPLAY_CENTS, REFUSE_CENTS = 60.0, 160.0
"""So far off the rest, a neighbouring key and a string badly out sound the same: play again; further off, leave out."""
STRETCH_CENTS_SE = 1.0
"""What the stretch of a tuning leaves open in the overall pitch [cents], one standard deviation; our estimate."""
REGISTERS = (
    (later("A0 to E2"), 1, 20),
    (later("F2 to E3"), 21, 32),
    (later("F3 to B4"), 33, 51),
    (later("C5 to C6"), 52, 64),
    (later("C#6 to C7"), 65, 76),
    (later("C#7 to C8"), 77, 88),
)
"""Name, lowest and highest key of the stretches of the keyboard that notes are put together by."""

_ODD_SPREADS = 3.5
_LEAST_ODD_CENTS = 5.0
_CURVE_FROM, _SLOPE_FROM = 8, 5


@dataclass(frozen=True, slots=True, kw_only=True)
class RegisterFigure:
    """One figure over the notes of a stretch of the keyboard.

    Attributes
    ----------
    name : str
        The stretch.
    middle, lowest, highest : float
        Median and range of the notes [cents of unison spread, or s of sustain].
    notes : int
        How many.
    """

    name: str
    middle: float
    lowest: float
    highest: float
    notes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class SetReading:
    """What several notes of one piano say together.

    Attributes
    ----------
    pitch_cents, pitch_se : float
        Overall pitch above A4 = 440 Hz and its standard error [cents]; negative is flat. May say how flat the piano
        is and that a pitch raise is needed; may not say that strings will break.
    evenness_cents : float
        Standard deviation of the notes about a smooth line, odd strings left out [cents].
    off_line : tuple of (int, float)
        Each note used and how far it lies off the line [key, cents].
    odd : tuple of OddString
        Single notes far off the line.
    play_again : tuple of OddString
        Notes 60 to 160 cents off the rest: a string far out, or a neighbouring key; not used until played again.
    left_out : tuple of OddString
        Notes further off: another key was played.
    stiffness : StiffnessLine or Refused
        Check of the strings against each other.
    unison : tuple of RegisterFigure
        Spread of unisons [cents].
    sustain : tuple of RegisterFigure
        Time to fall by 60 dB [s], from three notes up in a register. A figure to keep and to compare with this
        piano's own later ones, never a verdict on the board: what sound and dead boards read is not known.
    """

    pitch_cents: float
    pitch_se: float
    evenness_cents: float
    off_line: tuple[tuple[int, float], ...]
    odd: tuple[OddString, ...]
    play_again: tuple[OddString, ...]
    left_out: tuple[OddString, ...]
    stiffness: StiffnessLine | Refused
    unison: tuple[RegisterFigure, ...]
    sustain: tuple[RegisterFigure, ...]


def analyse_set(readings: Sequence[NoteReading], *, odd_cents: float = _LEAST_ODD_CENTS) -> SetReading:
    """Return what about a dozen notes of one piano say together.

    Parameters
    ----------
    readings : sequence of NoteReading
        One a note, in any order, each with its key named; the same note twice counts twice.
    odd_cents : float
        A note nearer to the smooth line than this is never called odd [cents].

    Returns
    -------
    SetReading
        With standard errors that grow where notes are few or scatter.

    Raises
    ------
    Refused
        If fewer than three notes are left once wrong keys are taken out.

    Notes
    -----
    A tuned piano is stretched by its inharmonicity. So the stretch that follows from it (fourth partials on second
    partials, octave by octave) is taken off first, and what is left is the overall pitch and a line as smooth as the
    number of notes allows. Good notes to record: A1 E2 A2 E3 A3 C4 A4 C5 E5 A5 C6 A6.

    Examples
    --------
    >>> analyse_set([])
    Traceback (most recent call last):
        ...
    valuation.measure.sound.refused.Refused: the notes: No note was read.
    """
    if not readings:
        raise Refused("too few", say("No note was read."), say("the notes"))
    stiffness = fit_stiffness(readings)
    keys = np.array([reading.key for reading in readings])
    level = np.array([reading.cents for reading in readings]) - stretch_cents(keys, stiffness)
    used, again, out = _sort_out(keys, level)
    if used.sum() < FEWEST_NOTES:
        sentence = say("{count} notes agree on a pitch; it takes {need}.", count=int(used.sum()), need=FEWEST_NOTES)
        raise Refused("too few", sentence, say("the notes"))
    error = np.array([reading.cents_se for reading in readings])
    off, odd = _off_line(keys[used], level[used], error[used], odd_cents)
    even = float(np.sqrt(np.sum(off[~odd] ** 2) / max(np.sum(~odd) - _freedom_lost(used.sum()), 1)))
    pitch = _overall_pitch(keys[used], level[used])
    middle = level[used][_in_middle(keys[used])]
    se = np.hypot(1.25 * max(float(np.std(middle, ddof=1)), 0.1) / np.sqrt(len(middle)), STRETCH_CENTS_SE)
    kept = [reading for reading, keep in zip(readings, used, strict=True) if keep]
    return SetReading(
        pitch_cents=pitch,
        pitch_se=float(se),
        evenness_cents=even,
        off_line=tuple(zip(keys[used].tolist(), off.tolist(), strict=True)),
        odd=tuple(OddString(key=int(k), off=float(o)) for k, o in zip(keys[used][odd], off[odd], strict=True)),
        play_again=tuple(
            OddString(key=int(k), off=float(d)) for k, d in zip(keys[again], level[again] - pitch, strict=True)
        ),
        left_out=tuple(OddString(key=int(k), off=float(d)) for k, d in zip(keys[out], level[out] - pitch, strict=True)),
        stiffness=stiffness,
        unison=_by_register([(r.key, r.unison.cents) for r in kept if isinstance(r.unison, UnisonSpread)], 1),
        sustain=_by_register([(r.key, r.sustain.t60_s) for r in kept if isinstance(r.sustain, Sustain)], FEWEST_NOTES),
    )


def _sort_out(keys: np.ndarray, level: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return which notes to use, which to ask for again and which to leave out."""
    away = np.abs(level - _overall_pitch(keys, level))
    return away < REPLAY_CENTS, (away >= REPLAY_CENTS) & (away < REFUSE_CENTS), away >= REFUSE_CENTS


def _overall_pitch(keys: np.ndarray, level: np.ndarray) -> float:
    return float(np.median(level[_in_middle(keys)]))


def _in_middle(keys: np.ndarray) -> np.ndarray:
    """Return which notes count for the overall pitch: those in the middle, or all where these are too few."""
    middle = (keys >= MIDDLE_KEYS[0]) & (keys <= MIDDLE_KEYS[-1])
    return middle if middle.sum() >= FEWEST_NOTES else np.ones(len(keys), bool)


def _freedom_lost(notes: int) -> int:
    return 3 if notes >= _CURVE_FROM else 2 if notes >= _SLOPE_FROM else 1


def _robust_line(keys: np.ndarray, values: np.ndarray, degree: int, scale: float) -> np.ndarray:
    """Return the coefficients of the smooth line through most of the points, lowest power first."""
    powers = np.vander((keys - A4) / 24, degree + 1, increasing=True)
    start = np.zeros(degree + 1)
    start[0] = np.median(values)
    return optimize.least_squares(lambda c: powers @ c - values, start, loss="cauchy", f_scale=scale).x


def _off_line(
    keys: np.ndarray, level: np.ndarray, error: np.ndarray, odd_cents: float
) -> tuple[np.ndarray, np.ndarray]:
    """Return how far each note lies off the smooth line [cents], and which are odd."""
    degree = _freedom_lost(len(keys)) - 1
    scale = max(1.4826 * np.median(np.abs(level - np.median(level))), 1.0)
    odd = np.zeros(len(keys), bool)
    for _ in range(2):  # once roughly, then without the odd ones
        line = _robust_line(keys[~odd], level[~odd], degree, scale)
        off = level - np.vander((keys - A4) / 24, degree + 1, increasing=True) @ line
        scale = max(1.4826 * float(np.median(np.abs(off))), 0.5)
        odd = np.abs(off) > np.maximum(odd_cents, _ODD_SPREADS * np.hypot(scale, error))
    return off, odd


def _by_register(figures: list[tuple[int, float]], fewest: int) -> tuple[RegisterFigure, ...]:
    """Return median and range by register, where there are enough notes."""
    rows = []
    for name, low, high in REGISTERS:
        values = [value for key, value in figures if low <= key <= high]
        if len(values) >= fewest:
            rows.append(
                RegisterFigure(
                    name=name,
                    middle=float(np.median(values)),
                    lowest=min(values),
                    highest=max(values),
                    notes=len(values),
                )
            )
    return tuple(rows)
