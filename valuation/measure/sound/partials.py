"""Finding the partials of one note, given roughly which string sounds."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from valuation.measure.keys import usual_inharmonicity
from valuation.measure.sound.spectrum import Peaks, find_peaks
from valuation.measure.sound.stiff_string import StringFit, fit_string
from valuation.measure.sound.which_key import SHORT_FROM_KEY, Guess

FEW_PARTIALS_FROM_KEY = 76
"""From C7 up two partials are enough, for there are no more; below, three."""

_HIGHEST_HZ = 12000.0
_MOST_PARTIALS = 40
_LONGEST_S, _SHORTEST_S = 2.0, 0.3
_FIRST_PARTIALS = 12
_SEARCH_PEAKS = 100
_SEARCH_STEP_CENTS = 5.0
_RIVAL_DB = 12.0
_LONGEST_GAP = 4
_STRAY_PEAKS, _STRAY_LEAST = 40, 0.03
_UNISON_CENTS = 60.0
_CENTS = 1200 / np.log(2)


@dataclass(frozen=True, slots=True, eq=False)
class Partials:
    """Partials found, and the string fitted to them.

    Attributes
    ----------
    fit : StringFit
        The string.
    first_hz, first_cents_se : float or None
        Partial 1 as measured [Hz] and its standard error [cents]; None where it is missing.
    """

    fit: StringFit
    first_hz: float | None
    first_cents_se: float | None


def stretch_s(key: int) -> tuple[float, float]:
    """Return from when after the strike, and for how long, the pitch of a key is read [s].

    Past the knock of the hammer, and as long as the note stays clear: 2.0 s at A0, 0.3 s at C8.
    """
    length = _LONGEST_S * (_SHORTEST_S / _LONGEST_S) ** ((key - 1) / 87)
    return (0.06 if key <= 60 else 0.025), length


def find_partials(samples: np.ndarray, rate: int, guess: Guess) -> Partials | None:
    """Return the partials of the string guessed at, or None if fewer than two are found.

    Parameters
    ----------
    samples : numpy.ndarray, shape (n,)
        The stretch to read; see `stretch_s`.
    rate : int
        Samples per second [Hz].
    guess : Guess
        Pitch within about 10 cents, inharmonicity within a fifth.

    Returns
    -------
    Partials or None
        The fit is made on the lowest partials first, then on twice as many, then on all, so that each partial is
        looked for where those below it say.
    """
    peaks = find_peaks(samples, rate)
    highest = min(max(_HIGHEST_HZ, 3.5 * guess.f1_hz), 0.46 * rate)
    if not len(peaks.hz) or guess.f1_hz >= highest:
        return None
    f0, b = _search(guess, peaks, highest)
    for most in (_FIRST_PARTIALS, 2 * _FIRST_PARTIALS, _MOST_PARTIALS):
        n = np.arange(1, most + 1)
        expected = n * f0 * np.sqrt(1 + b * n**2)
        n, expected = n[expected < highest], expected[expected < highest]
        n, hz, se = _match(n, expected, np.minimum(near_cents(guess), 0.25 * _CENTS / n), peaks)
        if len(n) < 2:
            return None
        fit = _fit_without_strays(n, hz, se)
        if fit.inharmonicity <= 0:
            return None
        f0, b = fit.f0_hz, fit.inharmonicity
    if n[0] != 1:
        return Partials(fit, None, None)
    return Partials(fit, float(hz[0]), float(_CENTS * se[0] / hz[0]))


def near_cents(guess: Guess) -> float:
    """Return how far from its place a peak still counts as the partial [cents]: in the treble unisons split widely."""
    return 10.0 if guess.semitones < SHORT_FROM_KEY else 20.0


def _search(guess: Guess, peaks: Peaks, highest: float) -> tuple[float, float]:
    """Return F0 [Hz] and B that gather the strongest peaks near the first partials: a fine grid about the guess."""
    n = np.arange(1, _FIRST_PARTIALS + 1)
    n = n[n * guess.f1_hz < highest]
    usual = usual_inharmonicity(guess.semitones)
    if guess.semitones < SHORT_FROM_KEY:
        centre, reach = guess.inharmonicity, np.log(1.5)
    else:
        centre, reach = usual, np.log(2.4)
    step = _SEARCH_STEP_CENTS / (
        _CENTS / 2 * n[-1] ** 2 * centre
    )  # so far the highest partial moves from one b to the next
    b = centre * np.exp(np.linspace(-reach, reach, int(np.clip(2 * reach / step, 8, 80)) + 1))
    f1 = guess.f1_hz * np.exp(np.arange(-12, 13, 3) / _CENTS)
    f0 = f1[:, None] / np.sqrt(1 + b)
    log_expected = np.log(n * f0[..., None] * np.sqrt(1 + b[:, None] * n**2))
    strong = peaks.strongest(_SEARCH_PEAKS)
    away = (np.log(strong.hz) - log_expected[..., None]) * _CENTS / (0.6 * near_cents(guess))
    gathered = ((strong.above_floor_db - 10) * np.exp(-(away**2) / 2)).max(axis=-1).sum(axis=-1)
    gathered = gathered - 4 * np.log2(b / usual) ** 2  # only where the peaks leave it open
    i, j = np.unravel_index(np.argmax(gathered), gathered.shape)
    return float(f0[i, j]), float(b[j])


def _match(n: np.ndarray, expected: np.ndarray, near_cents: np.ndarray, peaks: Peaks) -> tuple[np.ndarray, ...]:
    """Return numbers, frequencies and standard errors of the strongest peak near each expected partial."""
    away = np.abs(np.log2(peaks.hz / expected[:, None])) * 1200
    level = np.where(away < np.reshape(near_cents, (-1, 1)), peaks.level_db, -np.inf)
    there = np.isfinite(level.max(axis=1, initial=-np.inf))
    there &= n < _end_of_row(n[there])
    level = level[there]
    if not there.any():
        return n[there], expected[there], expected[there]
    best = np.argmax(level, axis=1)
    # Strings of a unison apart, or one string with two ways to swing, give several peaks: none of them is the partial.
    rival = level > level.max(axis=1, keepdims=True) - _RIVAL_DB
    weight = np.where(rival, 10 ** (level / 10), 0)
    weight /= weight.sum(axis=1, keepdims=True)
    middle = weight @ peaks.hz
    split = np.sqrt(np.maximum(weight @ peaks.hz**2 - middle**2, 0))
    return n[there], peaks.hz[best], np.hypot(peaks.hz_se[best], split)


def _end_of_row(n: np.ndarray) -> float:
    """Return the number before which partials follow each other; after a gap it may be the next one that is met."""
    gaps = np.flatnonzero(np.diff(n) > _LONGEST_GAP)
    return n[gaps[0]] + 1 if len(gaps) else np.inf


def _fit_without_strays(n: np.ndarray, hz: np.ndarray, se: np.ndarray) -> StringFit:
    """Return the fit after leaving out, once, the partials that lie far from the first one."""
    fit = fit_string(n, hz, se)
    if len(n) < 5:
        return fit
    miss = _CENTS * np.log(hz / fit.partial_hz(n))
    away = np.abs(miss - np.median(miss))
    keep = away <= max(3 * 1.4826 * np.median(away), 0.5)
    return fit_string(n[keep], hz[keep], se[keep])


def stray_share(samples: np.ndarray, rate: int, fit: StringFit, near: float) -> float:
    """Return the share of the strength that belongs to no partial of a string, nor to a string beside it [0-1].

    Parameters
    ----------
    samples : numpy.ndarray, shape (n,)
        Sound from just after the strike on.
    rate : int
        Samples per second [Hz].
    fit : StringFit
        The string.
    near : float
        So far from its place a peak still counts as a partial [cents].

    Returns
    -------
    float
        Of the strongest peaks. Those near an explained one are strings of the same unison, however far it has parted.
    """
    peaks = find_peaks(samples, rate).strongest(_STRAY_PEAKS)
    if not len(peaks.hz):
        return 0.0
    strength = 10 ** (peaks.level_db / 20)
    strong = strength >= _STRAY_LEAST * strength.max()
    hz, strength = peaks.hz[strong], strength[strong]
    squared = np.square(hz / fit.f0_hz)
    b = fit.inharmonicity
    number = np.maximum(np.rint(np.sqrt((np.sqrt(1 + 4 * b * squared) - 1) / (2 * b))), 1)
    away = np.abs(np.log(hz / fit.partial_hz(number))) * _CENTS
    explained = away < np.minimum(near, 0.25 * _CENTS / number)
    apart = np.abs(np.log(hz[:, None] / hz[explained])) * _CENTS
    beside = apart.min(axis=1, initial=np.inf) < _UNISON_CENTS
    return float(strength[~(explained | beside)].sum() / strength.sum())
