"""Each partial of a note on its own, as a slow complex signal, cut from one spectrum of the whole recording."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

WIDEST_HZ = 40.0
_SHARE_OF_SPACING = 0.4
_QUIET_END_S = 0.25


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """Partials cut out of a recording.

    Attributes
    ----------
    signals : numpy.ndarray of complex, shape (n_partials, n_times)
        Each partial moved to zero frequency; the size is half the amplitude of the partial.
    rate : float
        Samples per second of the signals [Hz].
    start_s : float
        Time of the first sample [s], counted from the strike.
    """

    signals: np.ndarray
    rate: float
    start_s: float

    @property
    def seconds(self) -> np.ndarray:
        """Times of the samples, counted from the strike [s], shape (n_times,)."""
        return self.start_s + np.arange(self.signals.shape[1]) / self.rate


def cut_bands(samples: np.ndarray, rate: int, onset_s: float, partials_hz: np.ndarray, spacing_hz: float) -> Bands:
    """Return the stretch of spectrum about each partial as a signal in time.

    Parameters
    ----------
    samples : numpy.ndarray, shape (n,)
        The whole recording.
    rate : int
        Samples per second [Hz].
    onset_s : float
        Time of the strike [s].
    partials_hz : numpy.ndarray, shape (n_partials,)
        Centres [Hz].
    spacing_hz : float
        Distance between partials [Hz]; a band reaches 0.4 of it to either side, and 40 Hz at most.

    Returns
    -------
    Bands
        With edges rounded by a raised cosine, so that a strike does not ring before itself for long.
    """
    # Quiet after the end, for a spectrum knows no end: the last moment would run into the first.
    size = fft.next_fast_len(len(samples) + int(_QUIET_END_S * rate), real=True)
    spectrum = fft.rfft(samples, size)
    step = rate / size
    half = int(min(_SHARE_OF_SPACING * spacing_hz, WIDEST_HZ) / step)
    around = np.arange(-half, half)
    taper = 0.5 * (1 + np.cos(np.pi * around / half))
    centre = np.rint(partials_hz / step).astype(int)
    # A partial close to either end of the spectrum has a band that reaches over it; there is nothing there.
    padded = np.concatenate([np.zeros(half), spectrum, np.zeros(half)])
    cut = padded[centre[:, None] + half + around] * taper
    signals = fft.ifft(fft.ifftshift(cut, axes=1), axis=1) * (2 * half / size)
    slow_rate = 2 * half * step
    keep = int(len(samples) / rate * slow_rate)
    return Bands(signals[:, :keep], slow_rate, -onset_s)
