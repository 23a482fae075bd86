"""One note: everything a recording of a single key can say, and what it can't."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

import numpy as np

from valuation.facts.keys import KEYS, key_name, key_number
from valuation.language import later, numeral, say
from valuation.measure.keys import cents_between, cents_from_standard
from valuation.measure.sound.bands import Bands, cut_bands
from valuation.measure.sound.figures import Inharmonicity, KeyHeard, NoteReading, Sustain, UnisonSpread
from valuation.measure.sound.partials import (
    FEW_PARTIALS_FROM_KEY,
    Partials,
    find_partials,
    near_cents,
    stray_share,
    stretch_s,
)
from valuation.measure.sound.quality import GAIN_DROP_DB, LEAST_LEAD_S, Quality, check_quality
from valuation.measure.sound.recording import Recording, as_recording, read_recording
from valuation.measure.sound.refused import Refused
from valuation.measure.sound.sustain import fit_fall
from valuation.measure.sound.unison import LEAST_SOUND_S, find_beat
from valuation.measure.sound.which_key import Guess, guess_pitch

FIRST_PARTIAL_FROM_KEY = 37
"""From A3 up partial 1 is measured; below, where a device may not hear it, the formula alone says where it lies."""
AGREE_CENTS = 1.0
"""Up to about here partial 1 and the formula are taken to agree [cents]."""
UNISON_KEYS = range(25, 77)
"""A2 to C7: where the spread of a unison was tried and held."""
UNISON_SNR_DB = 10.0
"""Below this a beat is not told from noise."""
CLOCK_CENTS = 0.09
"""What a recorder's clock is off, 50 parts in a million [cents]."""
REPEAT_CENTS, REPEAT_CENTS_HIGH = 0.2, 1.0
"""How well three strikes of the same key agree [cents], up to D#6 and above, one standard deviation; measured on a
piano whose 30 notes agreed within 0.3 and 1.7 cents nine times in ten."""
PITCH_WITHIN_SPREAD = 0.35
"""A unison has no pitch closer than this share of its spread."""

_FLATTEST_CENTS, _SHARPEST_CENTS = -260.0, 130.0
_DOUBT_CENTS = 60.0
_LEAST_SCORE, _AS_GOOD = 0.3, 0.85
_HEARD_S, _STRAY_SHARE, _STRAY_BY_CLIPPING = 1.0, 0.12, 0.6
_UNISON_CLIPPED_SHARE = 0.05
_OTHER_KEY = 1.5
_LAST_STEADY_KEY = 67
_AFTER_KNOCK_S = 0.04
_SHORTEST_S, _SHORTEST_SHARE = 0.3, 0.6
_INHARMONICITY_SURE = 0.1
_SUSTAIN_SNR_DB, _SUSTAIN_FALL_DB, _SUSTAIN_LEAD_S = 30.0, 40.0, 0.3
_LATE_FALL_DB = 6.0
_SUSTAIN_WITHIN = 1.25


