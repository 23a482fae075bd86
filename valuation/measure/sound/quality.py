"""What a recording can carry: the strike, the quiet before it, clipping and gain control."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import signal

from valuation.language import say
from valuation.measure.sound.recording import Recording
from valuation.measure.sound.refused import Refused

LEAST_RISE_DB = 15.0
"""A strike that rises this far out of the quiet is placed by where the level crosses half of it."""
FAINT_RISE_DB = 1.2
"""Any other must rise so far, and stay there: noise by itself wavers by less."""
GAIN_DROP_DB = -3.0
"""A background that falls further than this after the strike means gain control; plain recordings stayed above."""
LEAST_LEAD_S = 0.1
"""Shortest quiet from which the background is measured."""
CLIPPED_CRESTS = 5
"""A clean note has a few flat crests by chance; see `count_flat_crests`."""

_SILENT = 2e-4
_FRAME_S, _FINE_S = 0.05, 0.0025
_RUMBLE_HZ = 40.0
_FAINT_S = 0.4


@dataclass(frozen=True, slots=True)
class Quality:
    """What was checked of one recording.

    Attributes
    ----------
    onset_s : float
        Time of the strike [s].
    lead_s : float
        Quiet before it [s].
    sound_s : float
        From the strike to the end [s].
    snr_db : float
        First half second of the note over the background [dB]; where nothing was recorded before the strike,
        over the quietest part of the note, so at least this.
    clipped_share : float
        Share of samples on flat crests in the first half second [0-1]; 0 where not clipped.
    gain_change_db : float or None
        Lowest background above the partials after the strike against before it [dB]; None where there is no
        background to compare.
    """

    onset_s: float
    lead_s: float
    sound_s: float
    snr_db: float
    clipped_share: float
    gain_change_db: float | None


def check_quality(recording: Recording) -> Quality:
    """Return what a recording of one note can carry.

    Parameters
    ----------
    recording : Recording
        One strike of one key.

    Returns
    -------
    Quality
        Never judged here for single figures; each figure asks for what it needs.

    Raises
    ------
    Refused
        For silence, and for noise out of which no strike stands.
    """
    if np.max(np.abs(recording.samples)) < _SILENT:
        raise Refused("silence", say("There is no sound in the recording."), recording.name)
    rate = recording.rate
    body = signal.sosfilt(signal.butter(2, _RUMBLE_HZ, "highpass", fs=rate, output="sos"), recording.samples)
    onset = _find_onset(body, rate, recording.name)
    note = body[onset : onset + rate // 2]
    lead = body[: max(onset - int(0.02 * rate), 0)]
    loud = 10 * np.log10(np.mean(note**2))
    if len(lead) >= LEAST_LEAD_S * rate:
        # The filter needs a moment to settle on a recording that starts in the middle of rumble.
        background = np.mean(lead[len(lead) // 4 :] ** 2)
    else:
        background = 10 ** (np.percentile(_levels(body[onset:], rate, _FRAME_S), 10) / 10)
    snr = float(loud - 10 * np.log10(background + 1e-20))
    crests, share = count_flat_crests(recording.samples[onset : onset + rate // 2])
    return Quality(
        onset_s=onset / rate,
        lead_s=onset / rate,
        sound_s=(len(body) - onset) / rate,
        snr_db=snr,
        clipped_share=share if crests >= CLIPPED_CRESTS else 0.0,
        gain_change_db=_gain_change(recording.samples, onset, rate),
    )


def count_flat_crests(samples: np.ndarray) -> tuple[int, float]:
    """Return how many crests are cut flat at the top level, and the share of samples on them [0-1].

    A crest is flat where three samples or more in a row stay within 0.2 % of the greatest at 98.5 % of it or more.
    One or two such crests belong to any low note; an overloaded recorder leaves dozens.
    """
    size = np.abs(samples)
    top = size.max()
    high = size >= 0.985 * top
    still = np.abs(np.diff(samples)) < 0.002 * top
    flat = high[:-1] & high[1:] & still
    edges = np.diff(np.concatenate([[0], flat.astype(int), [0]]))
    lengths = np.flatnonzero(edges == -1) - np.flatnonzero(edges == 1)
    long = lengths[lengths >= 2]
    return len(long), float((long + 1).sum() / len(samples))


def _levels(samples: np.ndarray, rate: int, seconds: float) -> np.ndarray:
    """Return the level of successive frames [dB], at least one."""
    width = min(max(int(seconds * rate), 1), len(samples))
    frames = samples[: len(samples) // width * width].reshape(-1, width)
    return 10 * np.log10(np.mean(frames**2, axis=1) + 1e-20)


def _find_onset(body: np.ndarray, rate: int, name: str) -> int:
    """Return the sample at which the strike stands out."""
    coarse = _levels(body, rate, _FRAME_S)
    loudest = coarse.max()
    quiet = np.percentile(coarse, 3)
    if loudest - quiet < LEAST_RISE_DB:
        return _find_faint_onset(body, rate, name)
    threshold = max(loudest - 25, (loudest + quiet) / 2)
    first = int(np.argmax(coarse > threshold))
    start = max(int((first - 1) * _FRAME_S * rate), 0)
    fine = _levels(body[start : start + int(2 * _FRAME_S * rate) + 1], rate, _FINE_S)
    return start + int(np.argmax(fine > threshold)) * max(int(_FINE_S * rate), 1)


def _find_faint_onset(body: np.ndarray, rate: int, name: str) -> int:
    """Return where a strike begins that hardly stands out of the noise: where the level rises most, and stays."""
    coarse = _levels(body, rate, _FRAME_S)
    power = np.concatenate([[0], np.cumsum(10 ** (coarse / 10))])
    span = int(_FAINT_S / _FRAME_S)
    edges = np.arange(2, len(coarse) - span)
    before = power[edges] - power[np.maximum(edges - span, 0)]
    rise = (power[edges + span] - power[edges]) / span / (before / np.minimum(edges, span)) if len(edges) else []
    if not len(rise) or 10 * np.log10(np.max(rise)) < FAINT_RISE_DB:
        sentence = say("No strike stands out of the background; record one firm note in a quiet room.")
        raise Refused("noise", sentence, name)
    return int(edges[np.argmax(rise)] * _FRAME_S * rate)


def _gain_change(samples: np.ndarray, onset: int, rate: int) -> float | None:
    """Return how far the background falls after the strike [dB]: it can't, unless a machine turned it down."""
    edge = min(11000, 0.36 * rate)
    hiss = signal.sosfilt(signal.butter(6, edge, "highpass", fs=rate, output="sos"), samples)
    before = hiss[int(0.02 * rate) : max(onset - int(0.02 * rate), 0)]
    after = hiss[onset + int(0.1 * rate) :]
    span = int(0.3 * rate)
    if len(before) < LEAST_LEAD_S * rate or len(after) < 2 * span:
        return None
    quiet = np.mean(before**2)
    if quiet < 1e-10:  # below the last bit of 16: nothing a gain could turn down
        return None
    total = np.cumsum(after**2)[:: span // 6]
    power = (total[6:] - total[:-6]) / (span // 6 * 6)
    return float(10 * np.log10(power.min() / quiet + 1e-20))
