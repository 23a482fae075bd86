"""Peaks of a short-time spectrum: where they are, how sure, and how far they stand above the noise."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

ABOVE_FLOOR_DB = 14.0
"""A peak must stand this far above the local floor: at 9 dB noise peaks get in and pull the inharmonicity."""

_PADDING = 4
_FLOOR_WIDTH_HZ = 100.0
_HANN_RMS_WIDTH = 0.1414
"""Standard deviation of time under a squared Hann window, as a share of its length."""


@dataclass(frozen=True, slots=True, eq=False)
class Peaks:
    """Peaks of one spectrum, in rising order of frequency; all arrays of shape (n_peaks,).

    Attributes
    ----------
    hz : numpy.ndarray
        Frequency [Hz].
    hz_se : numpy.ndarray
        Standard error of the frequency from the noise beside the peak [Hz].
    level_db : numpy.ndarray
        Level of the peak [dB], re 1.
    above_floor_db : numpy.ndarray
        Level above the floor around it [dB].
    """

    hz: np.ndarray
    hz_se: np.ndarray
    level_db: np.ndarray
    above_floor_db: np.ndarray

    def strongest(self, count: int) -> Peaks:
        """Return the `count` highest peaks, still in order of frequency."""
        keep = np.sort(np.argsort(self.level_db)[-count:])
        return Peaks(self.hz[keep], self.hz_se[keep], self.level_db[keep], self.above_floor_db[keep])


def find_peaks(samples: np.ndarray, rate: int, *, lowest_hz: float = 20.0) -> Peaks:
    """Return the peaks of the Hann-windowed spectrum that stand clear of the noise.

    Parameters
    ----------
    samples : numpy.ndarray, shape (n,)
        The stretch of sound to look at.
    rate : int
        Samples per second [Hz].
    lowest_hz : float
        Peaks below are left out [Hz].

    Returns
    -------
    Peaks
        Places by a parabola through the logarithm of the three highest points; that is exact to a
        thousandth of the resolution for a tone that stays or falls exponentially.

    Notes
    -----
    The standard error is first-order: noise of the spectrum's slope at the peak over the peak's curvature.
    """
    n = len(samples)
    size = fft.next_fast_len(_PADDING * n, real=True)
    power = np.abs(fft.rfft(samples * np.hanning(n), size)) ** 2 + 1e-300
    step = rate / size
    log_power = np.log(power)
    floor = _floor(log_power, step)
    above = log_power - floor
    middle = log_power[1:-1]
    top = 1 + np.flatnonzero(
        (middle > log_power[:-2]) & (middle >= log_power[2:]) & (above[1:-1] > ABOVE_FLOOR_DB * np.log(10) / 10)
    )
    top = top[top * step >= lowest_hz]
    left, here, right = log_power[top - 1], log_power[top], log_power[top + 1]
    bend = np.maximum(2 * here - left - right, 1e-12)
    shift = 0.5 * (right - left) / bend
    curvature = bend / 2 / step**2  # of the log of the amplitude, which is half that of the power
    signal_to_noise = np.exp(above[top]) * np.log(2)  # the floor is a median; the mean of noise power is 1/ln 2 higher
    slope_noise = 2 * np.pi * _HANN_RMS_WIDTH * n / rate / np.sqrt(2 * signal_to_noise)
    decibels = 10 / np.log(10)
    return Peaks(
        hz=(top + shift) * step,
        hz_se=slope_noise / curvature,
        level_db=decibels * (here + 0.25 * (right - left) * shift),
        above_floor_db=decibels * above[top],
    )


def _floor(log_power: np.ndarray, step: float) -> np.ndarray:
    """Return the median of the log power of stretches, joined by straight lines, at every bin."""
    width = max(int(_FLOOR_WIDTH_HZ / step), 1)
    blocks = max(len(log_power) // width, 1)
    medians = np.median(log_power[: blocks * width].reshape(blocks, -1), axis=1)
    centres = (np.arange(blocks) + 0.5) * (len(log_power) if blocks == 1 else width)
    return np.interp(np.arange(len(log_power)), centres, medians)