def analyse_note(
    sound: str | Path | BinaryIO | np.ndarray, rate: int | None = None, key: str | int | None = None
) -> NoteReading:
    """Return what a recording of one note says.

    Parameters
    ----------
    sound : path, binary file object or numpy.ndarray of shape (n,) or (n, channels)
        A WAV or FLAC file, or samples of it (floating point, full scale 1, or integers).
    rate : int, optional
        Samples per second [Hz]; needed with samples, not with a file.
    key : str or int, optional
        The key that was meant to be played. On a piano far from standard pitch it should be named: unnamed, a note
        100 cents flat is taken for its neighbour.

    Returns
    -------
    NoteReading
        Single figures may be refused in their place.

    Raises
    ------
    Refused
        If nothing can be read: no file of sound, silence, nothing but noise, too short, more than one note, or
        another key than was named.
    ValueError
        If `key` is not a key, or samples come without `rate`.

    Notes
    -----
    Record as WAV at 48 kHz with all processing of the device off, on a soft pad about a metre away; a second of quiet,
    one firm strike, key held, no pedal, ten seconds. What each figure may say is written at its class. Pitch and
    stiffness come out of a recording that is overloaded or full of noise too; the spread of the unison and the fall
    don't. Two keys an octave apart sound like one, and are not told apart.

    Examples
    --------
    A string 37 cents flat of A4, half a second after the start:

    >>> t = np.arange(2 * 48000) / 48000
    >>> partials = [n * 430 * np.sqrt(1 + 7e-4 * n**2) for n in range(1, 9)]
    >>> tone = sum(np.cos(2 * np.pi * hz * t) / n for n, hz in enumerate(partials, 1)) * np.exp(-t)
    >>> sound = np.concatenate([np.zeros(24000), 0.1 * tone])
    >>> note = analyse_note(sound + np.random.default_rng(0).normal(0, 1e-5, len(sound)), 48000, "A4")
    >>> round(note.cents), round(note.inharmonicity.b, 5), note.heard.is_sure
    (-39, 0.0007, True)
    """
    named = None if key is None else key_number(key)
    if not isinstance(sound, np.ndarray):
        recording = read_recording(sound)
    elif rate is None:
        raise ValueError("samples need their rate")
    else:
        recording = as_recording(sound, rate)
    quality = check_quality(recording)
    if quality.sound_s < _SHORTEST_S + _AFTER_KNOCK_S:
        raise _too_short(quality.sound_s, _SHORTEST_S + _AFTER_KNOCK_S, recording)
    guesses, heard = _hear_key(recording, quality)
    guess = guesses[0] if named is None else _find_named(guesses, heard, named, recording.name)
    reading_key = heard.key if named is None else named
    partials = _read_partials(recording, quality, guess, reading_key)
    _require_one_note(recording, quality, partials, guess)
    hz, cents_se = _pitch(partials, reading_key)
    cents = cents_from_standard(hz, reading_key)
    fit = partials.fit
    numbers = np.array(fit.partials)
    bands = cut_bands(recording.samples, recording.rate, quality.onset_s, fit.partial_hz(numbers), fit.f1_hz)
    unison = _read_unison(bands, partials, reading_key, quality, recording.name)
    if isinstance(unison, UnisonSpread):
        cents_se = float(np.hypot(cents_se, PITCH_WITHIN_SPREAD * unison.cents))
    return NoteReading(
        key=reading_key,
        heard=heard,
        cents=cents,
        cents_se=cents_se,
        f1_hz=hz,
        inharmonicity=_read_inharmonicity(partials, recording.name),
        unison=unison,
        sustain=_read_sustain(bands, quality, recording.name),
        quality=quality,
        warnings=tuple(_warn(quality, heard, guess, named, cents)),
    )


def _too_short(have_s: float, need_s: float, recording: Recording) -> Refused:
    sentence = say(
        "Only {have} s of sound follow the strike; this needs {need} s.",
        have=numeral(f"{have_s:.1f}"), need=numeral(f"{need_s:.1f}"),
    )  # fmt: skip
    return Refused("too short", sentence, recording.name)


def _hear_key(recording: Recording, quality: Quality) -> tuple[list[Guess], KeyHeard]:
    """Return what may sound, best first, and which key that is; raises where it is no single note."""
    rate = recording.rate
    guesses = guess_pitch(recording.samples[int((quality.onset_s + _AFTER_KNOCK_S) * rate) :], rate)
    if not guesses or guesses[0].score < _LEAST_SCORE:
        sentence = say("No single piano note is heard; play one key firmly and hold it.")
        raise Refused("no note", sentence, recording.name)
    best = guesses[0]
    others = [guess for guess in guesses if abs(guess.semitones - best.semitones) > _OTHER_KEY]
    key = _nearest_key(best)
    return guesses, KeyHeard(
        key=key,
        cents=100 * (best.semitones - key),
        score=best.score,
        rival=key_name(_nearest_key(others[0])) if others else "",
        rival_score=others[0].score if others else 0.0,
    )


def _nearest_key(guess: Guess) -> int:
    return min(max(round(guess.semitones), KEYS[0]), KEYS[-1])


def _find_named(guesses: list[Guess], heard: KeyHeard, named: int, name: str) -> Guess:
    """Return the best guess that can be the key named; raises where another explains the sound clearly better."""
    fitting = [guess for guess in guesses if _FLATTEST_CENTS <= 100 * (guess.semitones - named) <= _SHARPEST_CENTS]
    if not fitting or fitting[0].score < _AS_GOOD * heard.score:
        wanted, found = key_name(named), key_name(heard.key)
        sentence = say("{wanted} was named, but {found} sounds; play {wanted} again.", wanted=wanted, found=found)
        raise Refused("wrong note", sentence, name)
    return fitting[0]


