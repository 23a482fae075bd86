"""Reading a recording: WAV or FLAC, or samples at hand, to one channel of numbers."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
import soundfile

from valuation.language import say
from valuation.measure.sound.refused import Refused

FORMATS = ("WAV", "WAVEX", "RF64", "W64", "FLAC")
LOWEST_RATE_HZ = 8000
LONGEST_S = 60.0

MOST_SAMPLES = 8_000_000
"""A minute of two channels at 48000 has fewer. A small file can unfold to more than the memory holds."""

MOST_BYTES = 100_000_000
"""A larger file is not read [bytes]."""


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """One channel of sound.

    Attributes
    ----------
    samples : numpy.ndarray, shape (n,)
        Sound pressure; full scale is 1 [-].
    rate : int
        Samples per second [Hz].
    name : str
        Name of the file, for messages.
    """

    samples: np.ndarray
    rate: int
    name: str = "recording"

    @property
    def seconds(self) -> float:
        """Length [s]."""
        return len(self.samples) / self.rate


def read_recording(source: str | Path | BinaryIO) -> Recording:
    """Return the louder channel of a WAV or FLAC file.

    Parameters
    ----------
    source : str, pathlib.Path or binary file object
        The file; lossy formats are refused, since what they do to decay was not measured.

    Returns
    -------
    Recording
        Full scale is 1.

    Raises
    ------
    Refused
        If the file can't be read, is no WAV or FLAC, holds what is no number, or does not suit (see `as_recording`).
    """
    name = Path(source).name if isinstance(source, str | Path) else Path(getattr(source, "name", "recording")).name
    try:
        with soundfile.SoundFile(source) as file:
            kind, rate = file.format, file.samplerate
            if kind not in FORMATS:
                sentence = say("This is a {kind} file. Record as WAV, or convert nothing and use FLAC.", kind=kind)
                raise Refused("unreadable", sentence, name)
            count = min(file.frames, int((LONGEST_S + 1) * rate)) * file.channels
            if count > MOST_SAMPLES:
                sentence = say(
                    "The recording has {count} samples, more than {most}; record one note, at 44100 or 48000.",
                    count=f"{count:,}", most=f"{MOST_SAMPLES:,}",
                )  # fmt: skip
                raise Refused("unreadable", sentence, name)
            samples = file.read(frames=int((LONGEST_S + 1) * rate), always_2d=True)
            if not np.all(np.isfinite(samples)):
                sentence = say("It holds values that are no numbers (NaN or infinity); record it again.")
                raise Refused("unreadable", sentence, name)
    except soundfile.LibsndfileError as error:
        sentence = say("This can't be read as sound ({error}) Record as WAV.", error=error.error_string)
        raise Refused("unreadable", sentence, name) from None
    return as_recording(samples, rate, name)


def as_recording(samples: np.ndarray, rate: int, name: str = "recording") -> Recording:
    """Return samples at hand as a recording of one channel, the louder one.

    Parameters
    ----------
    samples : array_like, shape (n,) or (n, channels)
        Sound: fractions of full scale, or integers.
    rate : int
        Samples per second [Hz], at least 8000.
    name : str
        Name for messages.

    Returns
    -------
    Recording
        Without its constant part.

    Raises
    ------
    Refused
        If there is no sound in it, it is longer than a minute, or the rate is too low.
    ValueError
        If the samples have more than two dimensions or are not finite.
    """
    samples = np.asarray(samples)
    full_scale = np.iinfo(samples.dtype).max if np.issubdtype(samples.dtype, np.integer) else 1
    channels = samples / full_scale
    if channels.ndim > 2 or not np.all(np.isfinite(channels)):
        raise ValueError("samples must be finite numbers of shape (n,) or (n, channels)")
    if rate < LOWEST_RATE_HZ:
        sentence = say("{count} samples a second are too few; record at 44100 or 48000.", count=rate)
        raise Refused("unreadable", sentence, name)
    if channels.size == 0:
        raise Refused("silence", say("The recording is empty."), name)
    if len(channels) > LONGEST_S * rate:
        sentence = say("The recording is longer than {limit} s; record one note at a time.", limit=f"{LONGEST_S:.0f}")
        raise Refused("unreadable", sentence, name)
    if channels.ndim == 2:
        channels = channels[:, np.argmax(np.var(channels, axis=0))]
    return Recording(channels - np.mean(channels), int(rate), name)
