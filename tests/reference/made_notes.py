"""Notes made from their own closed form, so that what an analysis should find is known exactly."""

from __future__ import annotations

import numpy as np

RATE = 48000


def standard_hz(key):
    """Equal temperament on A4 = 440 Hz; written again here so that a test does not lean on the code it tests."""
    return 440.0 * 2 ** ((key - 49) / 12)


def young_inharmonicity(key):
    """Young 1952: 1.2 cents at the second partial of middle C, doubling every eight keys."""
    return 3.466e-4 * 2 ** ((key - 40) / 8)


def partial_hz(key, cents, inharmonicity, n):
    """Frequencies of partials [Hz]: n F0 sqrt(1 + B n^2), where `cents` is said of partial 1."""
    f0 = standard_hz(key) * 2 ** (cents / 1200) / np.sqrt(1 + inharmonicity)
    return n * f0 * np.sqrt(1 + inharmonicity * n**2)


def falling_tone(hz, fall_db_s, phase, size, rate=RATE):
    """Return 10^(-d t/20) cos(2 pi f t + phase); the exponential of a sum of times is a product, which saves time."""
    exponent = (2j * np.pi * hz - fall_db_s * np.log(10) / 20) / rate
    block = 1024
    late = np.exp(exponent * block * np.arange(-(-size // block)) + 1j * phase)
    return np.outer(late, np.exp(exponent * np.arange(block))).real.ravel()[:size]


def string(key, cents, inharmonicity, fall_db_s, seconds, *, partials=None, level_db=0.0, phase=0.0, rate=RATE):
    """One string: sum of (1/n) 10^(-d t/20) cos(2 pi f_n t + phase), all partials falling alike."""
    size = int(seconds * rate)
    n = np.arange(1, (partials or 30) + 1)
    f = partial_hz(key, cents, inharmonicity, n)
    loud = 10 ** (level_db / 20)
    heard = f < 0.45 * rate
    tones = (
        loud / k * falling_tone(fn, fall_db_s, phase, size, rate) for k, fn in zip(n[heard], f[heard], strict=True)
    )
    return sum(tones)


def recorded(tone, rng, *, noise_dbfs=-90.0, lead_s=0.5, peak=0.5, rate=RATE):
    """As a recorder would keep it: quiet before, noise all over, 16 bit."""
    sound = np.concatenate([np.zeros(int(lead_s * rate)), tone / np.abs(tone).max() * peak])
    sound += rng.normal(0, 10 ** (noise_dbfs / 20), len(sound))
    return np.round(np.clip(sound, -1, 1) * 32767) / 32767


def pink(n, rng, rate=RATE):
    """Noise of equal power an octave above 20 Hz, rms 1."""
    spectrum = np.fft.rfft(rng.normal(size=n))
    f = np.fft.rfftfreq(n, 1 / rate)
    noise = np.fft.irfft(spectrum / np.sqrt(np.maximum(f, 20)), n)
    return noise / noise.std()


def struck_note(key, cents, inharmonicity, rng, *, snr_db, slower=1.0, seconds=8.0, lead_s=0.5, rate=RATE):
    """A note nearer to a real one: partials of uneven level with prompt sound and aftersound, a knock, pink noise.

    The signal-to-noise ratio is that of the first half second of the tone.
    """
    t = np.arange(int(seconds * rate)) / rate
    n = np.arange(1, 61)
    f = partial_hz(key, cents, inharmonicity, n)
    n, f = n[f < min(0.45 * rate, 12000 + f[0])], f[f < min(0.45 * rate, 12000 + f[0])]
    early = slower * 6 * 2 ** ((key - 40) / 16)
    tone = np.zeros_like(t)
    for k, fn in zip(n, f, strict=True):
        level = k**-0.6 * 10 ** (-fn / 6000) * 10 ** (rng.normal(0, 3) / 20)
        if key < 20 and fn < 90:
            level *= (fn / 90) ** 2
        fall = early * (1 + (fn / 4000)) * np.exp(rng.normal(0, 0.2))
        aftersound = 10 ** (-rng.uniform(12, 22) / 20)
        phase, turn = rng.uniform(0, 2 * np.pi, 2)
        tone += level * falling_tone(fn, fall, phase, len(t), rate)
        tone += level * aftersound * falling_tone(fn, fall / 4, phase + turn, len(t), rate)
    knock = rng.normal(size=len(t)) * np.exp(-t / 0.015)
    knock = np.convolve(knock, np.ones(60) / 60, "same")
    tone += 0.3 * tone[: rate // 10].std() * knock / knock[: rate // 50].std()
    loud = np.sqrt(np.mean(tone[: rate // 2] ** 2))
    sound = np.concatenate([np.zeros(int(lead_s * rate)), tone])
    sound += loud * 10 ** (-snr_db / 20) * pink(len(sound), rng, rate)
    return np.round(sound / np.abs(sound).max() * 0.6 * 32767) / 32767