def _warn(quality: Quality, heard: KeyHeard, guess: Guess, named: int | None, cents: float) -> Iterator[str]:
    """Yield what the person should know beside the figures."""
    if quality.clipped_share:
        share = numeral(f"{100 * quality.clipped_share:.1f}")
        yield say("The recording is overloaded ({share} % cut off).", share=share)
    if quality.lead_s < LEAST_LEAD_S:
        yield say("There is no quiet before the strike; the background could not be measured.")
    if not heard.is_sure and heard.rival:
        yield say("{key} is heard, but not clearly; {rival} comes next.", key=key_name(heard.key), rival=heard.rival)
    elif not heard.is_sure:
        yield say("{key} is heard, but not clearly; nothing else comes next.", key=key_name(heard.key))
    if named is None:
        return
    if abs(heard.key + heard.cents / 100 - guess.semitones) > _OTHER_KEY:
        yield say(
            "It could also be {heard}; {named} was taken, as named.", heard=key_name(heard.key), named=key_name(named)
        )
    if abs(cents) > _DOUBT_CENTS:
        yield say(_FLAT if cents < 0 else _SHARP, key=key_name(named), cents=f"{abs(cents):.0f}")


_FLAT = later("{key} sounds {cents} cents flat, or a neighbouring key was played: compare with the notes beside it.")
_SHARP = later("{key} sounds {cents} cents sharp, or a neighbouring key was played: compare with the notes beside it.")


def _read_partials(recording: Recording, quality: Quality, guess: Guess, key: int) -> Partials:
    """Return the partials of the note, or raise where they are too few or the note too short."""
    start_s, length_s = stretch_s(key)
    need_s = start_s + _SHORTEST_SHARE * length_s
    if quality.sound_s < need_s:
        raise _too_short(quality.sound_s, need_s, recording)
    first = int((quality.onset_s + start_s) * recording.rate)
    partials = find_partials(recording.samples[first : first + int(length_s * recording.rate)], recording.rate, guess)
    if partials is None or len(partials.fit.partials) < _fewest_partials(key):
        sentence = say("Too few partials stand out of the background to be sure of a pitch.")
        raise Refused("noise", sentence, recording.name)
    return partials


def _require_one_note(recording: Recording, quality: Quality, partials: Partials, guess: Guess) -> None:
    """Raise where much of the sound belongs to no partial of the string; clipping adds some that don't."""
    first = int((quality.onset_s + _AFTER_KNOCK_S) * recording.rate)
    heard = recording.samples[first : first + int(_HEARD_S * recording.rate)]
    stray = stray_share(heard, recording.rate, partials.fit, 1.5 * near_cents(guess))
    if stray > _STRAY_SHARE + _STRAY_BY_CLIPPING * quality.clipped_share:
        sentence = say("More than one note sounds; play one key alone, with the others damped.")
        raise Refused("no note", sentence, recording.name)


def _fewest_partials(key: int) -> int:
    return 2 if key >= FEW_PARTIALS_FROM_KEY else 3


def _pitch(partials: Partials, key: int) -> tuple[float, float]:
    """Return partial 1 [Hz] and its standard error [cents].

    The formula rests on many partials and is steadier, so it counts where partial 1 agrees with it; where bridge and
    board pull partial 1 away by a cent or more, the measured one is what is heard and tuned.
    """
    fit = partials.fit
    hz, se = fit.f1_hz, fit.f1_cents_se
    measured, measured_se = partials.first_hz, partials.first_cents_se
    if key >= FIRST_PARTIAL_FROM_KEY and measured is not None and measured_se is not None:
        away = cents_between(measured, hz)
        own = 1 - np.exp(-((away / AGREE_CENTS) ** 2))
        hz *= 2 ** (own * away / 1200)
        # partials that scatter about the formula say that partial 1 may lie off it as far
        se = own * np.hypot(measured_se, fit.residual_cents) + (1 - own) * se
    repeat = REPEAT_CENTS if key <= _LAST_STEADY_KEY else REPEAT_CENTS_HIGH
    return float(hz), float(np.sqrt(se**2 + CLOCK_CENTS**2 + repeat**2))


