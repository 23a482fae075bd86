"""Strings against each other: the line on which the stiffness of plain wire rises, and the stretch that follows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize

from valuation.facts.keys import key_name
from valuation.language import say
from valuation.measure.keys import A4, C4, plain_wire_inharmonicity
from valuation.measure.sound.figures import Inharmonicity, NoteReading
from valuation.measure.sound.refused import Refused

PLAIN_WIRE_KEYS = range(25, 74)
"""A2 to A6: strings are plain on most pianos, and have partials enough to compare them by."""
ODD_STIFFNESS = 0.15
"""A string this far off the line of its plain neighbours is odd; on a piano in order they scattered by 3 %."""

_FEWEST_STIFF = 4
_STIFFNESS_SCATTER = 0.03


@dataclass(frozen=True, slots=True, kw_only=True)
class OddString:
    """A note off the smooth line of the others.

    May say: this note is so far off its neighbours; check pin and string. May not say what is wrong with it.

    Attributes
    ----------
    key : int
        The note [1-88].
    off : float
        How far off [cents, or share of the inharmonicity of the line].
    """

    key: int
    off: float

    @property
    def name(self) -> str:
        """Name of the key."""
        return key_name(self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class StiffnessLine:
    """How inharmonicity rises over the plain wire: the design of the scale, not the state of the strings.

    Attributes
    ----------
    middle_c : float
        B of middle C by the line [-].
    keys_to_double, keys_to_double_se : float
        Over how many keys it doubles and the standard error [keys]; about 8 is usual (Young 1952).
    scatter : float
        Root mean square distance of the notes from the line, odd ones left out [-], as a share of B.
    odd : tuple of OddString
        Strings more than 15 % and three standard errors off: the gauge differs, or the fit failed; look.
    notes : int
        How many it rests on.
    """

    middle_c: float
    keys_to_double: float
    keys_to_double_se: float
    scatter: float
    odd: tuple[OddString, ...]
    notes: int


def fit_stiffness(readings: Sequence[NoteReading]) -> StiffnessLine | Refused:
    """Return the line of inharmonicity over the plain wire.

    Parameters
    ----------
    readings : sequence of NoteReading
        Notes of one piano, in any order.

    Returns
    -------
    StiffnessLine or Refused
        Robust: one or two odd strings don't bend it. Refused under four different notes with a figure.
    """
    known = [
        (reading.key, reading.inharmonicity)
        for reading in readings
        if reading.key in PLAIN_WIRE_KEYS and isinstance(reading.inharmonicity, Inharmonicity)
    ]
    if len({key for key, _ in known}) < _FEWEST_STIFF:
        sentence = say("It takes {count} notes from A2 to A6 to compare strings.", count=_FEWEST_STIFF)
        return Refused("too few", sentence, say("the notes"))
    keys = np.array([key for key, _ in known])
    doublings = np.log2([figure.b for _, figure in known])
    spread = np.hypot([figure.b_se / figure.b for _, figure in known], _STIFFNESS_SCATTER) / np.log(2)
    design = np.column_stack([np.ones(len(keys)), keys - C4]) / spread[:, None]
    found = optimize.least_squares(
        lambda c: design @ c - doublings / spread, [doublings.mean(), 1 / 8], loss="cauchy", f_scale=2.0
    )
    middle, slope = found.x
    off = 2 ** (doublings - middle - slope * (keys - C4)) - 1
    odd = (np.abs(off) > ODD_STIFFNESS) & (np.abs(off) > 3 * spread * np.log(2))
    covariance = np.linalg.inv(design.T @ design)
    return StiffnessLine(
        middle_c=float(2**middle),
        keys_to_double=float(1 / slope),
        keys_to_double_se=float(np.sqrt(covariance[1, 1]) / slope**2),
        scatter=float(np.sqrt(np.mean(off[~odd] ** 2))),
        odd=tuple(OddString(key=int(k), off=float(o)) for k, o in zip(keys[odd], off[odd], strict=True)),
        notes=len(known),
    )


def stretch_cents(keys: np.ndarray, stiffness: StiffnessLine | Refused) -> np.ndarray:
    """Return how far a tuning stretches, 0 at A4 [cents], where octaves are tuned fourth partial on second.

    Parameters
    ----------
    keys : numpy.ndarray of int, shape (n,)
        Keys [1-88].
    stiffness : StiffnessLine or Refused
        The piano's own line of inharmonicity; where refused, Young's.

    Returns
    -------
    numpy.ndarray, shape (n,)
        Positive above A4, negative below [cents].
    """
    every = np.arange(1, 89)
    if isinstance(stiffness, Refused):
        b = plain_wire_inharmonicity(every)
    else:
        b = stiffness.middle_c * 2 ** ((every - C4) / stiffness.keys_to_double)
    low, high = b[:-12], b[12:]
    octave = 600 * np.log2((1 + 16 * low) * (1 + high) / ((1 + low) * (1 + 4 * high)))
    # An octave's stretch spread evenly over its twelve steps and added up from A4.
    step = np.interp(every[:-1] + 0.5, every[:-12] + 6, octave / 12)
    total = np.concatenate([[0], np.cumsum(step)])
    return (total - total[A4 - 1])[np.asarray(keys) - 1]
