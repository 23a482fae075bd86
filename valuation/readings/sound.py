"""Recordings of single notes: how flat, how even, how far unisons have parted, which strings are odd.

Imports SciPy and soundfile through `valuation.measure.sound`: import it only where sound is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from statistics import median
from typing import BinaryIO

import numpy as np

from valuation.engine.rows import Tables
from valuation.errors import Problem, UserError
from valuation.facts.keys import key_name, key_number
from valuation.language import later, numeral, say, say_many
from valuation.measure.sound import (
    Inharmonicity,
    NoteReading,
    Refused,
    SetReading,
    StiffnessLine,
    Sustain,
    UnisonSpread,
    analyse_note,
    analyse_set,
)
from valuation.measure.sound.stiffness_line import stretch_cents
from valuation.measure.sound.tuning import FEWEST_NOTES
from valuation.readings.grade import ANYWHERE, find
from valuation.readings.result import Figure, Found, Listing, Reading, Series, give_or_take, told_of

PITCH, UNISON, ODD = "pitch_level", "unison_spread", "odd_strings"
_KEY_AT_END = re.compile(r"(?:^|[_ -])([A-G][#b]?[0-8])$")


def key_in_name(name: str) -> str | None:
    """Return the key that a file is called after, None where its name ends in none.

    Examples
    --------
    >>> key_in_name("A4.wav"), key_in_name("visit 3 D#5.flac"), key_in_name("take 12.wav")
    ('A4', 'D#5', None)
    """
    match = _KEY_AT_END.search(Path(name).stem)
    return match[1] if match else None


def read_notes(
    sounds: Sequence[tuple[str, Path | BinaryIO, str | int | None]],
) -> tuple[tuple[NoteReading, ...], tuple[Problem, ...]]:
    """Return what each recording says, and why those refused say nothing.

    Parameters
    ----------
    sounds : sequence of (str, path or binary file object, key or None)
        Name of the recording, the recording, and the key that was played; without one it is taken from the name, or
        else as heard.

    Returns
    -------
    notes : tuple of NoteReading
        Those that could be read.
    refused : tuple of Problem
        One for each of the others.

    Raises
    ------
    UserError
        If a key is none.
    """
    notes, refused = [], []
    for name, sound, key in sounds:
        with told_of(name):
            named = key_number(key) if key is not None else None
        if named is None and (found := key_in_name(name)):
            named = key_number(found)
        try:
            notes.append(analyse_note(sound, key=named))
        except Refused as refusal:
            refused.append(Problem(name, 0, "", refusal.sentence))
    return tuple(notes), tuple(refused)


def read_for(check: str, sound: Path | BinaryIO, key: int) -> tuple[float, list[str]]:
    """Return the reading that one recorded note gives to a check, and what is to be told beside it.

    Parameters
    ----------
    check : str
        `UNISON` for how far its strings have parted; `PITCH` for how high it stands, less the stretch of a good tuning.
    sound : path or binary file object
        The recording.
    key : int
        The key that was played [1-88].

    Raises
    ------
    Refused
        If the recording can't carry that figure.
    """
    note = analyse_note(sound, key=key)
    if check != UNISON:
        value = _levels([note], None)[0]
    elif isinstance(note.unison, Refused):
        raise note.unison
    else:
        value = note.unison.cents
    return round(value, 1), [_stands(note), *note.warnings]


def read_sound(notes: Sequence[NoteReading], refused: Sequence[Problem], tables: Tables, kind: str) -> Reading:
    """Return what the notes say, one by one and together.

    Parameters
    ----------
    notes : sequence of NoteReading
        From `read_notes`.
    refused : sequence of Problem
        Recordings that could not be read.
    tables : Tables
        The shop's tables, which grade pitch, spread of unisons and odd strings.
    kind : str
        ``upright`` or ``grand``.

    Returns
    -------
    Reading
        With findings for `pitch_level`, `unison_spread` and `odd_strings`, as far as the notes carry them. Sustain is
        a figure only: the check of how long A5 sings is for ear and watch.

    Raises
    ------
    UserError
        If no recording could be read.
    """
    if not notes:
        raise UserError(list(refused))
    together: SetReading | None = None
    problems = list(refused)
    try:
        together = analyse_set(notes) if len(notes) >= FEWEST_NOTES else None
    except Refused as refusal:
        problems.append(Problem(refusal.file, 0, "", refusal.sentence))
    used = [note for note in notes if together is None or note.key in dict(together.off_line)]
    levels = _levels(used, together)
    unisons = [note.unison for note in used if isinstance(note.unison, UnisonSpread)]
    figures = _together(together, unisons) if together else _alone(notes)
    return Reading(
        title=say_many("Sound: {count} note recorded", "Sound: {count} notes recorded", len(notes)),
        figures=tuple(figures),
        says=tuple(_says(notes, together)),
        does_not_say=(
            say("It doesn't say that strings will break if the pitch is raised."),
            say("It doesn't say why a unison is spread: one string can beat by itself."),
            say(
                "It says nothing of board, bridges, block, hammers or action; how long a note sounds is a figure to "
                "keep, never a verdict, and never the answer to how long A5 sings by ear and watch."
            ),
        ),
        found=_found(_without_odd(used, levels, together), unisons, together, tables, kind),
        listings=(_listing(notes),),
        series=(_series(used, levels, together),) if len(used) > 1 else (),
        refused=tuple(problems),
    )


def _levels(notes: Sequence[NoteReading], together: SetReading | None) -> list[float]:
    """Return the pitch of each note without the stretch that a good tuning has [cents]."""
    stiffness = together.stiffness if together else Refused("too few", "one note has no line")
    stretch = stretch_cents(np.array([note.key for note in notes]), stiffness)
    return [note.cents - float(stretched) for note, stretched in zip(notes, stretch, strict=True)]


def _without_odd(notes: Sequence[NoteReading], levels: Sequence[float], together: SetReading | None) -> list[float]:
    """Return the pitch without single strings that are out: they would pass for a whole section that has fallen."""
    odd = {found.key for found in together.odd} if together else set()
    return [level for note, level in zip(notes, levels, strict=True) if note.key not in odd]


def _found(
    levels: list[float], unisons: list[UnisonSpread], together: SetReading | None, tables: Tables, kind: str
) -> tuple[Found, ...]:
    found = find(tables, kind, PITCH, {ANYWHERE: [round(level, 1) for level in levels]})
    if unisons:
        found += find(tables, kind, UNISON, {ANYWHERE: [round(unison.cents, 1) for unison in unisons]})
    if together and isinstance(together.stiffness, StiffnessLine):
        found += find(tables, kind, ODD, float(len(together.stiffness.odd)))
    return found


def _together(found: SetReading, unisons: Sequence[UnisonSpread]) -> Iterator[Figure]:
    cents, most = say("cents"), say("19 in 20")
    yield give_or_take(say("Pitch above A4 = 440 Hz"), found.pitch_cents, cents, 2 * found.pitch_se, most)
    name = say("Evenness of the tuning, spread about a smooth line")
    yield Figure(name=name, value=found.evenness_cents, unit=cents)
    if unisons:
        name = say("Spread of unisons, middle of {count}", count=len(unisons))
        yield Figure(name=name, value=median(unison.cents for unison in unisons), unit=cents)
    if isinstance(found.stiffness, StiffnessLine):
        line = found.stiffness
        name, error = say("Keys over which inharmonicity doubles"), 2 * line.keys_to_double_se
        yield give_or_take(name, line.keys_to_double, say("keys"), error, most)
    for register in found.sustain:
        yield Figure(
            name=say("Fall by 60 dB, {section}, {count} notes", section=say(register.name), count=register.notes),
            value=register.middle, unit="s", low=register.lowest, high=register.highest,
            within=say("shortest and longest"),
        )  # fmt: skip


def _alone(notes: Sequence[NoteReading]) -> Iterator[Figure]:
    for note in notes:
        cents, most = say("cents"), say("19 in 20")
        yield give_or_take(say("Pitch of {note}", note=note.name), note.cents, cents, 2 * note.cents_se, most)
        if isinstance(note.unison, UnisonSpread):
            spread, name = note.unison, say("Spread of {note}", note=note.name)
            yield give_or_take(name, spread.cents, cents, 2 * spread.cents_se, most)
        if isinstance(note.inharmonicity, Inharmonicity):
            b, name = note.inharmonicity, say("Inharmonicity B of {note}", note=note.name)
            yield give_or_take(name, 1e6 * b.b, say("millionths"), 2e6 * b.b_se, most)
        if isinstance(note.sustain, Sustain):
            fall, name = note.sustain, say("Fall of {note} by 60 dB", note=note.name)
            yield Figure(
                name=name, value=fall.t60_s, unit="s", low=fall.t60_s / fall.times_within,
                high=fall.t60_s * fall.times_within, within=say("9 in 10, if strike and place change"),
            )  # fmt: skip


def _says(notes: Sequence[NoteReading], together: SetReading | None) -> Iterator[str]:
    if together is None:
        yield from map(_stands, notes)
        yield say(
            "With {count} notes or more the whole piano can be told of; about a dozen do it well.", count=FEWEST_NOTES
        )
    else:
        yield say(
            _PIANO[together.pitch_cents < 0],
            cents=f"{abs(together.pitch_cents):.0f}", within=f"{2 * together.pitch_se:.0f}",
            count=len(together.off_line),
        )  # fmt: skip
        for odd in together.odd:
            yield say(_OFF_ITS_NEIGHBOURS[odd.off < 0], note=odd.name, cents=f"{abs(odd.off):.0f}")
        for odd in together.play_again:
            yield say(_OFF_THE_REST[odd.off < 0], note=odd.name, cents=f"{abs(odd.off):.0f}")
        for odd in together.left_out:
            yield say("{note} was left out: another key was played.", note=odd.name)
        yield from _stiffness(together)
    for note in notes:
        for warning in note.warnings:
            yield f"{note.name}: {warning}"


def _stands(note: NoteReading) -> str:
    within = numeral(f"{2 * note.cents_se:.1f}")
    return say(_NOTE[note.cents < 0], note=note.name, cents=f"{abs(note.cents):.0f}", within=within)


_NOTE = {
    True: later("{note} is {cents} cents below standard pitch, within {within} cents."),
    False: later("{note} is {cents} cents above standard pitch, within {within} cents."),
}
_PIANO = {
    True: later("The piano is {cents} cents below standard pitch, within {within} cents, by {count} notes."),
    False: later("The piano is {cents} cents above standard pitch, within {within} cents, by {count} notes."),
}
_OFF_ITS_NEIGHBOURS = {
    True: later("{note} lies {cents} cents below its neighbours and is left out of the pitch: check pin and string."),
    False: later("{note} lies {cents} cents above its neighbours and is left out of the pitch: check pin and string."),
}
_OFF_THE_REST = {
    True: later("{note} lies {cents} cents below the rest: play it again."),
    False: later("{note} lies {cents} cents above the rest: play it again."),
}
_STIFFER = {
    True: later(
        "The string of {note} is {share} % stiffer than its neighbours: look at its gauge, or record it again."
    ),
    False: later(
        "The string of {note} is {share} % less stiff than its neighbours: look at its gauge, or record it again."
    ),
}
"""Sentences for a figure below nought, and above; for a string, stiffer or not."""


def _stiffness(together: SetReading) -> Iterator[str]:
    line = together.stiffness
    if not isinstance(line, StiffnessLine):
        yield line.sentence
    elif not line.odd:
        yield say("The strings of {count} notes match each other.", count=line.notes)
    for odd in getattr(line, "odd", ()):
        yield say(_STIFFER[odd.off > 0], note=odd.name, share=f"{100 * abs(odd.off):.0f}")


def _listing(notes: Sequence[NoteReading]) -> Listing:
    def shown(figure: object, text: str) -> str:
        return say("refused: {reason}", reason=say(figure.reason)) if isinstance(figure, Refused) else numeral(text)

    rows = tuple(
        (
            note.name,
            numeral(f"{note.cents:+.1f} ±{2 * note.cents_se:.1f}"),
            shown(note.unison, f"{getattr(note.unison, 'cents', 0):.1f}"),
            shown(note.inharmonicity, f"{1e6 * getattr(note.inharmonicity, 'b', 0):.0f}"),
            shown(note.sustain, f"{getattr(note.sustain, 't60_s', 0):.1f}"),
            _heard(note),
        )
        for note in sorted(notes, key=lambda note: note.key)
    )
    headers = (
        say("Note"),
        say("Pitch, cents"),
        say("Spread, cents"),
        say("B, millionths"),
        say("Fall by 60 dB, s"),
        say("Heard"),
    )
    return Listing(caption=say("Note by note"), headers=headers, rows=rows)


def _heard(note: NoteReading) -> str:
    key = key_name(note.heard.key)
    return key if note.heard.is_sure else say("{key}, not sure", key=key)


def _series(used: Sequence[NoteReading], levels: Sequence[float], together: SetReading | None) -> Series:
    odd = {found.key for found in together.odd} if together else set()
    return Series(
        title=say("Pitch of the notes, the stretch of a good tuning taken off"),
        across=say("Key, 1 to 88"),
        up=say("Cents above A4 = 440 Hz"),
        x=tuple(float(note.key) for note in used),
        y=tuple(levels),
        marked=tuple(note.key in odd for note in used),
        limits=(("A4 = 440 Hz", 0.0),),
    )
