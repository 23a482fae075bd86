"""Which key was really played: always asked, for a named key that is wrong gives a good fit to a wrong answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.measure.sound.keys import KEYS, standard_hz, usual_inharmonicity
from valuation.measure.sound.spectrum import Peaks, find_peaks

SHORT_FROM_KEY = 61
"""From A5 up a note is over so soon that only a short stretch of it is looked at."""

_LONG_S, _SHORT_S = 1.0, 0.25
_STEP_CENTS = 5.0
_FLATTEST_CENTS, _SHARPEST_CENTS = -350.0, 150.0
_STIFFNESS = 2.0 ** np.arange(-2.0, 2.1, 0.5)
_STIFFNESS_HIGH = 2.0 ** np.arange(-1.25, 1.3, 0.25)
_PEAKS = 40
_PARTIALS = 16
_MISSING_BELOW_HZ = 250.0
_NEAR_CENTS, _NEAR_CENTS_HIGH = 8.0, 20.0
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
        return 49 + 12 * np.log2(self.f1_hz / 440)


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
    for low, high, seconds in ((KEYS[0], SHORT_FROM_KEY - 1, _LONG_S), (SHORT_FROM_KEY, KEYS[-1], _SHORT_S)):
        peaks = find_peaks(samples[: int(seconds * rate)], rate).strongest(_PEAKS)
        if not len(peaks.hz):
            continue
        bottom = low + _FLATTEST_CENTS / 100 if low == KEYS[0] else low
        top = high + _SHARPEST_CENTS / 100 if high == KEYS[-1] else high + 1
        place = np.arange(bottom, top, _STEP_CENTS / 100)
        stiffness, near = (_STIFFNESS, _NEAR_CENTS) if low == KEYS[0] else (_STIFFNESS_HIGH, _NEAR_CENTS_HIGH)
        for guess in _score(place, stiffness, near, peaks):
            key = round(guess.semitones)
            if key not in guesses or guess.score > guesses[key].score:
                guesses[key] = guess
    return sorted(guesses.values(), key=lambda guess: -guess.score)


def _score(place: np.ndarray, factors: np.ndarray, near_cents: float, peaks: Peaks) -> list[Guess]:
    """Return the best guess at each place: a search over place and stiffness."""
    stiffness = usual_inharmonicity(place)[:, None] * factors
    f1 = np.broadcast_to(standard_hz(place)[:, None], stiffness.shape)
    f0 = f1 / np.sqrt(1 + stiffness)
    strength = 10 ** (peaks.level_db / 20)
    strength = strength / strength.sum()

    ratio = np.square(peaks.hz / f0[..., None])
    b = stiffness[..., None]
    number = np.rint(np.sqrt((np.sqrt(1 + 4 * b * ratio) - 1) / (2 * b)))
    number = np.clip(number, 1, None)
    predicted = number * f0[..., None] * np.sqrt(1 + b * number**2)
    # Half a step of the grid in pitch, half a step in stiffness, and never nearer to the next partial than to this one.
    near = np.minimum(near_cents + 0.09 * _CENTS * b * number**2, 0.2 * _CENTS / number)
    hit = np.abs(np.log2(peaks.hz / predicted)) * 1200 < near
    precision = np.where(hit, strength, 0).sum(axis=-1)

    n = np.arange(1, _PARTIALS + 1)
    there = np.stack([np.any(hit & (number == k), axis=-1) for k in n], axis=-1)
    f_n = n * f0[..., None] * np.sqrt(1 + b * n**2)
    expected = f_n <= peaks.hz[-1] * 1.02
    heard = np.cumsum(there, axis=-1) > 0
    expected &= heard | (f_n > _MISSING_BELOW_HZ)
    weight = expected / np.sqrt(n)
    recall = (there * weight).sum(axis=-1) / np.maximum(weight.sum(axis=-1), 1e-9)
    score = precision * recall
    best = np.argmax(score, axis=1)
    rows = np.arange(len(place))
    return [
        Guess(float(f), float(s), float(v))
        for f, s, v in zip(f1[:, 0], stiffness[rows, best], score[rows, best], strict=True)
    ]
