"""Which key was really played: always asked, for a named key that is wrong gives a good fit to a wrong answer."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from valuation.facts.keys import KEYS
from valuation.measure.keys import A4, STANDARD_A4_HZ, standard_hz, usual_inharmonicity
from valuation.measure.sound.spectrum import Peaks, find_peaks

SHORT_FROM_KEY = 61
"""From A5 up a note is over so soon that only a short stretch of it is looked at."""

_STEP = 0.05
_LOWEST, _HIGHEST = KEYS[0] - 3.5, KEYS[-1] + 1.5
_PEAKS = 40
_PARTIALS = 16
_HALF_STEP = np.log(2) / 6
_MISSING_BELOW_HZ = 250.0
_CENTS = 1200 / np.log(2)


@dataclass(frozen=True, slots=True)
class Guess:
    """What sounds, without being told.

    Attributes
    ----------
    f1_hz : float
        Partial 1, to about 10 cents [Hz].
    inharmonicity : float
        Rough [-].
    score : float
        How well a string at this pitch explains the peaks, and they it [0-1].
    """

    f1_hz: float
    inharmonicity: float
    score: float

    @property
    def semitones(self) -> float:
        """Place on the keyboard, in keys and fractions, on standard pitch."""
        return A4 + 12 * math.log2(self.f1_hz / STANDARD_A4_HZ)


def guess_pitch(samples: np.ndarray, rate: int) -> list[Guess]:
    """Return the best pitch on each semitone of the keyboard, best first.

    Parameters
    ----------
    samples : numpy.ndarray, shape (n,)
        Sound from just after the strike on.
    rate : int
        Samples per second [Hz].

    Returns
    -------
    list of Guess
        At most one in each stretch of 100 cents. Empty if no peak stands out.

    Notes
    -----
    The score of a pitch is the product of two shares: of the peaks' strength that partials of this pitch explain
    (a pitch an octave high explains half), and of the partials expected that are there (of a pitch an octave low
    every other one is missing). Lowest partials may be missing, as a small microphone does not hear them.
    """
    guesses: dict[int, Guess] = {}
    for search in _SEARCHES:
        peaks = find_peaks(samples[: int(search.seconds * rate)], rate).strongest(_PEAKS)
        if not len(peaks.hz):
            continue
        for guess in _score(search, peaks):
            key = round(guess.semitones)
            if key not in guesses or guess.score > guesses[key].score:
                guesses[key] = guess
    return sorted(guesses.values(), key=lambda guess: -guess.score)


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """How one part of the keyboard is searched: its places, the stretch of sound, how far off a peak may be."""

    places: np.ndarray
    seconds: float
    near_cents: float
    stiffness: np.ndarray  # as factors of what is usual


_SEARCHES = (
    _Search(np.arange(_LOWEST, SHORT_FROM_KEY, _STEP), 1.0, 8.0, 2.0 ** (np.arange(-6, 7) / 3)),
    # Unisons of the treble split a partial into several peaks, and its stiffness varies less from piano to piano.
    _Search(np.arange(SHORT_FROM_KEY, _HIGHEST, _STEP), 0.3, 15.0, 2.0 ** (np.arange(-4, 5) / 3)),
)


def _score(search: _Search, peaks: Peaks) -> list[Guess]:
    """Return the best guess at each place."""
    b = usual_inharmonicity(search.places)[:, None] * search.stiffness
    f1 = standard_hz(search.places)
    f0 = f1[:, None] / np.sqrt(1 + b)
    number, hit = _explain(f0[..., None], b[..., None], peaks.hz, search.near_cents)
    strength = 10 ** (peaks.level_db / 20)
    precision = hit @ (strength / strength.sum())

    n = np.arange(1, _PARTIALS + 1)
    there = np.stack([np.any(hit & (number == k), axis=-1) for k in n], axis=-1)
    hz = n * f0[..., None] * np.sqrt(1 + b[..., None] * n**2)
    begun = (np.cumsum(there, axis=-1) > 0) | (hz > _MISSING_BELOW_HZ)
    weight = (begun & (hz <= 1.02 * peaks.hz[-1])) / np.sqrt(n)
    recall = (there * weight).sum(axis=-1) / np.maximum(weight.sum(axis=-1), 1e-9)
    score = precision * recall
    best = np.argmax(score, axis=1)
    rows = np.arange(len(f1))
    return list(map(Guess, f1.tolist(), b[rows, best].tolist(), score[rows, best].tolist()))


def _explain(f0: np.ndarray, b: np.ndarray, hz: np.ndarray, near_cents: float) -> tuple[np.ndarray, np.ndarray]:
    """Return the number of the partial next to each peak, and whether the peak is near enough to be it."""
    squared = np.square(hz / f0)
    number = np.maximum(np.rint(np.sqrt((np.sqrt(1 + 4 * b * squared) - 1) / (2 * b))), 1)
    away = np.abs(np.log(hz / (number * f0 * np.sqrt(1 + b * number**2)))) * _CENTS
    # Room for half a step in stiffness, but never nearer to the next partial than to this one.
    return number, away < np.minimum(near_cents + _HALF_STEP * _CENTS / 2 * b * number**2, 0.2 * _CENTS / number)
