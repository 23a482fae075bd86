"""How far the strings of a unison are apart, from the beats of the partials."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import linalg

from valuation.measure.sound.bands import Bands

LEAST_SOUND_S = 1.0
"""A beat must be given time to show."""
LEAST_SUPPORT = 2
"""A spread counts only if so many partials agree on it, each in proportion to its number."""

_FROM_S, _TO_S = 0.06, 5.0
_MODES = 4
_WEAKEST_DB = -20.0
_AGREE = 0.12
_REACH = 0.3
_FASTEST, _GROWING = 0.5, 1.01
_FINEST_SHARE = 0.01
_SHARE_OF_PARTIALS = 0.45
_ABOVE_NOISE_DB = 10.0
_MOST_PARTIALS = 12
_FEWEST_SAMPLES = 24


@dataclass(frozen=True, slots=True)
class Beat:
    """A spread that partials agree on.

    Attributes
    ----------
    hz : float
        Widest distance of two strings at partial 1 [Hz]; 0 where the partials agree on none.
    hz_se : float
        Standard error, from how far the partials agree [Hz].
    """

    hz: float
    hz_se: float


def find_beat(bands: Bands, ratios: np.ndarray) -> Beat | None:
    """Return the widest spread on which the partials of a note agree.

    Parameters
    ----------
    bands : Bands
        One signal a partial.
    ratios : numpy.ndarray, shape (n_partials,)
        Frequency of each over that of partial 1 [-].

    Returns
    -------
    Beat or None
        None where fewer than two partials last long enough above the noise.

    Notes
    -----
    Each signal is taken as a few steady tones that fall exponentially (ESPRIT). Two strings that are apart by so many
    hertz at partial 1 are n times as far apart at partial n; distances that don't follow that are not a unison.

    References
    ----------
    Roy, R., Kailath, T., "ESPRIT: estimation of signal parameters via rotational invariance techniques", IEEE Trans.
    Acoust. Speech Signal Process. 37 (1989) 984.
    """
    rates, owners, widest = [], [], []
    for place, (ratio, signal) in enumerate(zip(ratios[:_MOST_PARTIALS], bands.signals, strict=False)):
        stretch = _clear_stretch(signal, bands)
        if len(stretch) < _FEWEST_SAMPLES:
            continue
        widest.append(_REACH * bands.rate / ratio)
        for apart in _distances(stretch, bands.rate):
            rates.append(apart / ratio)
            owners.append(place)
    if len(widest) < LEAST_SUPPORT:
        return None
    order = np.argsort(rates)[::-1]
    by_rate, of_partial = np.array(rates)[order], np.array(owners)[order]
    for rate in by_rate:
        near = np.abs(by_rate / rate - 1) < _AGREE
        support = len(set(of_partial[near]))
        if support >= max(LEAST_SUPPORT, _SHARE_OF_PARTIALS * np.sum(np.array(widest) > rate)):
            scatter = np.std(by_rate[near]) + _FINEST_SHARE * rate
            return Beat(float(np.median(by_rate[near])), float(scatter / np.sqrt(support)))
    return Beat(0.0, 0.0)


def _clear_stretch(signal: np.ndarray, bands: Bands) -> np.ndarray:
    """Return the part of a signal from just after the strike until it sinks towards the noise."""
    t = bands.seconds
    power = np.abs(signal) ** 2
    lead = power[t < -0.05]
    noise = np.mean(lead[len(lead) // 4 :]) if len(lead) >= 8 else np.percentile(power[t > 0], 2)
    window = (t >= _FROM_S) & (t <= _TO_S)
    width = max(int(0.15 * bands.rate), 1)
    smooth = np.convolve(power[window], np.ones(width) / width, "same")
    low = np.flatnonzero(smooth < noise * 10 ** (_ABOVE_NOISE_DB / 10))
    return signal[window][: low[0] if len(low) else None]


def _distances(signal: np.ndarray, rate: float) -> list[float]:
    """Return the distances [Hz] between the tones that one signal is made of."""
    rows = len(signal) // 3
    hankel = np.lib.stride_tricks.sliding_window_view(signal, rows).T
    _, space = linalg.eigh(hankel @ hankel.conj().T, subset_by_index=[rows - _MODES, rows - 1])
    poles = np.linalg.eigvals(np.linalg.lstsq(space[:-1], space[1:], rcond=None)[0])
    poles = poles[(np.abs(poles) > _FASTEST) & (np.abs(poles) < _GROWING)]  # a string neither grows nor stops dead
    hz = np.angle(poles) * rate / (2 * np.pi)
    powers = poles ** np.arange(len(signal))[:, None]
    size = np.abs(np.linalg.lstsq(powers, signal, rcond=None)[0])
    fall = -np.log(np.abs(poles)) * rate
    loud = size**2 / np.maximum(fall, 0.2)
    hz = hz[loud > loud.max(initial=0.0) * 10 ** (_WEAKEST_DB / 10)]
    return [abs(a - b) for i, a in enumerate(hz) for b in hz[:i]]