def _read_inharmonicity(partials: Partials, name: str) -> Inharmonicity | Refused:
    fit = partials.fit
    if fit.inharmonicity_se > _INHARMONICITY_SURE * fit.inharmonicity:
        sentence = say("Its {count} partials leave the inharmonicity open.", count=len(fit.partials))
        return Refused("uncertain", sentence, name)
    return Inharmonicity(
        b=fit.inharmonicity, b_se=fit.inharmonicity_se, partials=len(fit.partials), residual_cents=fit.residual_cents
    )


def _read_unison(bands: Bands, partials: Partials, key: int, quality: Quality, name: str) -> UnisonSpread | Refused:
    if key not in UNISON_KEYS:
        return Refused("uncertain", say("The spread of a unison was only tried from A2 to C7."), name)
    if quality.clipped_share > _UNISON_CLIPPED_SHARE:
        return Refused("clipping", say("The recording is overloaded; a clipped strike falsifies beats."), name)
    if quality.snr_db < UNISON_SNR_DB:
        sentence = say(
            "It takes {need} dB over the background; here are {have}.",
            need=f"{UNISON_SNR_DB:.0f}", have=f"{quality.snr_db:.0f}",
        )  # fmt: skip
        return Refused("noise", sentence, name)
    if quality.sound_s < LEAST_SOUND_S:
        sentence = say("A beat needs {need} s of sound to show.", need=f"{LEAST_SOUND_S:.0f}")
        return Refused("too short", sentence, name)
    fit = partials.fit
    beat = find_beat(bands, fit.partial_hz(np.array(fit.partials)) / fit.f1_hz)
    if beat is None:
        return Refused("noise", say("Fewer than two partials last long enough to show a beat."), name)

    def cents(hz: float) -> float:
        return float(1200 * np.log2(1 + hz / fit.f1_hz))

    return UnisonSpread(
        hz=beat.hz,
        cents=cents(beat.hz),
        cents_se=cents(beat.hz_se),
    )


def _read_sustain(bands: Bands, quality: Quality, name: str) -> Sustain | Refused:
    """Return the figures of the fall, or why the recording can't carry them."""
    if quality.clipped_share:
        return Refused("clipping", say("The recording is overloaded; a clipped strike falsifies the fall."), name)
    if quality.lead_s < _SUSTAIN_LEAD_S:
        sentence = say("It takes {need} s of quiet before the strike.", need=numeral(f"{_SUSTAIN_LEAD_S}"))
        return Refused("no quiet before", sentence, name)
    if quality.gain_change_db is None:
        sentence = say("Whether the device kept its gain can't be told; record plain WAV at 48 kHz.")
        return Refused("gain control", sentence, name)
    if quality.gain_change_db < GAIN_DROP_DB:
        sentence = say(
            "The device turned itself down by {fall} dB after the strike; switch automatic gain off.",
            fall=f"{-quality.gain_change_db:.0f}",
        )
        return Refused("gain control", sentence, name)
    if quality.snr_db < _SUSTAIN_SNR_DB:
        sentence = say(
            "It takes {need} dB over the background; here are {have}.",
            need=f"{_SUSTAIN_SNR_DB:.0f}", have=f"{quality.snr_db:.0f}",
        )  # fmt: skip
        return Refused("noise", sentence, name)
    fall = fit_fall(bands)
    if fall is None:
        return Refused("little fall", say("Too little of the fall stands above the background."), name)
    if fall.let_go_s is not None:
        sentence = say("The damper came down after {time} s; hold the key.", time=numeral(f"{fall.let_go_s:.1f}"))
        return Refused("key let go", sentence, name)
    if fall.seen_db < _SUSTAIN_FALL_DB:
        sentence = say(
            "The sound was followed over {seen} dB; it takes {need}. Record for longer, or in more quiet.",
            seen=f"{fall.seen_db:.0f}", need=f"{_SUSTAIN_FALL_DB:.0f}",
        )  # fmt: skip
        return Refused("little fall", sentence, name)
    return Sustain(
        t60_s=fall.time_to_fall(60),
        times_within=float(_SUSTAIN_WITHIN ** np.hypot(1, max(60 - fall.seen_db, 0) / 20)),
        late_db_s=fall.late_db_s if fall.seen_late_db >= _LATE_FALL_DB else None,
        seen_db=fall.seen_db,
    )
