"""What a note can say: the figures, each with its uncertainty, and what it may and may not be taken to mean."""

from __future__ import annotations

from dataclasses import dataclass

from valuation.facts.keys import key_name
from valuation.measure.sound.quality import Quality
from valuation.measure.sound.refused import Refused
from valuation.measure.sound.stiff_string import DEFINITION

_SURE_SCORE, _CLEAR = 0.6, 0.75


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyHeard:
    """Which key was really played, found without being told.

    Attributes
    ----------
    key : int
        Key whose standard pitch is nearest [1-88].
    cents : float
        Pitch above that standard pitch, to about 10 cents [cents].
    score : float
        How well a string at this pitch explains what sounds [0-1].
    rival : str
        The next best key, empty if there is none.
    rival_score : float
        Its score [0-1].
    """

    key: int
    cents: float
    score: float
    rival: str
    rival_score: float

    @property
    def is_sure(self) -> bool:
        """Whether the score is good and no other key comes near it."""
        return self.score >= _SURE_SCORE and self.rival_score <= _CLEAR * self.score


@dataclass(frozen=True, slots=True, kw_only=True)
class Inharmonicity:
    """Stiffness of the string. It mostly tells how the scale was designed, not in what state the string is.

    May say: this string is not what its neighbours are; look at its gauge. May not say: the string is old or bad.

    Attributes
    ----------
    b, b_se : float
        Inharmonicity and its standard error [-].
    partials : int
        How many partials it rests on.
    residual_cents : float
        Root mean square of what the formula leaves [cents].
    definition : str
        Which B is meant.
    """

    b: float
    b_se: float
    partials: int
    residual_cents: float
    definition: str = DEFINITION


@dataclass(frozen=True, slots=True, kw_only=True)
class UnisonSpread:
    """How far the strings of one note are apart.

    May say: the unison of this note is spread by so much. May not say why: one string can beat by itself, and only
    a second recording with all strings but one muted tells that from mistuning.

    Attributes
    ----------
    hz, cents : float
        Widest distance at partial 1 [Hz, cents]; 0 where none shows.
    cents_se : float
        Standard error [cents].
    """

    hz: float
    cents: float
    cents_se: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sustain:
    """How long one note sounds: a figure, never a verdict on the board.

    May say: this note took so long to fall by 60 dB, recorded here, like this. May not say: the soundboard is good or
    dead; no published figure ties one to the other, and a device one metre further on reads a quarter more or less.

    Attributes
    ----------
    t60_s : float
        Time to fall by 60 dB [s].
    times_within : float
        Factor both ways within which 9 in 10 readings lie if strike and place of the device change [-]. Six
        recordings of the same note, three strikes by two microphones, were measured; a fall not seen to its end adds.
    late_db_s : float or None
        Fall of the aftersound [dB/s]; None where less than 6 dB of it was seen.
    seen_db : float
        How far the fall was followed; beyond it the figures are continued in a straight line [dB].
    """

    t60_s: float
    times_within: float
    late_db_s: float | None
    seen_db: float


@dataclass(frozen=True, slots=True, kw_only=True)
class NoteReading:
    """What one recording says of one note.

    A figure that the recording can't carry is a `Refused` in its place, with the reason.

    Attributes
    ----------
    key : int
        Key, as named or else as heard [1-88].
    heard : KeyHeard
        Which key was really played.
    cents, cents_se : float
        Pitch above equal temperament on A4 = 440 Hz and its standard error [cents]; negative is flat. May say how
        flat the note is; may not say that strings will break if it is raised.
    f1_hz : float
        Partial 1 [Hz].
    inharmonicity : Inharmonicity or Refused
        Check of the fit, and of odd strings.
    unison : UnisonSpread or Refused
        From A2 to C7.
    sustain : Sustain or Refused
        A figure only.
    quality : Quality
        What was checked of the recording.
    warnings : tuple of str
        Whatever the person should know beside the figures.
    """

    key: int
    heard: KeyHeard
    cents: float
    cents_se: float
    f1_hz: float
    inharmonicity: Inharmonicity | Refused
    unison: UnisonSpread | Refused
    sustain: Sustain | Refused
    quality: Quality
    warnings: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """Name of the key."""
        return key_name(self.key)
